//! Who must be told, who was told, who came by, who has read the record.

use super::Seen;
use super::parts::called;
use crate::book::Book;
use crate::page::{Reader, codes, time};
use maud::{Markup, html};
use rules::findings::{Facts, Finding, Verdict};
use rules::say::Say;
use words::{desk_open, desk_write, duration_words};

/// Calls shown; the record has them all.
const SHOWN_MAX: usize = 12;

/// Notices that the terms ask for and nobody has written down. Those without a number are owed at once.
pub(super) fn owed(reader: &Reader, seen: &Seen, findings: &[Finding]) -> Markup {
    let lang = reader.lang;
    let owed: Vec<_> = findings
        .iter()
        .filter_map(|finding| match &finding.facts {
            Facts::NoticeOwed(facts) if facts.after_s.is_none() => Some((finding, facts)),
            _ => None,
        })
        .collect();
    html! {
        @if !owed.is_empty() {
            h2 { (desk_open::owed(lang)) }
            ul.kept {
                @for (finding, facts) in owed {
                    li {
                        strong .over[finding.verdict == Verdict::Broken] { (facts.party.say(lang)) }
                        div {
                            (facts.system.say(lang)) ". "
                            @match facts.within_s {
                                Some(within_s) => (desk_open::owed_within(lang, duration_words(i64::from(within_s)))),
                                None => (desk_open::owed_now(lang)),
                            }
                            @if reader.may("/watch/{watch}/notified") {
                                " " a href={ "/watch/" (seen.id) "/notified?party=" (codes::value(facts.party))
                                    "&system=" (codes::value(facts.system)) } { (desk_write::notified(lang)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Calls, messages and notices, newest first.
pub(super) fn made(book: &Book, reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let clock = |at_ms| time::when(at_ms, &seen.tz(), reader.now_ms, lang);
    let calls = seen.state.communications.iter().map(|c| {
        let says = match c.reached {
            true => format!("{}, {}", c.party.say(lang), c.means.say(lang)),
            false => desk_open::not_reached(lang, c.means.say(lang), c.party.say(lang)),
        };
        (&c.written, says)
    });
    let notices = seen.state.notifications.iter().map(|n| {
        let system = n.system.map_or(desk_write::all_systems(lang), |system| system.say(lang));
        (&n.written, format!("{}, {}: {system}", n.party.say(lang), n.means.say(lang)))
    });
    let mut all: Vec<_> = calls.chain(notices).collect();
    all.sort_by_key(|(written, _)| (std::cmp::Reverse(written.when.at_ms), written.line));
    html! {
        @if !all.is_empty() {
            h2 { (desk_open::made(lang)) }
            ul.kept {
                @for (written, says) in all.iter().take(SHOWN_MAX) {
                    li {
                        strong { (clock(written.when.at_ms)) }
                        div {
                            (says) ". " (seen.words(written.line)) " "
                            span.soft { (called(book, &written.who, lang)) }
                        }
                    }
                }
            }
        }
    }
}

/// Visits, and reviews with the client's own signature.
pub(super) fn came_by(book: &Book, reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let clock = |at_ms| time::when(at_ms, &seen.tz(), reader.now_ms, lang);
    let state = &seen.state;
    html! {
        @if !state.visits.is_empty() || !state.reviews.is_empty() {
            h2 { (desk_open::came_by(lang)) }
            ul.kept {
                @for visit in &state.visits {
                    li {
                        strong { (clock(visit.written.when.at_ms)) }
                        div {
                            (visit.by.say(lang)) ". "
                            @if visit.guard_found { (desk_open::guard_found(lang)) }
                            @else { strong.over { (desk_open::guard_not_found(lang)) } }
                            " " (seen.words(visit.written.line))
                        }
                    }
                }
                @for review in &state.reviews {
                    li {
                        strong { (clock(review.written.when.at_ms)) }
                        div {
                            @if review.countersigned { (desk_open::countersigned(lang, review.of.say(lang))) }
                            @else { (desk_open::read_by_house(lang, review.of.say(lang))) }
                            " " (seen.words(review.written.line)) " "
                            span.soft { (called(book, &review.written.who, lang)) }
                        }
                    }
                }
            }
        }
    }
}
