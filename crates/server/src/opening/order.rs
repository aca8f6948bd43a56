//! Opens the watch: blobs first, then the lines that name them, then the link for the guard's phone.

use super::form::{Guard, Wanted};
use super::plan::plan_lines;
use super::terms::{Termed, terms};
use crate::enrolment;
use crate::people::{self, Person};
use crate::problem::Problem;
use crate::scribe::Statement;
use crate::secret;
use crate::server::App;
use crate::settings::Kept;
use crate::sites::{self, Practice, Site, SiteContact};
use floorplan::Plan;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use ledger::{Digest, PersonId, WatchId};
use record::documents::{Document, Instructions, VERSION};
use record::{
    InstructionsSet, Party, PlanSet, Role, RouteSet, Scheduled, SiteId, WatchOpened, Words, ZoneId,
};
use serde::{Deserialize, Serialize};
use words::{Lang, desk};

/// A watch planned without an end is scheduled for one shift of this length, ms.
const SHIFT_MS: i64 = 12 * 3_600_000;
/// A calendar without an end is opened for a week, ms.
const WEEK_MS: i64 = 7 * 24 * 3_600_000;
/// Two months, the longest that one opening covers, in weeks.
const WEEKS_MAX: usize = 9;

/// That a watch exists: an index from which the book is built. The record says everything else.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Opened {
    pub(crate) site: SiteId,
    pub(crate) by: PersonId,
}

impl Kept for Opened {
    const COLLECTION: &'static str = "watches";
}

/// What was opened.
pub(crate) struct Done {
    pub(crate) watch: WatchId,
    /// How many were opened: recurring ones are several.
    pub(crate) watches: usize,
    /// The link for the guard's phone; none if the guard already has one.
    pub(crate) enrolment: Option<Digest>,
}

/// What will be opened, before it is.
pub(super) struct Prepared {
    pub(super) site: Site,
    pub(super) plan: Plan,
    pub(super) termed: Termed,
    /// Beginning and end of each watch, ms UTC.
    pub(super) stretches: Vec<(i64, Option<i64>)>,
}

/// Works out site, plan, terms and stretches; writes nothing.
pub(super) async fn prepare(app: &App, wanted: &Wanted, lang: Lang) -> Result<Prepared, Problem> {
    let known = match &wanted.site {
        Some(id) => Some(app.settings.get::<Site>(id).await?.ok_or(Problem::NotFound)?),
        None => None,
    };
    let drawn = match &known {
        Some(site) => sites::plan_of(app, site).await?,
        None => None,
    };
    let zones: Vec<&str> = wanted.zones.iter().map(String::as_str).collect();
    let mut plan = drawn.unwrap_or_else(|| Plan::simple(&wanted.name, &zones, wanted.gap_s));
    if plan.zones.is_empty() {
        return Err(Problem::Bad(desk::floors_none(lang).to_owned()));
    }
    let termed = terms(wanted, &plan, lang);
    for zone in &mut plan.zones {
        let gap = ZoneId::new(zone.id.as_str()).ok().and_then(|id| termed.set.gaps_s.get(&id));
        zone.gap_s = gap.copied().unwrap_or(wanted.gap_s);
    }
    let site = site(wanted, known.unwrap_or_default());
    Ok(Prepared { site, plan, termed, stretches: stretches(wanted) })
}

/// One watch from beginning to end, or one for each time that nobody works.
fn stretches(wanted: &Wanted) -> Vec<(i64, Option<i64>)> {
    let once = vec![(wanted.from_ms, wanted.until_ms)];
    let Some(hours) = &wanted.hours else { return once };
    let tz = TimeZone::get(&wanted.tz).unwrap_or(TimeZone::UTC);
    let from = Timestamp::from_millisecond(wanted.from_ms).unwrap_or_default();
    let last_ms = wanted.until_ms.unwrap_or(wanted.from_ms + WEEK_MS);
    let mut found: Vec<(i64, Option<i64>)> = Vec::new();
    let mut at = from.to_zoned_datetime(tz);
    // The calendar answers for a week at a time.
    for _ in 0..WEEKS_MAX {
        for period in hours.between(&at, &wanted.holidays) {
            let from_ms = period.from.timestamp().as_millisecond().max(wanted.from_ms);
            let until_ms = period.to.timestamp().as_millisecond().min(last_ms);
            if from_ms < until_ms && found.iter().all(|(_, end)| *end <= Some(from_ms)) {
                found.push((from_ms, Some(until_ms)));
            }
        }
        let Ok(next) = at.checked_add(jiff::Span::new().days(7)) else { break };
        at = next;
    }
    if found.is_empty() { once } else { found }
}

/// Opens every watch of the order and plans its guard.
pub(crate) async fn place(
    app: &App,
    wanted: Wanted,
    lang: Lang,
    by: &PersonId,
) -> Result<Done, Problem> {
    let prepared = prepare(app, &wanted, lang).await?;
    let (guard, is_new) = guard(app, &wanted, by).await?;
    let site = wanted.site.clone().unwrap_or_else(|| secret::id("s"));
    let site = SiteId::new(site).map_err(|_| Problem::NotFound)?;
    let mut first = None;
    // Measuring a drawn plan takes its time: once for all stretches.
    let planned = plan_lines(app, &prepared.plan).await?;
    for stretch in &prepared.stretches {
        let watch = WatchId::new(secret::id("w")).expect("hex digits follow the form of ids");
        let lines = lines(app, &wanted, &prepared, &planned, *stretch, &site, &guard, lang).await?;
        app.settings.add(watch.as_str(), &Opened { site: site.clone(), by: by.clone() }).await?;
        app.scribe.write(app, &watch, by, lines).await?;
        enrolment::grant(app, &guard, &watch).await?;
        first = first.or(Some(watch));
    }
    app.settings.put(site.as_str(), &prepared.site).await?;
    let watch = first.ok_or_else(|| Problem::Bad(desk::until_wrong(lang).to_owned()))?;
    let has_phone = app.book().devices().any(|(_, known)| known.person.as_ref() == Some(&guard));
    let enrolment = match is_new || !has_phone {
        true => {
            Some(enrolment::make(app, guard, Role::Guard, Some(watch.clone()), by.clone()).await?)
        }
        false => None,
    };
    // How it stands is known before anybody reads it on the page of tonight's watches.
    crate::alerts::look(app).await;
    Ok(Done { watch, watches: prepared.stretches.len(), enrolment })
}

/// The site as the form leaves it: what the form does not ask stays as it was.
fn site(wanted: &Wanted, before: Site) -> Site {
    let practice = match (wanted.demo, wanted.test) {
        (true, _) => Practice::Demo,
        (_, true) => Practice::Test,
        _ => Practice::Earnest,
    };
    let mut site = Site {
        name: wanted.name.clone(),
        address: wanted.address.clone(),
        town: wanted.town.clone(),
        tz: wanted.tz.clone(),
        emergency: wanted.emergency.clone().unwrap_or_default(),
        practice,
        asleep: wanted.asleep,
        profiles: wanted.profiles.iter().map(|profile| profile.title.clone()).collect(),
        ..before
    };
    if let Some((name, number)) = &wanted.contact {
        let contact = SiteContact {
            party: Party::Owner,
            name: name.clone(),
            number: number.clone(),
            account: String::new(),
        };
        if !site.contacts.iter().any(|known| known.number == contact.number) {
            site.contacts.insert(0, contact);
        }
    }
    site
}

async fn guard(app: &App, wanted: &Wanted, by: &PersonId) -> Result<(PersonId, bool), Problem> {
    match &wanted.guard {
        Guard::Known(id) => {
            let id = PersonId::new(id.as_str()).map_err(|_| Problem::NotFound)?;
            people::get(app, &id).await?;
            Ok((id, false))
        }
        Guard::New { name, number, language } => {
            let id = people::new_id();
            let person = Person {
                name: name.clone(),
                number: number.clone(),
                language: *language,
                role: Role::Guard,
                sites: Vec::new(),
                left: false,
                languages: String::new(),
                qualifications: Vec::new(),
            };
            people::put(app, &id, person, by).await?;
            Ok((id, true))
        }
    }
}

/// The lines that open a watch, after the blobs that they name are on the disk.
#[expect(clippy::too_many_arguments, reason = "one call; each is a part of the order")]
async fn lines(
    app: &App,
    wanted: &Wanted,
    prepared: &Prepared,
    (plan_set, route_set): &(PlanSet, RouteSet),
    (from_ms, until_ms): (i64, Option<i64>),
    site: &SiteId,
    guard: &PersonId,
    lang: Lang,
) -> Result<Vec<Statement>, Problem> {
    let card = prepared.site.card(callback(app, wanted));
    let card = keep_document(app, &card).await?;
    keep_document(app, &prepared.termed.sheet).await?;
    let opened = WatchOpened {
        site: site.clone(),
        card,
        tz: wanted.tz.clone(),
        from_ms,
        until_ms,
        out: wanted.out.clone(),
        demo: wanted.demo,
        test: wanted.test,
    };
    let terms_set = prepared.termed.set.clone();
    let language = guard_language(app, guard, lang);
    let kept = prepared.site.sheet(language.tag()).filter(|_| wanted.instructions.is_empty());
    let instructions = Instructions {
        v: VERSION,
        language: kept.map_or(language.tag(), |sheet| &sheet.language).to_owned(),
        lines: kept.map_or(&wanted.instructions, |sheet| &sheet.lines).clone(),
    };
    let language = instructions.language.clone();
    let instructions = keep_document(app, &instructions).await?;
    let scheduled = Scheduled {
        person: guard.clone(),
        from_ms,
        until_ms: until_ms.unwrap_or(from_ms + SHIFT_MS),
        withdrawn: false,
    };
    Ok(vec![
        opened.into(),
        plan_set.clone().into(),
        route_set.clone().into(),
        terms_set.into(),
        InstructionsSet { instructions, version: 1, language }.into(),
        Statement::with(scheduled, called(app, guard)),
    ])
}

/// The person's name, erasable, so that the report can name who was planned.
pub(crate) fn called(app: &App, person: &PersonId) -> Words {
    let name = app.book().name(person).map(str::to_owned);
    let names = name.map(|name| ("person".to_owned(), name)).into_iter().collect();
    Words { names, ..Words::default() }
}

fn guard_language(app: &App, guard: &PersonId, otherwise: Lang) -> Lang {
    app.book().people.get(guard).map_or(otherwise, |person| person.language)
}

/// The number on which the guard can be called back.
fn callback(app: &App, wanted: &Wanted) -> Option<String> {
    let number = match &wanted.guard {
        Guard::New { number, .. } => number.clone(),
        Guard::Known(id) => {
            let id = PersonId::new(id.as_str()).ok()?;
            app.book().people.get(&id)?.number.clone()
        }
    };
    Some(number).filter(|number| !number.is_empty())
}

pub(super) async fn keep_document(app: &App, document: &impl Document) -> Result<Digest, Problem> {
    let bytes = document.to_bytes();
    let digest = Digest::of(&bytes);
    keep(app, digest, bytes).await?;
    Ok(digest)
}

pub(super) async fn keep(app: &App, digest: Digest, bytes: Vec<u8>) -> Result<(), Problem> {
    Ok(app.store.blobs().put(digest, bytes).await?)
}
