//! What others than the desk read of a watch: guests with a link, programs.

use super::{Seen, dial, lines, parts, read};
use crate::book::Book;
use crate::page::Reader;
use crate::problem::Problem;
use crate::server::App;
use crate::shelf;
use crate::tonight::small_dial::tz_min;
use ledger::WatchId;
use maud::{Markup, html};
use rules::say::{Names, ONE_NIGHT_MS, Reader as Says};
use watch::Kept;

/// A watch, for whoever was let in already.
pub(crate) async fn seen(app: &App, id: &WatchId, now_ms: i64) -> Result<Seen, Problem> {
    shelf::bring_back(app, id).await?;
    seen_here(app, id, now_ms).ok_or(Problem::NotFound)
}

/// As [`seen`]; none also for a watch that is put away.
pub(crate) fn seen_here(app: &App, id: &WatchId, now_ms: i64) -> Option<Seen> {
    let live = app.book().watch(id).cloned()?;
    read(id.clone(), live, now_ms)
}

/// Dial, who was there, and the record, without anything that can be pressed.
pub(crate) fn for_guests(app: &App, reader: &Reader, seen: &Seen) -> Markup {
    let book = app.book();
    html! {
        section.one { (dial::draw(reader, seen, &dial::findings(seen))) }
        (parts::for_guests(&book, reader, seen))
        (lines::table(&book, reader, seen))
    }
}

/// Puts codes and findings of a watch into words.
pub(crate) struct Saying {
    names: Names,
    lang: words::Lang,
    tz_min: i64,
    dated: bool,
}

impl Saying {
    /// As the rules want it.
    pub(crate) fn reader(&self) -> Says<'_> {
        Says { lang: self.lang, names: &self.names, tz_min: self.tz_min, dated: self.dated }
    }
}

/// Names as the desk knows them.
pub(crate) fn says(book: &Book, reader: &Reader, seen: &Seen) -> Saying {
    let tz_min = tz_min(&seen.live.standing.tz, reader.now_ms);
    let cover = &seen.state.cover;
    let dated = cover.from_ms.is_some_and(|from_ms| cover.until_ms - from_ms > ONE_NIGHT_MS);
    Saying { names: lines::names(book, seen, reader.lang), lang: reader.lang, tz_min, dated }
}

/// Every entry, oldest first: who states it, and what it says.
pub(crate) fn entries<'s>(
    book: &Book,
    reader: &Reader,
    seen: &'s Seen,
) -> Vec<(&'s Kept, String, String)> {
    let saying = says(book, reader, seen);
    let says = saying.reader();
    let entry = |kept: &'s Kept| {
        let who = says.names.person(&kept.who).to_string();
        (kept, who, says.entry(&kept.said).to_string())
    };
    seen.fold.lines().map(entry).collect()
}
