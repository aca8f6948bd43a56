//! Turns a [`Problem`] into a page in the reader's language, or into JSON for a program.

use super::{Place, Reader, frame};
use crate::account::caller;
use crate::{App, Problem};
use axum::extract::{Request, State};
use axum::http::{HeaderValue, header};
use axum::middleware::Next;
use axum::response::Response;
use maud::html;
use words::{Lang, desk};

/// Looks for a problem in every answer and gives it words.
pub(crate) async fn dress(State(app): State<App>, request: Request, next: Next) -> Response {
    let path = request.uri().path().to_owned();
    let headers = request.headers().clone();
    let mut response = next.run(request).await;
    let Some(problem) = response.extensions_mut().remove::<Problem>() else { return response };
    let program = ["/sync", "/enrol", "/blob", "/push", "/passkey", "/api"]
        .iter()
        .any(|start| path.starts_with(start))
        && !path.starts_with("/enrolment");
    let (kind, text) = if program {
        ("application/json", serde_json::json!({ "says": problem.to_string() }).to_string())
    } else {
        let caller = caller::of(&app, &headers).await.ok().flatten();
        let reader = Reader::of(&app, &headers, "/", caller);
        ("text/html; charset=utf-8", page(&reader, &problem))
    };
    response.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    response.headers_mut().remove(header::CONTENT_LENGTH);
    *response.body_mut() = text.into();
    response
}

fn page(reader: &Reader, problem: &Problem) -> String {
    let lang = reader.lang;
    let (title, next) = sentences(lang, problem);
    let body = html! {
        p.lead { (next) }
        p { a href="/" { (desk::to_tonight(lang)) } }
    };
    frame(reader, &title, Place::None, None, body).into_string()
}

/// What it is, and what to do next.
fn sentences(lang: Lang, problem: &Problem) -> (String, String) {
    let fixed = |title: &str, next: &str| (title.to_owned(), next.to_owned());
    match problem {
        Problem::NotFound | Problem::Method => {
            fixed(desk::not_found(lang), desk::not_found_next(lang))
        }
        Problem::LinkOver => {
            fixed(words::links::link_over(lang), words::links::link_over_next(lang))
        }
        Problem::Slow => fixed(desk::failed(lang), desk::failed_next(lang)),
        Problem::SignIn | Problem::Device(_) => {
            fixed(desk::sign_in(lang), desk::sign_in_next(lang))
        }
        Problem::Forbidden => fixed(desk::forbidden(lang), desk::forbidden_next(lang)),
        Problem::OtherSite => fixed(desk::other_site(lang), desk::other_site_next(lang)),
        Problem::TooMany { retry_s } => (
            desk::too_many(lang).to_owned(),
            desk::too_many_next(lang, words::seconds(*retry_s as i64)),
        ),
        Problem::Bad(says) => (desk::bad(lang).to_owned(), says.clone()),
        Problem::TooLarge { limit_bytes } => {
            (desk::bad(lang).to_owned(), desk::too_large(lang, limit_bytes / 1024))
        }
        Problem::StandsBy { leader } => {
            let at = leader.as_ref().map(|url| desk::stands_by_at(lang, url));
            let next = [Some(desk::stands_by_next(lang).to_owned()), at];
            (
                desk::stands_by(lang).to_owned(),
                next.into_iter().flatten().collect::<Vec<_>>().join(" "),
            )
        }
        Problem::Changed => fixed(desk::changed(lang), desk::changed_next(lang)),
        Problem::Store(store::StoreError::LowDisk { .. }) => {
            fixed(desk::disk_full(lang), desk::disk_full_next(lang))
        }
        Problem::Store(_) | Problem::Machine(_) => {
            fixed(desk::failed(lang), desk::failed_next(lang))
        }
    }
}
