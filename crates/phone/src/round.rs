//! The round: what is next, what was said, and how long is left.

use crate::model::{Model, Notice};
use crate::moment::Moment;
use crate::shift;
use crate::site::Site;
use crate::tap::Field;
use crate::writing::{Then, say, say_with};
use ledger::{Digest, LineId, PersonId};
use record::{
    AccessRefused, Corrected, Entry, HowSeen, RoundBegan, RoundEnded, Seen, StopId, WhyCorrected,
    WhyNot, Words, ZoneId,
};
use watch::{Due, State};

/// A position older than this is not added to a stop, ms.
const FIX_MS: i64 = 120_000;

/// One stop of the round under way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct RoundStop {
    pub(crate) stop: StopId,
    pub(crate) zone: ZoneId,
    pub(crate) stroke: Stroke,
}

/// How far a stop is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stroke {
    /// Recorded as seen in this round.
    Seen,
    /// Could not be entered: counts as not seen.
    Refused,
    /// The one that is next.
    Here,
    /// To come.
    ToCome,
}

/// The round of one guard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Progress {
    /// Its number.
    pub(crate) number: u32,
    /// Whether it has begun.
    pub(crate) going: bool,
    /// Its stops in order.
    pub(crate) stops: Vec<RoundStop>,
}

impl Progress {
    /// The stop that is next.
    pub(crate) fn next(&self) -> Option<&RoundStop> {
        self.stops.iter().find(|stop| stop.stroke == Stroke::Here)
    }

    /// How many stops were recorded as seen.
    pub(crate) fn seen(&self) -> usize {
        self.stops.iter().filter(|stop| stop.stroke == Stroke::Seen).count()
    }

    /// Whether every stop was seen or refused.
    pub(crate) fn is_done(&self) -> bool {
        self.going && self.next().is_none() && !self.stops.is_empty()
    }
}

/// The round under way, or the one to come.
pub(crate) fn progress(model: &Model, state: &State, guard: &PersonId) -> Option<Progress> {
    let site = Site::of(model, state)?;
    let shift_from_ms = shift::own(state, guard).map_or(0, |shift| shift.from_ms);
    let last = state.rounds.iter().rfind(|r| r.who == *guard && r.from_ms >= shift_from_ms);
    let (number, round) = match last {
        Some(round) if round.ended.is_none() => (round.number, Some(round)),
        Some(round) => (round.number + 1, None),
        None => (1, None),
    };
    let mut stops: Vec<RoundStop> = Vec::new();
    for (stop, zone) in site.stops(Some(guard)) {
        // A stop that comes more than once in the round is seen as often as somebody stood there.
        let before = stops.iter().filter(|earlier| earlier.stop == stop).count();
        let looks = round.map_or(0, |round| round.seen.iter().filter(|s| s.stop == stop).count());
        let seen = looks > before;
        let refused = round.is_some_and(|round| {
            let zone = state.zone(&zone);
            zone.is_some_and(|zone| {
                zone.refused.iter().any(|refused| {
                    let within = refused.written.when.at_ms >= round.from_ms;
                    refused.stop == stop && refused.written.who == *guard && within
                })
            })
        });
        let stroke = match (seen, refused) {
            (true, _) => Stroke::Seen,
            (false, true) => Stroke::Refused,
            (false, false) => Stroke::ToCome,
        };
        stops.push(RoundStop { stop, zone, stroke });
    }
    if let Some(next) = stops.iter_mut().find(|stop| stop.stroke == Stroke::ToCome) {
        next.stroke = Stroke::Here;
    }
    Some(Progress { number, going: round.is_some(), stops })
}

/// What is due for a zone.
pub(crate) fn due<'a>(state: &'a State, zone: &ZoneId) -> Option<&'a Due> {
    state.due.iter().find(|due| due.zone == *zone)
}

/// "I am here" at the stop that is next.
pub(crate) fn here_next(model: &mut Model, at: &Moment) {
    let Some(next) = progress_now(model).and_then(|progress| {
        let first = progress.stops.first().cloned();
        // A round that is done and not yet spoken for ends by walking on.
        progress.next().cloned().or(first)
    }) else {
        return;
    };
    here(model, at, &next.stop, HowSeen::Hand, None);
}

/// "I am here" at a stop, by hand or by its tag.
pub(crate) fn here(
    model: &mut Model,
    at: &Moment,
    stop: &StopId,
    how: HowSeen,
    tag: Option<Digest>,
) {
    let Some(progress) = progress_now(model) else { return };
    let Some(found) = progress.stops.iter().find(|s| s.stop == *stop).cloned() else { return };
    if being_said(model, stop) {
        return;
    }
    let number = begin(model, at, &progress);
    let fix = fresh_fix(model, at);
    let words = Words { fix, ..Words::default() };
    let what = name_of(model, stop);
    let round = number;
    let entry =
        Seen { stop: found.stop, zone: found.zone, how, tag, round, fix: words.fix.is_some() };
    say_with(model, at, entry, words, Then::TakeBack { what });
    model.page = None;
}

/// A code was read: the stop whose tag it is, else a sentence.
pub(crate) fn scanned(model: &mut Model, at: &Moment, text: &str) {
    let wanted =
        text.trim().rsplit(['/', '#', '=', ':']).next().unwrap_or_default().to_ascii_lowercase();
    let known = progress_now(model)
        .and_then(|progress| progress.stops.into_iter().find(|stop| stop.stop.as_str() == wanted));
    match known {
        Some(found) => {
            let tag = Digest::of(text.as_bytes());
            here(model, at, &found.stop, HowSeen::Tag, Some(tag));
        }
        None => model.notice = Some(Notice::ForeignTag),
    }
}

/// The stop that is next cannot be entered: counts as not seen.
pub(crate) fn refused(model: &mut Model, at: &Moment, why: WhyNot) {
    let Some(progress) = progress_now(model) else { return };
    let Some(next) = progress.next().cloned() else { return };
    let round = begin(model, at, &progress);
    let words = model.draft.typed(Field::Reason).map(Words::from_text).unwrap_or_default();
    model.draft.text.remove(&Field::Reason);
    let entry = AccessRefused { stop: next.stop.clone(), zone: next.zone, why, round };
    let what = name_of(model, &next.stop);
    say_with(model, at, entry, words, Then::TakeBack { what });
    model.page = None;
}

/// Begins the round if none is going on; ends the one that is done.
fn begin(model: &mut Model, at: &Moment, progress: &Progress) -> u32 {
    let mut number = progress.number;
    let said = |model: &Model, number: u32| {
        let Some(watch) = &model.choices.watch else { return false };
        model.writing.entries().any(|(of, entry)| {
            of == watch && *entry == Entry::RoundBegan(RoundBegan { round: number })
        })
    };
    if progress.is_done() {
        over(model, at, progress, false);
        number += 1;
    } else if progress.going {
        return number;
    }
    if !said(model, number) {
        say(model, at, RoundBegan { round: number }, Then::Nothing);
    }
    number
}

/// The round is over.
pub(crate) fn round_over(model: &mut Model, at: &Moment, all_clear: bool) {
    if let Some(progress) = progress_now(model).filter(|progress| progress.going) {
        over(model, at, &progress, all_clear);
    }
}

fn over(model: &mut Model, at: &Moment, progress: &Progress, all_clear: bool) {
    let seen = u32::try_from(progress.seen()).unwrap_or(u32::MAX);
    say(model, at, RoundEnded { round: progress.number, all_clear, seen }, Then::Nothing);
}

/// Takes back what was just said: a line more, none less.
pub(crate) fn take_back(model: &mut Model, at: &Moment) {
    let Some(said) = model.said.take() else { return };
    let entry = withdrawal(said.line, WhyCorrected::TakenBack);
    say(model, at, entry, Then::Nothing);
}

fn withdrawal(of: LineId, why: WhyCorrected) -> Corrected {
    Corrected { of, why, at_ms: None, zone: None, stop: None, severity: None, withdrawn: true }
}

fn progress_now(model: &Model) -> Option<Progress> {
    progress(model, model.state.as_ref()?, model.person()?)
}

/// Whether "I am here" at this stop is on its way to the disk: a second touch says nothing new.
fn being_said(model: &Model, stop: &StopId) -> bool {
    model
        .writing
        .entries()
        .any(|(_, entry)| matches!(entry, Entry::Seen(seen) if seen.stop == *stop))
}

fn name_of(model: &Model, stop: &StopId) -> String {
    let site = model.state.as_ref().and_then(|state| Site::of(model, state));
    site.map_or_else(|| stop.to_string(), |site| site.stop(stop))
}

pub(crate) fn fresh_fix(model: &Model, at: &Moment) -> Option<record::Fix> {
    let (fix, mono_ms) = model.fix.filter(|_| model.choices.position)?;
    let age_ms = at.mono_ms - mono_ms;
    let total_ms = fix.age_ms.saturating_add(u64::try_from(age_ms).ok()?);
    (age_ms <= FIX_MS).then_some(record::Fix { age_ms: total_ms, ..fix })
}
