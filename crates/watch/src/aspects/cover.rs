//! The cover line: the stretches of the watch with a named guard, and the holes between them.

use super::opening::Opened;
use super::shifts::{Break, Shift, Shifts};
use ledger::order::{self, Set};
use ledger::{LineId, PersonId};
use serde::Serialize;

/// Who stood for the watch, minute by minute.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Cover {
    /// From when it is owed, ms UTC.
    pub from_ms: Option<i64>,
    /// Up to when this is told, ms UTC.
    pub until_ms: i64,
    /// Stretches with at least one guard.
    pub stretches: Vec<Stretch>,
    /// Stretches with fewer than the terms ask for, or nobody.
    pub holes: Vec<Hole>,
}

/// A stretch with the same guards throughout.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Stretch {
    /// From, ms UTC.
    pub from_ms: i64,
    /// Until, ms UTC.
    pub until_ms: i64,
    /// Who, by id.
    pub guards: Vec<PersonId>,
}

/// A stretch with too few.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Hole {
    /// From, ms UTC.
    pub from_ms: i64,
    /// Until, ms UTC.
    pub until_ms: i64,
    /// How many were there.
    pub people: u16,
    /// How many the terms ask for.
    pub owed: u16,
    /// What left it open.
    pub why: HoleWhy,
    /// The lines that bound it, if any.
    pub lines: Vec<LineId>,
}

/// What left a hole open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum HoleWhy {
    /// Nobody had begun yet.
    NotBegun,
    /// Nobody had taken over.
    NoRelief,
    /// A break without cover.
    Break,
    /// Fewer than the terms ask for.
    TooFew,
}

impl Cover {
    pub(crate) fn of(opened: &Opened, shifts: &Shifts, until_ms: i64) -> Cover {
        let from_ms = opened.opening.as_ref().map(|opening| opening.from_ms);
        let mut cover = Cover { from_ms, until_ms, ..Cover::default() };
        let Some(from_ms) = from_ms else { return cover };
        let owed = Owed::of(opened);
        let mut instants = owed.instants();
        instants.extend([from_ms, until_ms]);
        for shift in &shifts.shifts {
            instants.extend([shift.from_ms, shift.until_ms.unwrap_or(until_ms)]);
            for pause in &shift.breaks {
                instants.extend([pause.from_ms, pause.until_ms.unwrap_or(until_ms)]);
            }
        }
        let inside: Vec<i64> =
            instants.into_iter().filter(|at| (from_ms..=until_ms).contains(at)).collect();
        for piece in inside.windows(2) {
            cover.piece(piece[0], piece[1], &shifts.shifts, owed.at(piece[0]));
        }
        cover
    }

    fn piece(&mut self, from_ms: i64, until_ms: i64, shifts: &[Shift], owed: u16) {
        let mut guards: Vec<PersonId> = shifts
            .iter()
            .filter(|shift| shift.is_on_duty(from_ms, until_ms))
            .filter_map(|shift| stands(shift, from_ms, until_ms, shifts))
            .cloned()
            .collect();
        order::sort_by(&mut guards, Ord::cmp);
        guards.dedup();
        let people = guards.len() as u16;
        if people < owed {
            self.hole(Hole {
                from_ms,
                until_ms,
                people,
                owed,
                why: why(from_ms, until_ms, people, shifts),
                lines: bounds(from_ms, until_ms, shifts),
            });
        }
        match self.stretches.last_mut() {
            _ if guards.is_empty() => {}
            Some(last) if last.until_ms == from_ms && last.guards == guards => {
                last.until_ms = until_ms
            }
            _ => self.stretches.push(Stretch { from_ms, until_ms, guards }),
        }
    }

    fn hole(&mut self, hole: Hole) {
        match self.holes.last_mut() {
            Some(last)
                if last.until_ms == hole.from_ms
                    && (last.people, last.owed, last.why) == (hole.people, hole.owed, hole.why) =>
            {
                last.until_ms = hole.until_ms;
                last.lines.extend(hole.lines);
                last.lines.dedup();
            }
            _ => self.holes.push(hole),
        }
    }
}

impl Shift {
    /// Whether this shift lasts all through a piece in which nothing changes.
    fn is_on_duty(&self, from_ms: i64, until_ms: i64) -> bool {
        self.from_ms <= from_ms && self.until_ms.is_none_or(|end_ms| end_ms >= until_ms)
    }

    /// The break that lasts all through such a piece.
    fn pause(&self, from_ms: i64, until_ms: i64) -> Option<&Break> {
        self.breaks.iter().find(|pause| {
            pause.from_ms <= from_ms && pause.until_ms.is_none_or(|end_ms| end_ms >= until_ms)
        })
    }
}

/// Who stands for a shift: its guard, or on a break whoever covers it, unless that one is on a break too. Who covers and is
/// on duty anyway is still one person.
fn stands<'s>(
    shift: &'s Shift,
    from_ms: i64,
    until_ms: i64,
    shifts: &[Shift],
) -> Option<&'s PersonId> {
    let Some(pause) = shift.pause(from_ms, until_ms) else { return Some(&shift.who) };
    let is_away = |who: &PersonId| {
        let mut own = shifts.iter().filter(|other| other.who == *who);
        own.any(|own| own.is_on_duty(from_ms, until_ms) && own.pause(from_ms, until_ms).is_some())
    };
    pause.covered_by.as_ref().filter(|who| !is_away(who))
}

fn why(from_ms: i64, until_ms: i64, people: u16, shifts: &[Shift]) -> HoleWhy {
    let on_duty = || shifts.iter().filter(|shift| shift.is_on_duty(from_ms, until_ms));
    // Nobody, or somebody who stands there anyway.
    let adds_nobody =
        |cover: Option<&PersonId>| cover.is_none_or(|who| on_duty().any(|shift| shift.who == *who));
    let mut pauses = on_duty().filter_map(|shift| shift.pause(from_ms, until_ms));
    let on_break = pauses.any(|pause| adds_nobody(pause.covered_by.as_ref()));
    match people {
        _ if on_break => HoleWhy::Break,
        0 if shifts.iter().all(|shift| shift.from_ms > from_ms) => HoleWhy::NotBegun,
        0 => HoleWhy::NoRelief,
        _ => HoleWhy::TooFew,
    }
}

/// The lines that end before and begin after the hole.
fn bounds(from_ms: i64, until_ms: i64, shifts: &[Shift]) -> Vec<LineId> {
    let mut lines = Set::new();
    for shift in shifts {
        if shift.until_ms == Some(from_ms) {
            lines.extend(shift.ended.as_ref().map(|ended| ended.line));
        }
        if shift.from_ms == until_ms {
            lines.insert(shift.began.line);
        }
        lines.extend(
            shift.breaks.iter().filter(|pause| pause.from_ms == from_ms).map(|pause| pause.line),
        );
    }
    lines.into_iter().collect()
}

/// How many people are owed from each instant on; at least one while the watch lasts.
struct Owed(Vec<(i64, u16)>);

impl Owed {
    fn of(opened: &Opened) -> Owed {
        Owed(
            opened
                .terms_history
                .iter()
                .map(|terms| (terms.written.when.at_ms, terms.set.people_at_least.max(1)))
                .collect(),
        )
    }

    fn instants(&self) -> Set<i64> {
        self.0.iter().map(|(at_ms, _)| *at_ms).collect()
    }

    fn at(&self, at_ms: i64) -> u16 {
        self.0.iter().rfind(|(from_ms, _)| *from_ms <= at_ms).map_or(1, |(_, owed)| *owed)
    }
}
