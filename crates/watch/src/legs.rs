//! Legs: the stretches from one confirmed stop to the next that a guard simply walked. Two looks with anything else between
//! are left out, since what they took says nothing about the walk.

use crate::looks::{How, Look, Marks};
use crate::state::State;
use crate::{Via, Watch};
use ledger::{Digest, LineId, PersonId};
use record::{DrillStage, Entry, StopId};
use serde::Serialize;
use std::collections::BTreeMap;

/// Wall clock and monotonic clock may disagree by so much over a leg before neither is believed, ms (our own default: an
/// offset measured anew between the two looks moves the one and not the other).
const CLOCKS_APART_MS: i64 = 1_000;

/// One look and one walk: from confirming presence at a stop to confirming it at the next.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Leg {
    /// Who walked.
    pub who: PersonId,
    /// From where.
    pub from: StopId,
    /// To where.
    pub to: StopId,
    /// When presence was confirmed at `from`, ms UTC.
    pub left_ms: i64,
    /// How long until it was confirmed at `to`, by the phone's monotonic clock, ms.
    pub took_ms: i64,
    /// The plan in force.
    pub plan: Option<Digest>,
    /// The lines of both looks.
    pub lines: [LineId; 2],
}

/// Why two looks of a guard, one after the other, are no leg.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoLeg {
    /// One of them was told by telephone, typed from paper, written later or corrected.
    ToldLater,
    /// They were written on two devices.
    TwoDevices,
    /// The clocks do not agree, or the phone was started anew.
    Clock,
    /// Something else was written between, or is stated to have happened between.
    Between,
    /// They belong to two rounds.
    TwoRounds,
    /// A break, another duty or an emergency in earnest lay between, or a drill was on.
    Away,
    /// The same stop twice.
    SameStop,
    /// Another plan came into force between.
    PlanChanged,
}

/// The legs of a watch, and what was left out.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Legs {
    /// In the order in which each guard walked them, guard by guard.
    pub walked: Vec<Leg>,
    /// How many pairs of looks were left out, and why.
    pub left_out: BTreeMap<NoLeg, u64>,
}

impl Watch {
    /// The legs that were walked. `state` is this watch's own, about any instant.
    pub fn legs(&self, state: &State) -> Legs {
        let night = Night {
            watch: self,
            state,
            stated: stated(self),
            drills: drills(self),
            plans: plans(self),
        };
        let mut legs = Legs::default();
        for looks in by_guard(state).values() {
            for pair in looks.windows(2) {
                match night.leg(pair[0], pair[1]) {
                    Ok(leg) => legs.walked.push(leg),
                    Err(why) => *legs.left_out.entry(why).or_default() += 1,
                }
            }
        }
        legs
    }
}

/// The looks by which guards confirmed a stop, each guard's in the order in which they happened.
fn by_guard(state: &State) -> BTreeMap<&PersonId, Vec<&Look>> {
    let mut guards: BTreeMap<&PersonId, Vec<&Look>> = BTreeMap::new();
    let looks = state.zones.iter().flat_map(|zone| &zone.looks);
    for look in looks.filter(|look| look.how != How::Entry && look.stop.is_some()) {
        guards.entry(&look.written.who).or_default().push(look);
    }
    for looks in guards.values_mut() {
        looks.sort_by_key(|look| (look.written.when.at_ms, look.written.dev, look.written.line));
    }
    guards
}

fn stated(watch: &Watch) -> BTreeMap<PersonId, Vec<(i64, LineId)>> {
    let mut stated: BTreeMap<PersonId, Vec<(i64, LineId)>> = BTreeMap::new();
    for (at_ms, .., line) in &watch.order {
        if let Some(kept) = watch.line(*line) {
            stated.entry(kept.who.clone()).or_default().push((*at_ms, *line));
        }
    }
    stated
}

/// From when until when drills were on, ms UTC.
fn drills(watch: &Watch) -> Vec<(i64, i64)> {
    let mut drills: Vec<(i64, i64)> = Vec::new();
    let mut on = false;
    for kept in watch.lines() {
        let Entry::Drill(drill) = &kept.said else { continue };
        let at_ms = watch.effective(kept.id).map_or(kept.clk.recorded_ms(), |e| e.at_ms);
        match (drill.stage == DrillStage::Began, on) {
            (true, false) => drills.push((at_ms, i64::MAX)),
            (false, true) => drills.last_mut().expect("one is on").1 = at_ms,
            (true, true) | (false, false) => {}
        }
        on = drill.stage == DrillStage::Began;
    }
    drills
}

/// The plans and from when each was in force, ms UTC.
fn plans(watch: &Watch) -> Vec<(i64, Digest)> {
    let set = watch.lines().filter_map(|kept| match &kept.said {
        Entry::PlanSet(set) => Some((watch.effective(kept.id)?.at_ms, set.plan)),
        _ => None,
    });
    set.collect()
}

/// What must be known of a night to tell a walk from everything else.
struct Night<'w> {
    watch: &'w Watch,
    state: &'w State,
    /// What each person states, by the time at which it is stated to have happened.
    stated: BTreeMap<PersonId, Vec<(i64, LineId)>>,
    drills: Vec<(i64, i64)>,
    plans: Vec<(i64, Digest)>,
}

impl Night<'_> {
    fn leg(&self, a: &Look, b: &Look) -> Result<Leg, NoLeg> {
        if [a, b]
            .iter()
            .any(|look| look.written.via != Via::Device || look.marks != Marks::default())
        {
            return Err(NoLeg::ToldLater);
        }
        if a.written.dev != b.written.dev {
            return Err(NoLeg::TwoDevices);
        }
        let took_ms = self.took_ms(a, b).ok_or(NoLeg::Clock)?;
        if !self.follow(a, b) {
            return Err(NoLeg::Between);
        }
        if a.round != b.round {
            return Err(NoLeg::TwoRounds);
        }
        let stretch = (a.written.when.at_ms, b.written.when.at_ms);
        if self.away(&a.written.who, stretch) {
            return Err(NoLeg::Away);
        }
        let plan = self.plan(stretch.1);
        if self.plan(stretch.0) != plan {
            return Err(NoLeg::PlanChanged);
        }
        match (&a.stop, &b.stop) {
            (Some(from), Some(to)) if from != to => Ok(Leg {
                who: a.written.who.clone(),
                from: from.clone(),
                to: to.clone(),
                left_ms: stretch.0,
                took_ms,
                plan,
                lines: [a.written.line, b.written.line],
            }),
            _ => Err(NoLeg::SameStop),
        }
    }

    /// Recorded time may be judged by, the phone ran on, and its two clocks tell the same.
    fn took_ms(&self, a: &Look, b: &Look) -> Option<i64> {
        if a.written.when.doubt.is_some() || b.written.when.doubt.is_some() {
            return None;
        }
        let (first, then) = (self.watch.line(a.written.line)?, self.watch.line(b.written.line)?);
        if first.clk.boot != then.clk.boot {
            return None;
        }
        let took_ms = then.clk.mono.checked_sub(first.clk.mono)?;
        let by_wall_ms = b.written.when.at_ms.checked_sub(a.written.when.at_ms)?;
        (took_ms > 0 && took_ms.abs_diff(by_wall_ms) <= CLOCKS_APART_MS as u64).then_some(took_ms)
    }

    /// Nothing of the guard lies between: no line of the chain, and no line written elsewhere or later about then.
    fn follow(&self, a: &Look, b: &Look) -> bool {
        let number = |look: &Look| self.watch.line(look.written.line).map(|kept| kept.seq);
        let next = number(a).zip(number(b)).is_some_and(|(a, b)| b == a + 1);
        let own = self.stated.get(&a.written.who).map(Vec::as_slice).unwrap_or_default();
        let first = own.partition_point(|(at_ms, _)| *at_ms <= a.written.when.at_ms);
        let soon = own.get(first).is_some_and(|(at_ms, _)| *at_ms < b.written.when.at_ms);
        next && !soon
    }

    fn away(&self, who: &PersonId, stretch: (i64, i64)) -> bool {
        let meets = |from_ms: i64, until_ms: Option<i64>| {
            from_ms < stretch.1 && until_ms.unwrap_or(i64::MAX) > stretch.0
        };
        let shifts = || self.state.shifts.iter().filter(|shift| shift.who == *who);
        let mut stopped = self.state.emergencies.iter().filter_map(|e| e.rounds_stopped);
        shifts().flat_map(|shift| &shift.breaks).any(|rest| meets(rest.from_ms, rest.until_ms))
            || shifts()
                .flat_map(|shift| &shift.other_duties)
                .any(|(from, until)| meets(*from, *until))
            || stopped.any(|(from_ms, until_ms)| meets(from_ms, until_ms))
            || self.drills.iter().any(|(from_ms, until_ms)| meets(*from_ms, Some(*until_ms)))
    }

    fn plan(&self, at_ms: i64) -> Option<Digest> {
        self.plans.iter().rev().find(|(from_ms, _)| *from_ms <= at_ms).map(|(_, plan)| *plan)
    }
}
