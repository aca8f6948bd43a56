//! The form as it is sent, and what it comes to.

use crate::page::typed::{Faults, Typed};
use crate::page::{Reader, codes, time};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use record::{DemandFrom, System};
use rules::standards::Profile;
use rules::terms::hours::Week;
use words::{Lang, desk, desk_opening};

/// The longest watch that one opening covers, ms: a wrong year is more likely than more.
const LENGTH_MAX_MS: i64 = 62 * 24 * 3_600_000;
/// The most floors that a number may stand for.
const FLOORS_MAX: u32 = 200;
/// A guard told on the telephone to come now has this long to be there, ms.
pub(super) const SOON_MS: i64 = 30 * 60_000;

/// What the form begins with.
pub(super) fn fresh(reader: &Reader) -> Typed {
    let mut typed = Typed::default();
    for (name, value) in [
        ("tz", reader.tz_name.clone()),
        ("from", time::to_field(reader.now_ms + SOON_MS, &reader.tz)),
        ("floors", "3".to_owned()),
        ("gap_min", "30".to_owned()),
        ("source_from", codes::value(DemandFrom::House)),
        ("language", reader.lang.tag().to_owned()),
        ("emergency", "911".to_owned()),
    ] {
        typed.set(name, value);
    }
    typed
}

/// A form that can be opened as a watch.
#[derive(Debug, Clone)]
pub(crate) struct Wanted {
    pub(crate) name: String,
    pub(crate) address: String,
    pub(crate) town: String,
    pub(crate) tz: String,
    pub(crate) zones: Vec<String>,
    pub(crate) gap_s: u32,
    pub(crate) source_from: DemandFrom,
    pub(crate) source: String,
    pub(crate) from_ms: i64,
    pub(crate) until_ms: Option<i64>,
    pub(crate) out: Vec<System>,
    pub(crate) asleep: bool,
    pub(crate) guard: Guard,
    pub(crate) contact: Option<(String, String)>,
    /// None on demonstration and test sites.
    pub(crate) emergency: Option<String>,
    pub(crate) demo: bool,
    pub(crate) test: bool,
    pub(crate) instructions: Vec<String>,
    /// The site it is opened at again, by id; none makes a new one.
    pub(crate) site: Option<String>,
    pub(crate) profiles: Vec<Profile>,
    /// Since when systems are out, if it is not the beginning of the watch.
    pub(crate) out_since_ms: Option<i64>,
    /// Occupancy groups by their letters.
    pub(crate) occupancy: Vec<String>,
    /// Working hours: the watch is kept outside them, a watch each time.
    pub(crate) hours: Option<Week>,
    pub(crate) holidays: Vec<Date>,
}

/// Who walks.
#[derive(Debug, Clone)]
pub(crate) enum Guard {
    /// Somebody the house knows, by id.
    Known(String),
    /// Somebody new.
    New { name: String, number: String, language: Lang },
}

/// Reads what was typed, or says what is wrong with it.
pub(super) fn wanted(typed: &Typed, reader: &Reader) -> Result<Wanted, Faults> {
    let lang = reader.lang;
    let mut faults = Faults::new();
    for name in ["name", "address", "town"] {
        if typed.get(name).is_empty() {
            faults.insert(name, desk::needed(lang));
        }
    }
    let tz = TimeZone::get(typed.get("tz"));
    if tz.is_err() {
        faults.insert("tz", desk::tz_unknown(lang));
    }
    let tz = tz.unwrap_or(TimeZone::UTC);
    let zones = zones(typed, lang);
    // With a site its plan may know the zones.
    if zones.is_empty() && typed.get("site").is_empty() {
        faults.insert("floors", desk::floors_none(lang));
    }
    let gap_min: Option<u32> =
        typed.get("gap_min").parse().ok().filter(|m| (1..=24 * 60).contains(m));
    if gap_min.is_none() {
        faults.insert("gap_min", desk::gap_wrong(lang));
    }
    let from_ms = time::from_field(typed.get("from"), &tz);
    if from_ms.is_none() {
        faults.insert("from", desk::time_wrong(lang));
    }
    let (from_ms, until_ms) = (from_ms.unwrap_or_default(), until(typed, &tz, lang, &mut faults));
    if until_ms.is_some_and(|at| at <= from_ms || at > from_ms + LENGTH_MAX_MS) {
        faults.insert("until", desk::until_wrong(lang));
    }
    let guard = guard(typed, lang, &mut faults);
    let (demo, test) = (typed.get("practice") == "demo", typed.get("practice") == "test");
    let emergency = typed.get("emergency").to_owned();
    if !demo && !test && !emergency.chars().any(|c| c.is_ascii_digit()) {
        faults.insert("emergency", desk::emergency_needed(lang));
    }
    let out_since_ms = time::from_field(typed.get("out_since"), &tz);
    if out_since_ms.is_none() && !typed.get("out_since").is_empty() {
        faults.insert("out_since", desk::time_wrong(lang));
    }
    let (hours, holidays) = calendar(typed, lang, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(Wanted {
        name: typed.text("name"),
        address: typed.text("address"),
        town: typed.text("town"),
        tz: typed.get("tz").to_owned(),
        zones,
        gap_s: gap_min.unwrap_or_default() * 60,
        source_from: codes::read(typed.get("source_from")).unwrap_or(DemandFrom::House),
        source: typed.text("source"),
        from_ms,
        until_ms,
        out: typed.all("out").iter().filter_map(|code| codes::read(code)).collect(),
        asleep: typed.get("asleep") == "yes",
        guard,
        contact: contact(typed),
        emergency: (!demo && !test).then_some(emergency),
        demo,
        test,
        instructions: lines(typed.get("instructions")),
        site: Some(typed.text("site")).filter(|site| !site.is_empty()),
        profiles: super::terms::profiles(typed.all("profile")),
        out_since_ms,
        occupancy: typed
            .get("occupancy")
            .split([',', ' '])
            .filter(|group| !group.is_empty())
            .map(str::to_uppercase)
            .collect(),
        hours,
        holidays,
    })
}

/// Working hours and days off.
fn calendar(typed: &Typed, lang: Lang, faults: &mut Faults) -> (Option<Week>, Vec<Date>) {
    let hours = lines(typed.get("hours"));
    let week = Week::parse(hours.iter().map(String::as_str));
    if week.is_none() && !hours.is_empty() {
        faults.insert("hours", desk_opening::hours_wrong(lang));
    }
    let days = lines(typed.get("holidays"));
    let holidays: Option<Vec<Date>> = days.iter().map(|day| day.trim().parse().ok()).collect();
    if holidays.is_none() {
        faults.insert("holidays", desk_opening::holidays_wrong(lang));
    }
    (week, holidays.unwrap_or_default())
}

fn lines(typed: &str) -> Vec<String> {
    record::Words::from_text(typed).words
}

/// Floors by their number, then other places by name.
fn zones(typed: &Typed, lang: Lang) -> Vec<String> {
    let floors: u32 = typed.get("floors").parse().unwrap_or(0);
    let floors = (1..=floors.min(FLOORS_MAX)).map(|floor| desk::floor(lang, i64::from(floor)));
    floors.chain(lines(typed.get("places"))).collect()
}

fn until(typed: &Typed, tz: &TimeZone, lang: Lang, faults: &mut Faults) -> Option<i64> {
    if typed.get("until").is_empty() {
        return None;
    }
    let until_ms = time::from_field(typed.get("until"), tz);
    if until_ms.is_none() {
        faults.insert("until", desk::time_wrong(lang));
    }
    until_ms
}

fn guard(typed: &Typed, lang: Lang, faults: &mut Faults) -> Guard {
    if !typed.get("guard").is_empty() {
        return Guard::Known(typed.get("guard").to_owned());
    }
    if typed.get("guard_name").is_empty() {
        faults.insert("guard_name", desk::guard_needed(lang));
    }
    Guard::New {
        name: typed.text("guard_name"),
        number: typed.text("guard_number"),
        language: Lang::from_tag(typed.get("language")),
    }
}

fn contact(typed: &Typed) -> Option<(String, String)> {
    let (name, number) = (typed.text("contact_name"), typed.text("contact_number"));
    (!name.is_empty() && !number.is_empty()).then_some((name, number))
}
