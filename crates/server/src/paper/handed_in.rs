//! Pages that were photographed on a phone: they are here, or on their way, and wait to be typed.

use crate::one_watch::{Seen, called};
use crate::page::{Reader, time};
use crate::problem::Problem;
use crate::server::App;
use ledger::Digest;
use maud::{Markup, html};
use watch::Picture;
use words::paper_in as says;

/// The pages of paper among the pictures that came from phones, oldest first.
fn pages(seen: &Seen) -> impl Iterator<Item = &Picture> {
    let allowed = &seen.state.paper.allowed;
    let of_paper = move |picture: &&Picture| {
        picture.of.is_some_and(|of| allowed.iter().any(|allowed| allowed.written.line == of))
    };
    seen.state.pictures.iter().filter(of_paper)
}

/// So many lines were typed from a page.
fn typed_from(seen: &Seen, page: Digest) -> usize {
    seen.fold.lines().filter(|line| line.page == Some(page)).count()
}

/// Pages from which nothing was typed yet.
pub(crate) fn to_type(seen: &Seen) -> usize {
    pages(seen).filter(|page| typed_from(seen, page.blob) == 0).count()
}

/// Each page with the way to type it.
pub(super) async fn list(app: &App, seen: &Seen, reader: &Reader) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let mut rows = Vec::new();
    for page in pages(seen) {
        let is_here = app.store.blobs().has(page.blob).await?;
        let who = called(&app.book(), &page.written.who, lang);
        let at = time::when(page.written.when.at_ms, &seen.tz(), reader.now_ms, lang);
        rows.push((page, is_here, format!("{who}, {at}"), typed_from(seen, page.blob) as i64));
    }
    Ok(html! {
        @if !rows.is_empty() {
            h2 { (says::handed_in(lang)) }
            ul {
                @for (page, is_here, by, typed) in rows {
                    li {
                        (by) ". "
                        @if typed > 0 { (says::typed_from(lang, typed)) " " }
                        @if is_here {
                            a href={ "/watch/" (seen.id) "/pages/" (page.blob) } { (says::type_it(lang)) }
                        } @else { (says::not_here(lang)) }
                    }
                }
            }
        }
    })
}
