//! Opens the watch: blobs first, then the lines that name them, then the link for the guard's phone.

use super::form::{Guard, Wanted};
use crate::enrolment;
use crate::people::{self, Person};
use crate::problem::Problem;
use crate::scribe::Statement;
use crate::secret;
use crate::server::App;
use crate::settings::{Kept, SITES};
use floorplan::Plan;
use ledger::{Digest, PersonId, WatchId};
use record::documents::{
    Contact, Demand, Document, Instructions, Lifts, Owed, People, SiteCard, Terms, VERSION,
};
use record::{
    DemandFrom, InstructionsSet, Party, PlanSet, Role, RouteSet, Scheduled, SiteId, StopId,
    TermsSet, WatchOpened, Words, ZoneId,
};
use serde::{Deserialize, Serialize};
use words::{Lang, desk};

/// A watch planned without an end is scheduled for one shift of this length, ms.
const SHIFT_MS: i64 = 12 * 3_600_000;

/// That a watch exists: an index from which the book is built. The record says everything else.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Opened {
    pub(crate) site: SiteId,
    pub(crate) by: PersonId,
}

impl Kept for Opened {
    const COLLECTION: &'static str = "watches";
}

/// A site that a watch can be opened at again.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Site {
    pub(crate) name: String,
    pub(crate) address: String,
    pub(crate) town: String,
    pub(crate) tz: String,
}

impl Kept for Site {
    const COLLECTION: &'static str = SITES;
}

/// What was opened.
pub(crate) struct Done {
    pub(crate) watch: WatchId,
    /// The link for the guard's phone; none if the guard already has one.
    pub(crate) enrolment: Option<Digest>,
}

/// Opens a watch and plans its guard.
pub(crate) async fn place(
    app: &App,
    wanted: Wanted,
    lang: Lang,
    by: &PersonId,
) -> Result<Done, Problem> {
    let (guard, is_new) = guard(app, &wanted, by).await?;
    let watch = WatchId::new(secret::id("w")).expect("hex digits follow the form of ids");
    let site = SiteId::new(secret::id("s")).expect("hex digits follow the form of ids");
    let lines = lines(app, &wanted, &site, &guard, lang).await?;
    let kept = Site {
        name: wanted.name.clone(),
        address: wanted.address.clone(),
        town: wanted.town.clone(),
        tz: wanted.tz.clone(),
    };
    app.settings.add(site.as_str(), &kept).await?;
    app.settings.add(watch.as_str(), &Opened { site, by: by.clone() }).await?;
    app.scribe.write(app, &watch, by, lines).await?;
    enrolment::grant(app, &guard, &watch).await?;
    let has_phone = app.book().devices().any(|(_, known)| known.person.as_ref() == Some(&guard));
    let enrolment = match is_new || !has_phone {
        true => {
            Some(enrolment::make(app, guard, Role::Guard, Some(watch.clone()), by.clone()).await?)
        }
        false => None,
    };
    Ok(Done { watch, enrolment })
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
            };
            people::put(app, &id, person, by).await?;
            Ok((id, true))
        }
    }
}

/// The lines that open a watch, after the blobs that they name are on the disk.
async fn lines(
    app: &App,
    wanted: &Wanted,
    site: &SiteId,
    guard: &PersonId,
    lang: Lang,
) -> Result<Vec<Statement>, Problem> {
    let zones: Vec<&str> = wanted.zones.iter().map(String::as_str).collect();
    let plan = Plan::simple(&wanted.name, &zones, wanted.gap_s);
    let plan_bytes = plan.canonical();
    let (plan_digest, plan_set, route_set) = plan_lines(&plan, &plan_bytes)?;
    keep(app, plan_digest, plan_bytes).await?;
    let card = keep_document(app, &site_card(app, wanted)).await?;
    let terms = keep_document(app, &terms(wanted, lang)).await?;
    let opened = WatchOpened {
        site: site.clone(),
        card,
        tz: wanted.tz.clone(),
        from_ms: wanted.from_ms,
        until_ms: wanted.until_ms,
        out: wanted.out.clone(),
        demo: wanted.demo,
        test: wanted.test,
    };
    let gaps = plan_set.zones.iter().map(|zone| (zone.clone(), wanted.gap_s)).collect();
    let terms_set = TermsSet {
        terms,
        gaps_s: gaps,
        first_round_s: Some(wanted.gap_s),
        people_at_least: 1,
        other_duties: false,
        retain_s: None,
    };
    let instructions = Instructions {
        v: VERSION,
        language: guard_language(app, guard, lang).tag().to_owned(),
        lines: wanted.instructions.clone(),
    };
    let language = instructions.language.clone();
    let instructions = keep_document(app, &instructions).await?;
    let scheduled = Scheduled {
        person: guard.clone(),
        from_ms: wanted.from_ms,
        until_ms: wanted.until_ms.unwrap_or(wanted.from_ms + SHIFT_MS),
        withdrawn: false,
    };
    Ok(vec![
        opened.into(),
        plan_set.into(),
        route_set.into(),
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

fn plan_lines(plan: &Plan, bytes: &[u8]) -> Result<(Digest, PlanSet, RouteSet), Problem> {
    let bad = |error: ledger::ids::NotAnId| Problem::Bad(error.to_string());
    let digest = Digest::of(bytes);
    let zone = |id: &floorplan::ZoneId| ZoneId::new(id.as_str()).map_err(bad);
    let stop = |id: &floorplan::StopId| StopId::new(id.as_str()).map_err(bad);
    let zones = plan.zones.iter().map(|z| zone(&z.id)).collect::<Result<Vec<_>, _>>()?;
    let stops = plan.stops.iter().map(|s| stop(&s.id)).collect::<Result<Vec<_>, _>>()?;
    let map = plan.stops.iter().map(|s| Ok((stop(&s.id)?, zone(&s.zone)?)));
    let map = map.collect::<Result<_, Problem>>()?;
    let plan_set = PlanSet { plan: digest, zones, stops: map };
    let route_set = RouteSet { route: None, stops, legs_s: Vec::new(), guard: None };
    Ok((digest, plan_set, route_set))
}

fn site_card(app: &App, wanted: &Wanted) -> SiteCard {
    let mut card = SiteCard::plain(&wanted.name, &wanted.address, &wanted.town);
    card.emergency_number = wanted.emergency.clone();
    card.lifts = match wanted.emergency.as_deref() {
        Some("999" | "112") => Lifts::Lifts,
        _ => Lifts::Elevators,
    };
    if wanted.asleep {
        card.people = Some(People { about: 0, asleep: true });
    }
    if let Guard::New { number, .. } = &wanted.guard {
        card.callback = Some(number.clone()).filter(|number| !number.is_empty());
    } else if let Guard::Known(id) = &wanted.guard
        && let Ok(id) = PersonId::new(id.as_str())
    {
        let number = app.book().people.get(&id).map(|person| person.number.clone());
        card.callback = number.filter(|number| !number.is_empty());
    }
    card.contacts = wanted
        .contact
        .iter()
        .map(|(name, number)| Contact {
            id: "site".to_owned(),
            party: Party::Owner,
            name: name.clone(),
            number: number.clone(),
        })
        .collect();
    card
}

/// Every demand with its source; what nobody demanded is marked as our own default.
fn terms(wanted: &Wanted, lang: Lang) -> Terms {
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
    let instructions = Demand {
        of: "instructions_read".to_owned(),
        text: desk::demand_instructions_read(lang).to_owned(),
        ..duties.clone()
    };
    let relief = Demand {
        of: "relief".to_owned(),
        text: desk::demand_relief(lang).to_owned(),
        ..duties.clone()
    };
    let owed = Owed { instructions_read: true, relief: true, ..Owed::default() };
    Terms { v: VERSION, demands: vec![gap, duties, instructions, relief], owed }
}

async fn keep_document(app: &App, document: &impl Document) -> Result<Digest, Problem> {
    let bytes = document.to_bytes();
    let digest = Digest::of(&bytes);
    keep(app, digest, bytes).await?;
    Ok(digest)
}

async fn keep(app: &App, digest: Digest, bytes: Vec<u8>) -> Result<(), Problem> {
    Ok(app.store.blobs().put(digest, bytes).await?)
}
