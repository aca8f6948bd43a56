//! The page of a watch's rounds, and what is worked out on it.

use super::change::{Changed, GONE, GoesOn, at_field};
use super::give::{EVERYBODY, fields};
use super::places::is_no_way;
use super::plan::Worked;
use super::tonight::{OnDuty, Tonight};
use super::{Places, picture};
use crate::account::Caller;
use crate::one_watch::{self, Seen, called};
use crate::page::form::{Field, checks};
use crate::page::typed::Typed;
use crate::page::{Place, Reader, frame};
use crate::problem::Problem;
use crate::server::App;
use axum::Form;
use axum::extract::{Path, State};
use ledger::PersonId;
use maud::{Markup, html};
use planner::share::round_length;
use record::RouteSet;
use rules::say::rounds::time_up;
use words::{Lang, desk, minutes, rounds, seconds};

/// More guards than anybody sends to one watch.
const GUARDS_MAX: i64 = 30;

/// `GET /watch/{watch}/rounds`
pub(crate) async fn show(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Markup, Problem> {
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms)?;
    let places = places_of(&seen).await?;
    Ok(page(&app, &reader, &seen, places.as_ref(), html! {}))
}

/// `POST /watch/{watch}/rounds`: the rounds of so many guards, or of the fewest.
pub(crate) async fn work_out(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Markup, Problem> {
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms)?;
    let Some(places) = places_of(&seen).await? else {
        return Ok(page(&app, &reader, &seen, None, html! {}));
    };
    let typed = Typed::read(pairs);
    let guards = typed.get("guards").parse().ok().filter(|n| (1..=GUARDS_MAX).contains(n));
    let worked = Worked::out(places, guards.map(|n| n as usize)).await?;
    let planned: Vec<PersonId> = people(&seen);
    let each = worked.rounds.iter().enumerate();
    let given: Vec<(Option<PersonId>, Vec<usize>)> =
        each.map(|(i, round)| (planned.get(i).cloned(), round.clone())).collect();
    let says = worked.says(reader.lang);
    let result =
        result(&app, &reader, &seen, &worked.places, Found { says, kept: worked.is_kept(), given });
    Ok(page(&app, &reader, &seen, Some(&worked.places), result))
}

/// `POST /watch/{watch}/rounds/change`: how the night goes on.
pub(crate) async fn change(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Markup, Problem> {
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms)?;
    let Some(places) = places_of(&seen).await? else {
        return Ok(page(&app, &reader, &seen, None, html! {}));
    };
    let tonight = Tonight::of(&seen, &places, reader.now_ms);
    let changed = Changed::read(&Typed::read(pairs), &tonight, &places).ok_or(Problem::NotFound)?;
    let goes_on = GoesOn::from(places, tonight, changed).await?;
    let says = {
        let book = app.book();
        goes_on.says(reader.lang, |who| called(&book, who, reader.lang))
    };
    let given = goes_on.rounds().into_iter().map(|(who, round)| (Some(who), round)).collect();
    let found = Found { says, kept: goes_on.is_kept(), given };
    let result = result(&app, &reader, &seen, &goes_on.places, found);
    Ok(page(&app, &reader, &seen, Some(&goes_on.places), result))
}

/// The page once more, with why nothing was given.
pub(super) fn refused(
    app: &App,
    reader: &Reader,
    seen: &Seen,
    places: Option<Places>,
    says: &str,
) -> Markup {
    let says = html! { section.said role="alert" { p.fault { (says) } } };
    page(app, reader, seen, places.as_ref(), says)
}

/// The places of a watch. Measuring a drawn plan takes its time: it is done on a thread of its own.
pub(super) async fn places_of(seen: &Seen) -> Result<Option<Places>, Problem> {
    let Some(plan) = seen.live.documents.plan.clone() else { return Ok(None) };
    let gaps_s =
        seen.state.terms.as_ref().map(|terms| terms.set.gaps_s.clone()).unwrap_or_default();
    let places = tokio::task::spawn_blocking(move || Places::of(&plan, &gaps_s)).await;
    places.map_err(|error| Problem::Machine(error.to_string()))
}

fn page(
    app: &App,
    reader: &Reader,
    seen: &Seen,
    places: Option<&Places>,
    result: Markup,
) -> Markup {
    let lang = reader.lang;
    let runs = seen.live.standing.released_ms.is_none();
    let may = runs && reader.may("/watch/{watch}/rounds/give");
    let body = html! {
        p { a href={ "/watch/" (seen.id) } { (desk::back_to(lang, seen.live.documents.name())) } }
        p.lead { (rounds::lead(lang)) }
        @match places {
            None => p { (rounds::no_places(lang)) },
            Some(places) => {
                (result)
                (in_force(app, reader, seen, places))
                @if may {
                    (ask(reader, seen))
                    (changed(app, reader, seen, places))
                }
                p.soft {
                    (if places.measured { rounds::measured(lang) } else { rounds::estimated(lang) })
                }
            }
        }
    };
    frame(reader, rounds::title(lang), Place::Watches, None, body)
}

/// What was worked out.
struct Found {
    says: Vec<String>,
    kept: bool,
    given: Vec<(Option<PersonId>, Vec<usize>)>,
}

fn result(app: &App, reader: &Reader, seen: &Seen, places: &Places, found: Found) -> Markup {
    let lang = reader.lang;
    let people = people(seen);
    let book = app.book();
    let name = |who: &PersonId| called(&book, who, lang);
    let walks: Vec<(String, &[usize])> = (found.given.iter().enumerate())
        .map(|(i, (who, round))| {
            (who.as_ref().map_or(rounds::number(lang, i + 1), name), round.as_slice())
        })
        .collect();
    html! {
        section.said aria-live="polite" {
            h2 { (rounds::worked_out(lang)) }
            @for (i, says) in found.says.iter().enumerate() {
                @if i == 0 { p.lead { strong .over[!found.kept] { (says) } } } @else { p { (says) } }
            }
            @if !found.given.is_empty() {
                form method="post" action={ "/watch/" (seen.id) "/rounds/give" } {
                    @for (i, (who, round)) in found.given.iter().enumerate() {
                        @let (stops, guard) = fields(i);
                        @let ids = round.iter().map(|&s| places.list[s].stop.as_str()).collect::<Vec<_>>().join(",");
                        h3 { (rounds::number(lang, i + 1)) }
                        (table(reader, places, round))
                        input type="hidden" name=(stops) value=(ids);
                        (Field::new(&guard, rounds::who(lang), rounds::who_why(lang))
                            .choice(choices(lang, &people, &name).iter()
                                .map(|(id, says)| (id.clone(), says.as_str())),
                                who.as_ref().map_or("", |who| who.as_str())))
                    }
                    div.submit { button.main { (rounds::give(lang)) } }
                    p.soft { (rounds::give_why(lang)) }
                }
                @if let Some(plan) = &seen.live.documents.plan { (picture::levels(lang, plan, places, &walks)) }
            }
        }
    }
}

fn choices(
    lang: Lang,
    people: &[PersonId],
    name: &impl Fn(&PersonId) -> String,
) -> Vec<(String, String)> {
    let nobody = (String::new(), rounds::nobody_yet(lang).to_owned());
    let each = people.iter().map(|id| (id.to_string(), name(id)));
    let all = (EVERYBODY.to_owned(), rounds::everybody(lang).to_owned());
    std::iter::once(nobody).chain(each).chain([all]).collect()
}

/// Whoever is on duty, then whoever is planned, each once.
fn people(seen: &Seen) -> Vec<PersonId> {
    let on_duty = seen.state.on_duty.iter().map(|duty| &duty.who);
    let planned = seen.state.scheduled.iter().map(|shift| &shift.person);
    let mut people: Vec<PersonId> = Vec::new();
    for who in on_duty.chain(planned) {
        if !people.contains(who) {
            people.push(who.clone());
        }
    }
    people
}

/// The rounds that hold: each guard's own, and everybody's for whoever has none.
fn in_force(app: &App, reader: &Reader, seen: &Seen, places: &Places) -> Markup {
    let lang = reader.lang;
    let book = app.book();
    let routes = seen.state.routes.iter().map(|route| &route.set);
    let routes: Vec<_> = routes.filter(|set| !set.stops.is_empty()).collect();
    let round = |set: &RouteSet| -> Vec<usize> {
        set.stops.iter().filter_map(|stop| places.number(stop.as_str())).collect()
    };
    html! {
        h2 { (rounds::in_force(lang)) }
        @if routes.is_empty() { p { (rounds::none_given(lang)) } }
        @for set in routes {
            @let who = set.guard.as_ref().map(|who| called(&book, who, lang));
            details open[set.guard.is_some()] {
                summary { (who.unwrap_or_else(|| rounds::everybody(lang).to_owned())) }
                (table(reader, places, &round(set)))
            }
        }
    }
}

/// The places of a round in walking order.
fn table(reader: &Reader, places: &Places, round: &[usize]) -> Markup {
    let lang = reader.lang;
    let demands = &places.demands;
    let legs_ms = places.legs_ms(round);
    let walk = |ms: i64| match is_no_way(ms) {
        true => rounds::no_way(lang).to_owned(),
        false => seconds((ms + 999) / 1000),
    };
    html! {
        @if round.is_empty() {
            p { (rounds::nothing_to_walk(lang)) }
        } @else {
            @if !legs_ms.iter().any(|ms| is_no_way(*ms)) {
                @let whole_ms = round_length(&demands.walks, &demands.stay_ms, round);
                p { (rounds::length(lang, round.len() as i64, time_up(whole_ms))) }
            }
            div.scroll tabindex="0" role="region" aria-label=(rounds::order(lang)) {
                table {
                    thead {
                        tr {
                            th.num scope="col" { (rounds::nth(lang)) }
                            th scope="col" { (rounds::place(lang)) }
                            th.num scope="col" { (rounds::walk(lang)) }
                            th.num scope="col" { (rounds::look(lang)) }
                            th.num scope="col" { (rounds::gap(lang)) }
                        }
                    }
                    tbody {
                        @for (i, (&stop, &leg_ms)) in round.iter().zip(&legs_ms).enumerate() {
                            tr {
                                td.num { (i + 1) }
                                th scope="row" { (places.list[stop].name) }
                                td.num .over[is_no_way(leg_ms)] { (walk(leg_ms)) }
                                td.num { (seconds(demands.stay_ms[stop] / 1000)) }
                                td.num { (minutes(demands.gap_ms[stop] / 60_000)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn ask(reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    html! {
        h2 { (rounds::work_out(lang)) }
        form method="post" action={ "/watch/" (seen.id) "/rounds" } {
            (Field::new("guards", rounds::guards(lang), rounds::guards_why(lang)).number("", 1, GUARDS_MAX))
            div.submit { button { (rounds::work_out_do(lang)) } }
        }
    }
}

/// What has changed: asked only while somebody walks.
fn changed(app: &App, reader: &Reader, seen: &Seen, places: &Places) -> Markup {
    let lang = reader.lang;
    let tonight = Tonight::of(seen, places, reader.now_ms);
    let book = app.book();
    let stops = || places.list.iter().map(|place| (place.stop.to_string(), place.name.as_str()));
    let gone = (GONE.to_owned(), rounds::gone(lang));
    let nowhere = (String::new(), rounds::nowhere(lang));
    let last = |guard: &OnDuty| guard.last.map_or("", |stop| places.list[stop].stop.as_str());
    html! {
        h2 { (rounds::changed(lang)) }
        @if tonight.guards.is_empty() {
            p { (rounds::nobody_on_duty(lang)) }
        } @else {
            p { (rounds::changed_lead(lang)) }
            form method="post" action={ "/watch/" (seen.id) "/rounds/change" } {
                @for (i, guard) in tonight.guards.iter().enumerate() {
                    @let label = rounds::place_of(lang, called(&book, &guard.who, lang));
                    (Field::new(&at_field(i), &label, rounds::place_of_why(lang))
                        .choice(stops().chain([gone.clone()]), last(guard)))
                }
                (checks("closed", rounds::closed(lang), rounds::closed_why(lang),
                    places.zones().into_iter().map(|(id, name)| (id.to_string(), name.to_owned())), |_| false))
                (Field::new("stand", rounds::stand(lang), rounds::stand_why(lang))
                    .choice(std::iter::once(nowhere).chain(stops()), ""))
                div.submit { button { (rounds::change_do(lang)) } }
            }
        }
    }
}
