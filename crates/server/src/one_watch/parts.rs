//! The living parts above the record: how it stands, who is there, what is open.

use super::{Seen, calls, systems, write};
use crate::book::Book;
use crate::page::{Reader, time};
use crate::tonight::row::{Action, joint, row};
use ledger::PersonId;
use maud::{Markup, html};
use record::Severity;
use rules::findings::Finding;
use rules::say::Say;
use watch::{HoleWhy, Observation};
use words::{Lang, desk, desk_write, lasting, terms_of_trade};

/// What is wrong and what happens next, in the words of the page *Tonight*.
pub(super) fn head(book: &Book, reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let row = row(&seen.id, &seen.live, book, reader);
    let over = seen.live.standing.released_ms;
    html! {
        section #head .said data-alarm=[row.alarm.then_some("on")] {
            @if row.drill {
                p.drillband { span { (terms_of_trade::drill_do_not_call(lang)) } }
            }
            @if let Some(at_ms) = over {
                p.lead { (desk::released_at(lang, time::when(at_ms, &seen.tz(), reader.now_ms, lang))) }
            } @else {
                p.lead {
                    @if !row.wrong.is_empty() { strong.ember { (row.wrong) } }
                    @if !row.wrong.is_empty() && !row.rest.is_empty() { (joint(&row.wrong)) }
                    (row.rest)
                }
                @if !row.then.is_empty() { p { (row.then) } }
                @if let Some(taken) = &row.taken { p { (taken) } }
                @match &row.action {
                    Action::Take if reader.may("/watch/{watch}/taken") => {
                        form method="post" action={ "/watch/" (seen.id) "/taken" } {
                            button.alarm #take { (desk::i_have_this(lang)) }
                        }
                    }
                    Action::Ring { words, number } => a.button href={ "tel:" (number) } { (words) },
                    _ => {}
                }
            }
            p #sound hidden {
                strong.ember { (desk::sound_off(lang)) } " "
                button type="button" { (desk::sound_on(lang)) }
            }
        }
    }
}

/// What is open and who is there.
pub(super) fn open(book: &Book, reader: &Reader, seen: &Seen, findings: &[Finding]) -> Markup {
    html! {
        section #open {
            (facts(book, reader, seen))
            (questions(book, reader, seen))
            (observations(reader, seen))
            (standing(book, reader, seen, findings))
        }
    }
}

/// The same for guests, whose page begins with what is open.
pub(super) fn for_guests(book: &Book, reader: &Reader, seen: &Seen) -> Markup {
    html! {
        section #open {
            (facts(book, reader, seen))
            (questions(book, reader, seen))
            (standing(book, reader, seen, &[]))
        }
    }
}

/// What is out, hot, owed and told, and who was there.
fn standing(book: &Book, reader: &Reader, seen: &Seen, findings: &[Finding]) -> Markup {
    html! {
        (systems::out(reader, seen))
        (systems::hot_work(reader, seen))
        (calls::owed(reader, seen, findings))
        (calls::made(book, reader, seen))
        (write::orders(reader, seen))
        (calls::came_by(book, reader, seen))
        (cover(book, reader, seen))
    }
}

fn observations(reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let open: Vec<_> = seen.state.open_observations().collect();
    html! {
        @if !open.is_empty() {
            h2 { (desk::open_observations(lang)) }
            ul.kept {
                @for observation in open {
                    li {
                        strong { (observation.class.say(lang)) }
                        div {
                            (seen.said_of(observation)) " "
                            (how_bad(lang, observation.severity)) " "
                            span.soft { (desk::open_for(lang, lasting(observation.open_ms / 1000))) }
                            @if let Some(fixed) = &observation.marked_fixed {
                                @let at = time::when(fixed.when.at_ms, &seen.tz(), reader.now_ms, lang);
                                " " strong { (words::links::said_fixed(lang, at)) }
                            }
                            @if reader.may("/watch/{watch}/done") {
                                br; a href={ "/watch/" (seen.id) "/done?of=" (observation.written.line) } {
                                    (desk_write::done(lang))
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// By when it must be put right, as a sentence.
fn how_bad(lang: Lang, severity: Severity) -> &'static str {
    match severity {
        Severity::LifeNow => desk::bad_life_now(lang),
        Severity::ThisRound => desk::bad_this_round(lang),
        Severity::ThisShift => desk::bad_this_shift(lang),
        Severity::Note => desk::bad_note(lang),
    }
}

fn facts(book: &Book, reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let clock = |at_ms| time::when(at_ms, &seen.tz(), reader.now_ms, lang);
    let card = seen.live.documents.card.as_ref();
    let standing = &seen.live.standing;
    html! {
        h2 { (desk::facts(lang)) }
        dl.facts {
            @if let Some(card) = card {
                dt { (desk::site_address(lang)) }
                dd { (card.town) ", " (card.address) }
                dt { (desk::emergency(lang)) }
                dd {
                    @match &card.emergency_number {
                        Some(number) => (number),
                        None => (desk::emergency_none(lang)),
                    }
                }
            }
            dt { (desk::owed(lang)) }
            dd {
                @match standing.until_ms {
                    Some(until_ms) => (reader.stretch(standing.from_ms, until_ms, &seen.tz())),
                    None => (desk::since(lang, clock(standing.from_ms))),
                }
                ", " (words::zone_place(&standing.tz))
            }
            dt { (desk::on_duty(lang)) }
            dd {
                @if standing.on_duty.is_empty() { (desk::nobody(lang)) }
                @for duty in &standing.on_duty {
                    (called(book, &duty.who, lang)) ". "
                    @if let Some(known) = book.any_device(duty.dev) {
                        @if let Some(heard_ms) = known.heard_ms { (desk::phone_heard(lang, clock(heard_ms))) " " }
                        @if let Some(percent) = known.battery { (desk::battery_low(lang, percent)) }
                    }
                    @if standing.released_ms.is_none() && reader.may("/watch/{watch}/phone") {
                        form method="post" action={ "/watch/" (seen.id) "/phone" } {
                            input type="hidden" name="person" value=(duty.who);
                            button { (desk::replace_phone(lang)) }
                        }
                    }
                }
            }
            @for (who, from_ms, until_ms) in &standing.planned {
                dt { (desk::planned(lang)) }
                dd { (called(book, who, lang)) ", " (reader.stretch(*from_ms, *until_ms, &seen.tz())) }
            }
            @if let Some(allowed) = seen.state.paper.to_collect() {
                dt { (desk_write::paper_to_collect(lang)) }
                dd { (allowed.why.say(lang)) ", " (clock(allowed.written.when.at_ms)) }
            }
            @if let pages @ 1.. = crate::paper::to_type(seen) {
                dt { (words::paper_in::link(lang)) }
                dd {
                    a href={ "/watch/" (seen.id) "/pages" } { (words::paper_in::to_type(lang, pages as i64)) }
                }
            }
            @for hold in seen.state.holds.iter().filter(|hold| hold.lifted.is_none()) {
                dt { (desk_write::hold(lang)) }
                dd { (desk::since(lang, clock(hold.set.when.at_ms))) }
            }
            @if let Some(set) = &seen.state.instructions {
                dt { (desk::instructions_version(lang, set.set.version)) }
                dd { (read_by(book, seen, set.set.version, lang)) }
            }
        }
        @if let Some(terms) = seen.live.documents.terms.as_ref().filter(|terms| !terms.demands.is_empty()) {
            h3 { (words::desk_opening::terms(lang)) }
            dl.facts {
                @for demand in &terms.demands {
                    dt { (demand.from.say(lang)) }
                    dd { (demand.text) " " span.soft { (demand.source) } }
                }
            }
        }
    }
}

/// Who has read the instructions in force, and who on duty has not.
fn read_by(book: &Book, seen: &Seen, version: u32, lang: Lang) -> String {
    let has_read = |who: &PersonId| {
        let own = seen.state.shifts.iter().filter(|shift| shift.who == *who);
        own.flat_map(|shift| &shift.instructions_read).any(|read| read.version == version)
    };
    let mut people: Vec<&PersonId> = seen.state.shifts.iter().map(|shift| &shift.who).collect();
    people.sort();
    people.dedup();
    let (read, not): (Vec<_>, Vec<_>) = people.into_iter().partition(|who| has_read(who));
    let list = |all: Vec<&PersonId>| {
        all.into_iter().map(|who| called(book, who, lang)).collect::<Vec<_>>().join(", ")
    };
    match (read.is_empty(), not.is_empty()) {
        (true, true) => desk::read_by_nobody(lang).to_owned(),
        (false, true) => desk::read_by(lang, list(read)),
        (true, false) => desk::not_read_by(lang, list(not)),
        (false, false) => {
            format!("{} {}", desk::read_by(lang, list(read)), desk::not_read_by(lang, list(not)))
        }
    }
}

fn questions(book: &Book, reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let questions = &seen.state.questions;
    html! {
        @if !questions.is_empty() {
            h2 { (desk::questions(lang)) }
            ul.kept {
                @for question in questions {
                    li {
                        strong {
                            (called(book, &question.written.who, lang)) ", "
                            (time::clock(question.written.when.at_ms, &seen.tz()))
                        }
                        div {
                            p { (seen.words(question.written.line)) }
                            @for answer in &question.answers {
                                p.soft { (called(book, &answer.who, lang)) ": " (seen.words(answer.line)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// When somebody was there, and the holes between.
fn cover(book: &Book, reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let cover = &seen.state.cover;
    html! {
        @if !cover.stretches.is_empty() || !cover.holes.is_empty() {
            h2 { (desk::cover(lang)) }
            ul.kept {
                @for stretch in &cover.stretches {
                    li {
                        strong { (reader.stretch(stretch.from_ms, stretch.until_ms, &seen.tz())) }
                        p {
                            (stretch.guards.iter().map(|who| called(book, who, lang))
                                .collect::<Vec<_>>().join(", "))
                        }
                    }
                }
                @for hole in &cover.holes {
                    li {
                        strong.over { (reader.stretch(hole.from_ms, hole.until_ms, &seen.tz())) }
                        p {
                            (hole_why(lang, hole.why)) " "
                            (lasting((hole.until_ms - hole.from_ms) / 1000))
                        }
                    }
                }
            }
        }
    }
}

fn hole_why(lang: Lang, why: HoleWhy) -> &'static str {
    match why {
        HoleWhy::NotBegun => desk::hole_not_begun(lang),
        HoleWhy::NoRelief => desk::hole_no_relief(lang),
        HoleWhy::Break => desk::hole_break(lang),
        HoleWhy::TooFew => desk::hole_too_few(lang),
    }
}

/// What to call a person; somebody whose name was erased is only a somebody.
pub(crate) fn called(book: &Book, who: &PersonId, lang: Lang) -> String {
    if *who == crate::scribe::nobody() {
        return desk::the_server(lang).to_owned();
    }
    book.name(who).unwrap_or(desk::somebody(lang)).to_owned()
}

impl Seen {
    /// Where something was seen, and the words about it: a phone writes them after it, as notes.
    pub(crate) fn said_of(&self, observation: &Observation) -> String {
        let line = observation.written.line;
        let place = observation.zone.as_ref().map(|zone| self.live.documents.zone(zone).to_owned());
        let notes = self.state.notes_of(line).map(|note| self.words(note.written.line));
        let said = place.into_iter().chain([self.words(line)]).chain(notes);
        let said = said.filter(|text| !text.trim().is_empty());
        said.map(|text| sentence(text.trim())).collect::<Vec<_>>().join(" ")
    }

    /// The words of a line.
    pub(super) fn words(&self, line: ledger::LineId) -> String {
        self.fold.words(line).map(|words| words.text()).unwrap_or_default()
    }
}

/// Ends like a sentence.
fn sentence(text: &str) -> String {
    if text.ends_with(['.', '!', '?']) { text.to_owned() } else { format!("{text}.") }
}
