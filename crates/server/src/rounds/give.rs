//! `POST /watch/{watch}/rounds/give`: rounds that were worked out become the rounds that hold.

use super::in_force::people;
use super::proposal::{EVERYBODY, Proposed, carried};
use super::{Places, page};
use crate::account::Caller;
use crate::one_watch::{self, Seen};
use crate::opening;
use crate::page::Reader;
use crate::page::typed::Typed;
use crate::problem::Problem;
use crate::scribe::Statement;
use crate::server::App;
use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use ledger::PersonId;
use record::RouteSet;
use std::collections::BTreeMap;
use words::{Lang, desk, desk_write, rounds};

/// `POST /watch/{watch}/rounds/give`
pub(crate) async fn give(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Problem> {
    let lang = reader.lang;
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms).await?;
    if seen.live.standing.released_ms.is_some() {
        return Err(Problem::Bad(desk::nothing_to_add(lang).to_owned()));
    }
    let refuse = |places: Option<&Places>, why: (String, Vec<Proposed>)| {
        let page = page::refused(&app, &reader, &seen, places, why);
        (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
    };
    let Some(places) = page::places_of(&app, &seen, reader.now_ms).await? else {
        return Ok(refuse(None, (rounds::no_places(lang).to_owned(), Vec::new())));
    };
    let Some(proposed) = carried(&Typed::read(pairs), &places) else {
        return Ok(refuse(Some(&places), (rounds::stale(lang).to_owned(), Vec::new())));
    };
    let given = match chosen(&seen, &proposed, lang) {
        Ok(given) => given,
        Err(says) => return Ok(refuse(Some(&places), (says.to_owned(), proposed))),
    };
    let mut statements: Vec<Statement> = Vec::new();
    for (guard, round) in given {
        statements.push(line(&app, &seen, &places, &round, guard).await?.into());
    }
    app.scribe.write(&app, &seen.id, &caller.id, statements).await?;
    Ok(Redirect::to(&format!("/watch/{}/rounds", seen.id)).into_response())
}

/// The round of each who was chosen, by name; none stands for everybody.
type Given = BTreeMap<Option<PersonId>, Vec<usize>>;

/// Who walks what. A round for everybody is also each guard's who had one of their own and gets no other.
fn chosen(seen: &Seen, proposed: &[Proposed], lang: Lang) -> Result<Given, &'static str> {
    let people = people(seen);
    let mut given = Given::new();
    for round in proposed.iter().filter(|round| !round.guard.is_empty()) {
        let known = || people.iter().find(|who| who.as_str() == round.guard).cloned();
        let who = match round.guard.as_str() {
            EVERYBODY => None,
            _ => Some(known().ok_or(desk_write::choose(lang))?),
        };
        if given.insert(who, round.stops.clone()).is_some() {
            return Err(rounds::given_twice(lang));
        }
    }
    if let Some(common) = given.get(&None).cloned() {
        for had in seen.state.routes.iter().filter(|route| route.set.guard.is_some()) {
            given.entry(had.set.guard.clone()).or_insert_with(|| common.clone());
        }
    }
    match given.is_empty() {
        true => Err(rounds::given_to_nobody(lang)),
        false => Ok(given),
    }
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
