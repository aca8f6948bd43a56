//! The record as it grows: each line with the time of the event, the time of its writing, and marks.

use super::Seen;
use crate::book::Book;
use crate::page::{Reader, time};
use crate::tonight::small_dial::tz_min;
use maud::{Markup, html};
use rules::say::{Names, Reader as Says};
use watch::{Kept, Via};
use words::{Lang, desk};

/// Lines shown; the bundle has them all.
const SHOWN_MAX: usize = 200;
/// A line written this much after its event is marked, ms (our own default).
const LATE_ENTRY_MS: i64 = 5 * 60_000;
/// A line sealed this much after its writing is marked, ms (our own default).
const LATE_SEAL_MS: i64 = 10 * 60_000;

/// Newest first.
pub(super) fn table(book: &Book, reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let lines: Vec<&Kept> = seen.fold.lines().collect();
    let total = lines.len();
    let names = names(book, seen, lang);
    let tz_min = tz_min(&seen.live.standing.tz, reader.now_ms);
    let says = Says { lang, names: &names, tz_min, dated: false };
    html! {
        section #record {
            h2 { (desk::record(lang)) }
            div.scroll tabindex="0" role="region" aria-label=(desk::record(lang)) {
                table {
                    thead {
                        tr {
                            th scope="col" { (desk::record_event(lang)) }
                            th scope="col" { (desk::record_entry(lang)) }
                            th scope="col" { (desk::record_what(lang)) }
                            th scope="col" { (desk::record_who(lang)) }
                            @if reader.may("/watch/{watch}/correct") { td {} }
                        }
                    }
                    tbody {
                        @for kept in lines.into_iter().rev().take(SHOWN_MAX) {
                            (line(&says, reader, seen, kept))
                        }
                    }
                }
            }
            @if total > SHOWN_MAX { p.soft { (desk::record_more(lang, (total - SHOWN_MAX) as i64)) } }
        }
    }
}

fn line(says: &Says<'_>, reader: &Reader, seen: &Seen, kept: &Kept) -> Markup {
    let lang = reader.lang;
    let at_ms = seen.fold.effective(kept.id).map_or(kept.clk.recorded_ms(), |e| e.at_ms);
    let written_ms = kept.clk.recorded_ms();
    let clock = |at_ms| time::when(at_ms, &seen.tz(), reader.now_ms, lang);
    let words = kept.words.as_ref().map(|words| words.text()).unwrap_or_default();
    html! {
        tr id={ "line-" (&kept.id.to_string()[..12]) } {
            td { time { (clock(at_ms)) } }
            td.soft { time { (clock(written_ms)) } }
            td {
                (says.entry(&kept.said))
                @if !words.is_empty() { ": " (words) }
                @for mark in marks(seen, kept, at_ms, written_ms, lang) { " " span.mark { (mark) } }
            }
            td {
                (says.names.person(&kept.who))
                @if kept.by != kept.who { span.soft { " " (desk::written_by(lang, says.names.person(&kept.by))) } }
            }
            @if reader.may("/watch/{watch}/correct") {
                td.small {
                    a href={ "/watch/" (seen.id) "/correct?of=" (kept.id) }
                        aria-label=(desk::correct_line(lang, clock(at_ms))) { (words::desk_write::correct_this(lang)) }
                }
            }
        }
    }
}

fn marks(seen: &Seen, kept: &Kept, at_ms: i64, written_ms: i64, lang: Lang) -> Vec<&'static str> {
    let mut marks = Vec::new();
    if written_ms - at_ms > LATE_ENTRY_MS {
        marks.push(desk::mark_late_entry(lang));
    }
    match kept.via {
        Via::Device => {}
        Via::PhonedIn => marks.push(desk::mark_phoned_in(lang)),
        Via::Paper => marks.push(desk::mark_paper(lang)),
    }
    if let Some(effective) = seen.fold.effective(kept.id) {
        if effective.withdrawn_by.is_some() {
            marks.push(desk::mark_taken_back(lang));
        } else if effective.corrected_by.is_some() {
            marks.push(desk::mark_corrected(lang));
        }
    }
    match seen.fold.sealing(kept.id) {
        None => marks.push(desk::mark_unsealed(lang)),
        Some(sealing) if sealing.rx_ms - written_ms > LATE_SEAL_MS => {
            marks.push(desk::mark_sealed_late(lang));
        }
        Some(_) => {}
    }
    if kept.has_private && kept.words.is_none() {
        marks.push(desk::mark_erased(lang));
    }
    marks
}

/// Names of zones from the plan, of people from the settings.
pub(super) fn names(book: &Book, seen: &Seen, lang: Lang) -> Names {
    let plan = seen.live.documents.plan.as_ref();
    let mut names = plan.map(Names::of_plan).unwrap_or_default().with_people(&seen.fold);
    for (id, person) in &book.people {
        names.name_person(id.clone(), person.name.clone());
    }
    names.name_person(crate::scribe::nobody(), desk::the_server(lang));
    names
}
