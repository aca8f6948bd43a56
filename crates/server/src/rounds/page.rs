//! The page of a watch's rounds, and what is worked out on it.

use super::change::{Changed, GoesOn};
use super::forms::GUARDS_MAX;
use super::in_force::people;
use super::plan::Worked;
use super::proposal::{Proposal, Proposed};
use super::tonight::Tonight;
use super::{Places, forms, in_force, recorded};
use crate::account::Caller;
use crate::one_watch::{self, Seen, called};
use crate::page::typed::Typed;
use crate::page::{Place, Reader, frame};
use crate::problem::Problem;
use crate::server::App;
use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use words::{desk, desk_write, rounds};

/// What stands on the page beside the rounds that hold.
#[derive(Default)]
struct Shown<'a> {
    /// What was worked out, or why nothing was given.
    result: Markup,
    /// The number of guards as it was typed, and what is wrong with it.
    guards: &'a str,
    fault: Option<&'a str>,
}

/// `GET /watch/{watch}/rounds`
pub(crate) async fn show(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Markup, Problem> {
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms).await?;
    let places = places_of(&app, &seen, reader.now_ms).await?;
    Ok(page(&app, &reader, &seen, places.as_ref(), Shown::default()))
}

/// `POST /watch/{watch}/rounds`: the rounds of so many guards, or of the fewest.
pub(crate) async fn work_out(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Problem> {
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms).await?;
    let Some(places) = places_of(&app, &seen, reader.now_ms).await? else {
        return Ok(page(&app, &reader, &seen, None, Shown::default()).into_response());
    };
    let typed = Typed::read(pairs);
    let guards = typed.get("guards");
    let wanted: Option<usize> =
        guards.parse().ok().filter(|n| (1..=GUARDS_MAX as usize).contains(n));
    if !guards.is_empty() && wanted.is_none() {
        let fault = Some(desk_write::number_wrong(reader.lang));
        let shown = Shown { guards, fault, ..Shown::default() };
        let page = page(&app, &reader, &seen, Some(&places), shown);
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    }
    let worked = Worked::out(places, wanted).await?;
    let people = people(&seen);
    let guard = |nth: usize| people.get(nth).map(ToString::to_string).unwrap_or_default();
    let each = worked.rounds.iter().enumerate();
    let proposal = Proposal {
        says: worked.says(reader.lang),
        is_kept: worked.is_kept(),
        rounds: each.map(|(i, stops)| Proposed { guard: guard(i), stops: stops.clone() }).collect(),
    };
    let result = proposal.draw(&app, &reader, &seen, &worked.places);
    let shown = Shown { result, guards, ..Shown::default() };
    Ok(page(&app, &reader, &seen, Some(&worked.places), shown).into_response())
}

/// `POST /watch/{watch}/rounds/change`: how the night goes on.
pub(crate) async fn change(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Markup, Problem> {
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms).await?;
    let Some(places) = places_of(&app, &seen, reader.now_ms).await? else {
        return Ok(page(&app, &reader, &seen, None, Shown::default()));
    };
    let tonight = Tonight::of(&seen, &places, reader.now_ms);
    let changed = Changed::read(&Typed::read(pairs), &tonight, &places).ok_or(Problem::NotFound)?;
    let goes_on = GoesOn::from(places, tonight, changed).await?;
    let says = {
        let book = app.book();
        goes_on.says(reader.lang, |who| called(&book, who, reader.lang))
    };
    let proposed = |(guard, stops): (ledger::PersonId, Vec<usize>)| Proposed {
        guard: guard.to_string(),
        stops,
    };
    let rounds = goes_on.rounds().into_iter().map(proposed).collect();
    let proposal = Proposal { says, is_kept: goes_on.is_kept(), rounds };
    let result = proposal.draw(&app, &reader, &seen, &goes_on.places);
    Ok(page(&app, &reader, &seen, Some(&goes_on.places), Shown { result, ..Shown::default() }))
}

/// The page once more, with why nothing was given, and with the rounds that were to be given.
pub(super) fn refused(
    app: &App,
    reader: &Reader,
    seen: &Seen,
    places: Option<&Places>,
    (says, rounds): (String, Vec<Proposed>),
) -> Markup {
    let drawn = places.map(|places| {
        let proposal = Proposal { says: vec![says.clone()], is_kept: false, rounds };
        proposal.draw(app, reader, seen, places)
    });
    let result =
        html! { div role="alert" { (drawn.unwrap_or_else(|| html! { p.fault { (says) } })) } };
    page(app, reader, seen, places, Shown { result, ..Shown::default() })
}

/// The places of a watch, with the times that legs recorded at its site give them. Measuring a drawn plan takes its time:
/// it is done on a thread of its own.
pub(super) async fn places_of(
    app: &App,
    seen: &Seen,
    now_ms: i64,
) -> Result<Option<Places>, Problem> {
    let Some(plan) = seen.live.documents.plan.clone() else { return Ok(None) };
    let gaps_s =
        seen.state.terms.as_ref().map(|terms| terms.set.gaps_s.clone()).unwrap_or_default();
    let here = recorded::here(app, seen).await?;
    let places = tokio::task::spawn_blocking(move || {
        let places = Places::of(&plan, &gaps_s)?;
        let walked = recorded::walked(&plan, &places, &here, now_ms);
        Some(places.set_right(walked))
    });
    places.await.map_err(|error| Problem::Machine(error.to_string()))
}

fn page(
    app: &App,
    reader: &Reader,
    seen: &Seen,
    places: Option<&Places>,
    shown: Shown<'_>,
) -> Markup {
    let lang = reader.lang;
    let runs = seen.live.standing.released_ms.is_none();
    let may = runs && reader.may("/watch/{watch}/rounds/give");
    let body = html! {
        p { a href={ "/watch/" (seen.id) } { (desk::back_to(lang, seen.live.documents.name())) } }
        p.lead { (rounds::lead(lang)) }
        (shown.result)
        @match places {
            None => p { (rounds::no_places(lang)) },
            Some(places) => {
                (in_force::draw(app, reader, seen, places))
                @if may {
                    (forms::ask(reader, seen, shown.guards, shown.fault))
                    (forms::changed(app, reader, seen, places))
                }
                @for says in places.rest_on(lang) { p.soft { (says) } }
            }
        }
    };
    frame(reader, rounds::title(lang), Place::Watches, None, body)
}
