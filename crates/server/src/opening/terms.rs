//! What the watch must satisfy: by the published demands that hold there, else by what the caller
//! says, else by our own defaults, each marked as what it is.

use super::form::Wanted;
use floorplan::Plan;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use record::documents::{Demand, Document, Owed, Terms as Sheet, VERSION};
use record::{DemandFrom, System, TermsSet, ZoneId};
use rules::codes::Origin;
use rules::standards::Profile;
use rules::terms::facts::{Building, Construction, Facts, Open, Order, Outage};
use rules::terms::say::Speech;
use rules::{Required, Standards, Terms};
use words::{Lang, desk};

/// The terms of one opening.
pub(super) struct Termed {
    pub(super) sheet: Sheet,
    pub(super) set: TermsSet,
    /// What the published demands say of whether a watch is owed at all.
    pub(super) required: Option<String>,
}

/// Makes them for the zones of a plan.
pub(super) fn terms(wanted: &Wanted, plan: &Plan, lang: Lang) -> Termed {
    let zones: Vec<(ZoneId, floorplan::ZoneKind)> = plan
        .zones
        .iter()
        .filter_map(|zone| Some((ZoneId::new(zone.id.as_str()).ok()?, zone.kind)))
        .collect();
    if wanted.profiles.is_empty() {
        let termed = by_word(wanted, zones.into_iter().map(|(zone, _)| zone), lang);
        return tightened(termed, plan, lang);
    }
    let facts = facts(wanted);
    let terms = Terms::of(&facts, Standards::embedded());
    let speech = Speech { lang, zone: facts.zone.clone() };
    let issued = terms.issue(&speech, &zones, Some(&facts));
    let mut sheet = issued.sheet;
    house(&mut sheet, lang);
    let set = TermsSet { terms: sheet.digest(), ..issued.set };
    tightened(Termed { sheet, set, required: Some(required(&terms, &speech)) }, plan, lang)
}

/// The plan may ask more of a zone than anybody else does, never less: a house can only tighten.
fn tightened(mut termed: Termed, plan: &Plan, lang: Lang) -> Termed {
    for zone in &plan.zones {
        let Ok(id) = ZoneId::new(zone.id.as_str()) else { continue };
        let Some(gap_s) = termed.set.gaps_s.get_mut(&id).filter(|gap_s| zone.gap_s < **gap_s)
        else {
            continue;
        };
        *gap_s = zone.gap_s;
        termed.sheet.demands.push(Demand {
            of: id.to_string(),
            gap_s: Some(zone.gap_s),
            source: desk::source_plan(lang).to_owned(),
            from: DemandFrom::House,
            text: desk::demand_zone_gap(
                lang,
                words::minutes(i64::from(zone.gap_s) / 60),
                &zone.name,
            ),
        });
    }
    termed.set.terms = termed.sheet.digest();
    termed
}

fn required(terms: &Terms, speech: &Speech) -> String {
    let lang = speech.lang;
    match (terms.required, terms.since) {
        (Required::Yes, Some(since)) => words::terms::required_yes_since(lang, speech.time(since)),
        (Required::Yes, None) => words::terms::required_yes(lang).to_owned(),
        (Required::NoneFound, _) => words::terms::required_none(lang, terms.profiles.join(", ")),
        (Required::Authority, _) => words::terms::required_authority(lang).to_owned(),
    }
}

fn facts(wanted: &Wanted) -> Facts {
    let at = Timestamp::from_millisecond(wanted.from_ms).unwrap_or_default();
    let since = wanted.out_since_ms.unwrap_or(wanted.from_ms);
    let from = Timestamp::from_millisecond(since).unwrap_or_default();
    let outage = |system| Outage { system, from, to: None, expected_until: None };
    let mut outages: Vec<Outage> =
        wanted.out.iter().filter_map(|s| system(*s)).map(outage).collect();
    outages.dedup_by_key(|outage| outage.system);
    let order = Order::stating_gap(
        origin(wanted.source_from),
        Some(wanted.source.clone()).filter(|source| !source.is_empty()),
        Some(at),
        Some(i64::from(wanted.gap_s)),
    );
    // Our own default is no order: it stands back where a published demand has a number.
    let ours = wanted.source_from == DemandFrom::House && wanted.source.is_empty();
    let construction = wanted.hours.clone().map(|hours| Construction {
        hours: Some(hours),
        holidays: wanted.holidays.clone(),
        ..Construction::default()
    });
    Facts {
        profiles: wanted.profiles.clone(),
        zone: TimeZone::get(&wanted.tz).unwrap_or(TimeZone::UTC),
        at,
        building: Building {
            occupancy: wanted.occupancy.clone(),
            sleeping: Some(wanted.asleep),
            open: wanted.asleep.then_some(Open::Now(true)),
            ..Building::default()
        },
        outages,
        hot_work: Vec::new(),
        construction,
        orders: if ours { Vec::new() } else { vec![order] },
    }
}

/// Profiles by their titles; an unknown one is left aside.
pub(super) fn profiles(titles: &[String]) -> Vec<Profile> {
    let standards = Standards::embedded();
    let asked = titles.iter().filter(|title| !title.trim().is_empty());
    let mut found: Vec<Profile> = asked.filter_map(|title| standards.find(title).ok()).collect();
    found.sort();
    found.dedup();
    found
}

fn system(system: System) -> Option<rules::System> {
    Some(match system {
        System::FireAlarm | System::Monitoring => rules::System::FireAlarm,
        System::Sprinkler => rules::System::Sprinkler,
        System::Standpipe => rules::System::Standpipe,
        System::WaterSupply => rules::System::WaterSupply,
        System::SpecialHazard => rules::System::SpecialHazard,
        System::SmokeControl => rules::System::SmokeControl,
        System::EmergencyLighting | System::None => return None,
    })
}

fn origin(from: DemandFrom) -> Origin {
    match from {
        DemandFrom::Code => Origin::Code,
        DemandFrom::Authority => Origin::Authority,
        DemandFrom::Client => Origin::Client,
        DemandFrom::Contract => Origin::Contract,
        DemandFrom::House => Origin::House,
    }
}

/// As the caller says it; what nobody demanded is marked as our own default.
fn by_word(wanted: &Wanted, zones: impl Iterator<Item = ZoneId>, lang: Lang) -> Termed {
    let ours = desk::source_ours(lang);
    let source = if wanted.source.is_empty() { ours } else { wanted.source.as_str() };
    let minutes = words::minutes(i64::from(wanted.gap_s) / 60);
    let gap = Demand {
        of: "zones".to_owned(),
        gap_s: Some(wanted.gap_s),
        source: source.to_owned(),
        from: wanted.source_from,
        text: desk::demand_gap(lang, minutes),
    };
    let duties = Demand {
        of: "duties".to_owned(),
        gap_s: None,
        source: ours.to_owned(),
        from: DemandFrom::House,
        text: desk::demand_no_other_duties(lang).to_owned(),
    };
    let mut sheet = Sheet { v: VERSION, demands: vec![gap, duties], owed: Owed::default() };
    house(&mut sheet, lang);
    let set = TermsSet {
        terms: sheet.digest(),
        gaps_s: zones.map(|zone| (zone, wanted.gap_s)).collect(),
        first_round_s: Some(wanted.gap_s),
        people_at_least: 1,
        other_duties: false,
        retain_s: None,
    };
    Termed { sheet, set, required: None }
}

/// What the house asks of every watch.
fn house(sheet: &mut Sheet, lang: Lang) {
    let demand = |of: &str, text: &str| Demand {
        of: of.to_owned(),
        gap_s: None,
        source: desk::source_ours(lang).to_owned(),
        from: DemandFrom::House,
        text: text.to_owned(),
    };
    sheet.demands.push(demand("instructions_read", desk::demand_instructions_read(lang)));
    sheet.demands.push(demand("relief", desk::demand_relief(lang)));
    sheet.owed.instructions_read = true;
    sheet.owed.relief = true;
}
