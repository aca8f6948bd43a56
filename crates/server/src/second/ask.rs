//! Somebody asks.

use super::{Act, What, keep};
use crate::account::Caller;
use crate::one_watch::{self, Seen};
use crate::page::form::Field;
use crate::page::{Place, Reader, frame, time};
use crate::problem::Problem;
use crate::server::App;
use crate::{scribe, secret};
use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use ledger::{LineId, PersonId};
use maud::{Markup, html};
use record::Entry;
use serde::Deserialize;
use watch::Kept;
use words::{desk, second};

/// Lines offered, newest first.
const OFFERED_MAX: usize = 400;
/// Words of a line shown to tell it from others, characters.
const SHOWN: usize = 60;
/// The longest reason, characters.
const WHY_MAX: usize = 500;

/// The form.
#[derive(Debug, Clone, Default, Deserialize)]
pub(crate) struct Wanted {
    #[serde(default)]
    line: String,
    #[serde(default)]
    why: String,
}

/// `GET /watch/{watch}/erase`
pub(crate) async fn erase_form(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Markup, Problem> {
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms).await?;
    Ok(page(&app, &reader, &seen, &Wanted::default(), None))
}

/// `POST /watch/{watch}/erase`: asks; nothing is erased yet.
pub(crate) async fn erase(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(form): Form<Wanted>,
) -> Result<Response, Problem> {
    let lang = reader.lang;
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms).await?;
    if seen.state.is_held() {
        return Err(Problem::Bad(second::held(lang).to_owned()));
    }
    let line: Option<LineId> = form.line.parse().ok();
    let line = line.filter(|line| seen.fold.line(*line).is_some_and(is_erasable));
    let fault = match (line, why(&form.why)) {
        (None, _) => Some(("line", words::desk_write::choose(lang))),
        (_, None) => Some(("why", desk::needed(lang))),
        _ => None,
    };
    let (Some(line), Some(why), None) = (line, why(&form.why), fault) else {
        let page = page(&app, &reader, &seen, &form, fault);
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    };
    let what = What::Erase { watch: seen.id.clone(), line };
    let waits = app.book().acts.values().any(|act| act.what == what);
    if !waits {
        keep(&app, &secret::id("t"), act(what, caller.id, reader.now_ms, why)).await?;
    }
    Ok(Redirect::to("/second").into_response())
}

/// `POST /second/key`: asks for a new key of the server.
pub(crate) async fn renew_key(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
    Form(form): Form<Wanted>,
) -> Result<Redirect, Problem> {
    let why = why(&form.why).ok_or_else(|| Problem::Bad(second::why_needed(reader.lang).into()))?;
    if !app.book().acts.values().any(|act| act.what == What::RenewKey) {
        let act = act(What::RenewKey, caller.id, reader.now_ms, why);
        keep(&app, &secret::id("t"), act).await?;
    }
    Ok(Redirect::to("/second"))
}

/// The server came back from a copy: two people must have seen it. Nobody knows who did it, for it was
/// done at the machine.
pub(crate) async fn restored(app: &App) -> Result<(), Problem> {
    let act = act(What::Restored, scribe::nobody(), app.clock.now_ms(), String::new());
    keep(app, &secret::id("t"), act).await
}

fn act(what: What, by: PersonId, asked_ms: i64, why: String) -> Act {
    Act { what, by, asked_ms, why, announced_ms: None, mails: 0 }
}

fn why(typed: &str) -> Option<String> {
    let clean: String = typed.trim().chars().filter(|c| !c.is_control()).take(WHY_MAX).collect();
    (!clean.is_empty()).then(|| ledger::canonical::nfc(&clean))
}

/// Whether there is something beside the line that can go while the line stays.
fn is_erasable(kept: &Kept) -> bool {
    kept.words.is_some() || super::erase::blob_of(&kept.said).is_some()
}

fn page(
    app: &App,
    reader: &Reader,
    seen: &Seen,
    form: &Wanted,
    fault: Option<(&str, &str)>,
) -> Markup {
    let lang = reader.lang;
    let book = app.book();
    let saying = one_watch::says(&book, reader, seen);
    let offered: Vec<(String, String)> = (seen.fold.lines().collect::<Vec<_>>().into_iter())
        .rev()
        .filter(|kept| is_erasable(kept))
        .take(OFFERED_MAX)
        .map(|kept| (kept.id.to_string(), describe(reader, seen, &saying, kept)))
        .collect();
    let options = offered.iter().map(|(id, says)| (id.clone(), says.as_str()));
    let fault_of = |name: &str| fault.and_then(|(of, says)| (of == name).then_some(says));
    let body = html! {
        p { a href={ "/watch/" (seen.id) } { (desk::back_to(lang, seen.live.documents.name())) } }
        p.lead { (second::erase_lead(lang)) }
        p { (second::erase_stays(lang)) }
        @if seen.state.is_held() { p.fault { (second::held(lang)) } }
        @else if offered.is_empty() { p { (second::nothing_to_erase(lang)) } }
        @else {
            form method="post" action={ "/watch/" (seen.id) "/erase" } {
                (Field::new("line", second::line(lang), second::line_why(lang))
                    .fault(fault_of("line")).choice(options, &form.line))
                (Field::new("why", second::why(lang), second::why_why(lang))
                    .fault(fault_of("why")).text("text", &form.why, true))
                div.submit { button.main { (second::ask(lang)) } }
            }
        }
    };
    frame(reader, second::erase(lang), Place::Watches, None, body)
}

/// When, who, what, and the first words: what tells a line from the others.
fn describe(reader: &Reader, seen: &Seen, saying: &one_watch::Saying, kept: &Kept) -> String {
    let at = time::when(kept.clk.recorded_ms(), &seen.tz(), reader.now_ms, reader.lang);
    let says = saying.reader();
    let who = says.names.person(&kept.who).to_string();
    let what = match &kept.said {
        Entry::Unknown { kind, .. } => kind.clone(),
        said => says.entry(said).to_string(),
    };
    let words = kept.words.as_ref().map(|words| words.text()).unwrap_or_default();
    let words: String = words.chars().take(SHOWN).collect();
    format!("{at}, {who}: {what} {words}").trim_end().to_owned()
}
