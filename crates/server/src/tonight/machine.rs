//! What is wrong with the machine itself, said where the night is watched: whoever watches is seldom whoever runs it.

use crate::server::App;
use maud::{Markup, html};
use words::{Lang, desk};

/// Nothing while all is well.
pub(super) fn troubles(app: &App, lang: Lang) -> Markup {
    let damaged = app.last_scrub().is_some_and(|scrub| !scrub.faults.is_empty());
    let damaged =
        damaged.then(|| (desk::damaged(lang).to_owned(), desk::damaged_next(lang).into()));
    let troubles: Vec<(String, String)> = of_disk(app, lang).into_iter().chain(damaged).collect();
    html! {
        @for (what, next) in troubles { p { strong.ember { (what) } " " (next) } }
    }
}

fn of_disk(app: &App, lang: Lang) -> Option<(String, String)> {
    let room = app.store.room().ok().filter(|room| room.is_low())?;
    let mib = |bytes: u64| (bytes >> 20) as i64;
    if room.refuses_lines() {
        return Some((desk::disk_no_lines(lang).into(), desk::disk_no_lines_next(lang).into()));
    }
    if room.refuses_photos() {
        return Some((desk::disk_no_photos(lang).into(), desk::disk_no_photos_next(lang).into()));
    }
    let next = desk::disk_low_next(lang, mib(room.reserve_bytes));
    Some((desk::disk_low(lang, mib(room.free_bytes)), next))
}
