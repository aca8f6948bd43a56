//! `POST /watch/{watch}/rounds/give`: rounds that were worked out become the rounds that hold.

use super::{Places, page};
use crate::account::Caller;
use crate::one_watch::{self, Seen};
use crate::page::Reader;
use crate::page::typed::Typed;
use crate::problem::Problem;
use crate::scribe::Statement;
use crate::server::App;
use crate::{enrolment, opening};
use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use ledger::PersonId;
use record::RouteSet;
use std::collections::BTreeSet;
use words::{Lang, rounds};

/// What a field says instead of a person.
pub(super) const EVERYBODY: &str = "everybody";
/// Rounds that one form gives at most.
const ROUNDS_MAX: usize = 50;

/// The names of the fields of a round: its stops, and who walks it.
pub(super) fn fields(round: usize) -> (String, String) {
    (format!("stops_{round}"), format!("guard_{round}"))
}

/// `POST /watch/{watch}/rounds/give`
pub(crate) async fn give(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Problem> {
    let lang = reader.lang;
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms)?;
    if seen.live.standing.released_ms.is_some() {
        return Err(Problem::Bad(words::desk::nothing_to_add(lang).to_owned()));
    }
    let typed = Typed::read(pairs);
    let places = page::places_of(&seen).await?;
    let given = match &places {
        None => Err(rounds::no_places(lang).to_owned()),
        Some(places) => read(&app, &seen, &typed, places, lang),
    };
    let given = match given {
        Ok(given) => given,
        Err(says) => {
            let page = page::refused(&app, &reader, &seen, places, &says);
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
        }
    };
    let mut statements: Vec<Statement> = Vec::new();
    for (guard, round) in &given {
        let places = places.as_ref().expect("rounds were read over them");
        let set = line(&app, &seen, places, round, guard.clone()).await?;
        statements.push(set.into());
    }
    app.scribe.write(&app, &seen.id, &caller.id, statements).await?;
    for guard in given.iter().filter_map(|(guard, _)| guard.as_ref()) {
        enrolment::grant(&app, guard, &seen.id).await?;
    }
    Ok(Redirect::to(&format!("/watch/{}/rounds", seen.id)).into_response())
}

type Given = Vec<(Option<PersonId>, Vec<usize>)>;

/// The rounds for which somebody was chosen. A round for everybody is also each guard's who had one of their own.
fn read(
    app: &App,
    seen: &Seen,
    typed: &Typed,
    places: &Places,
    lang: Lang,
) -> Result<Given, String> {
    let mut given = Given::new();
    let mut chosen: BTreeSet<Option<PersonId>> = BTreeSet::new();
    for round in 0..ROUNDS_MAX {
        let (stops, guard) = fields(round);
        let stops: Vec<&str> =
            typed.get(&stops).split(',').filter(|stop| !stop.is_empty()).collect();
        let guard = typed.get(&guard);
        if stops.is_empty() || guard.is_empty() {
            continue;
        }
        let walked: Option<Vec<usize>> = stops.iter().map(|stop| places.number(stop)).collect();
        let walked = walked.ok_or_else(|| rounds::stale(lang).to_owned())?;
        let who = match guard {
            EVERYBODY => None,
            id => Some(known(app, id).ok_or_else(|| words::desk_write::choose(lang).to_owned())?),
        };
        if !chosen.insert(who.clone()) {
            return Err(rounds::given_twice(lang).to_owned());
        }
        given.push((who, walked));
    }
    let common = given.iter().find(|(who, _)| who.is_none()).map(|(_, round)| round.clone());
    if let Some(round) = common {
        let had = seen.state.routes.iter().filter_map(|route| route.set.guard.clone());
        let others = had.filter(|who| chosen.insert(Some(who.clone())));
        given.extend(others.map(|who| (Some(who), round.clone())).collect::<Vec<_>>());
    }
    match given.is_empty() {
        true => Err(rounds::given_to_nobody(lang).to_owned()),
        false => Ok(given),
    }
}

fn known(app: &App, id: &str) -> Option<PersonId> {
    PersonId::new(id).ok().filter(|id| app.book().people.contains_key(id))
}

/// The line, after the lines of its walk are kept.
async fn line(
    app: &App,
    seen: &Seen,
    places: &Places,
    round: &[usize],
    guard: Option<PersonId>,
) -> Result<RouteSet, Problem> {
    let stops: Vec<_> = round.iter().map(|&stop| places.list[stop].stop.clone()).collect();
    let route = match &seen.live.documents.plan {
        Some(plan) => opening::keep_walk(app, plan, &stops).await?,
        None => None,
    };
    Ok(RouteSet { route, stops, legs_s: places.legs_s(round), guard })
}
