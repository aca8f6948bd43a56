//! The fewest guards who keep every stop's longest allowed gap, and why fewer cannot.
//!
//! A gap is the time between the ends of two looks at the same stop, whoever looks.

mod bound;
mod clique;
mod fewest;
mod laps;
mod nested;

use crate::share::round_length;
use crate::walks::Walks;

pub use bound::{GuardBound, Reason, guards_at_least};
pub use fewest::{Ended, Fewest, fewest, with_guards, with_guards_who};

/// The stops, what each demands, and the walks between them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Demands {
    /// Walking times in milliseconds. They must keep the triangle inequality ([`Walks::closed`]).
    pub walks: Walks,
    /// How long the guard stays at each stop, in milliseconds.
    pub stay_ms: Vec<i64>,
    /// The longest time from the end of one look at each stop to the end of the next.
    pub gap_ms: Vec<i64>,
}

/// The kind of plan; a number of guards is the fewest *of its class*, a bound holds for all.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    /// Every guard repeats a closed round of their own.
    OwnRounds,
    /// Every guard repeats a closed round of their own that passes some stops more than once.
    NestedRounds,
    /// All guards walk the same round, evenly spaced.
    OneRoundSpaced,
    /// Teams; the guards of a team walk the team's round evenly spaced.
    Teams,
}

/// A standing watch as a demand: a look that lasts as long as its gap, so that somebody always stands there.
pub const STANDING_MS: i64 = 60_000;

impl Demands {
    /// Whether a guard stands at this stop all the time.
    pub fn standing(&self, stop: usize) -> bool {
        self.stay_ms[stop] == self.gap_ms[stop]
    }
}

impl Class {
    /// The name that the JSON answers carry.
    pub fn code(self) -> &'static str {
        match self {
            Class::OwnRounds => "own-rounds",
            Class::NestedRounds => "nested-rounds",
            Class::OneRoundSpaced => "one-round-spaced",
            Class::Teams => "teams",
        }
    }
}

/// Guards who walk one closed round, each the same time behind the one before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Team {
    /// How many walk it.
    pub guards: usize,
    /// The stops in walking order, those owed more looks named again; the round closes.
    pub round: Vec<usize>,
}

impl Team {
    /// Whether a stop comes more than once in the round.
    pub fn nested(&self) -> bool {
        let mut stops = self.round.clone();
        stops.sort_unstable();
        stops.windows(2).any(|pair| pair[0] == pair[1])
    }
}

/// Teams that together see every stop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// The teams, none of them empty of guards; only a guard asked for by number may have nothing to walk.
    pub teams: Vec<Team>,
}

impl Plan {
    /// Guards of all teams.
    pub fn guards(&self) -> usize {
        self.teams.iter().map(|t| t.guards).sum()
    }

    /// What kind of plan it is.
    pub fn class(&self) -> Class {
        if self.teams.iter().any(Team::nested) {
            Class::NestedRounds
        } else if self.teams.iter().all(|t| t.guards == 1) {
            Class::OwnRounds
        } else if self.teams.len() == 1 {
            Class::OneRoundSpaced
        } else {
            Class::Teams
        }
    }

    /// The time from one guard of a team to the next at the same place of the round, rounded up to a millisecond.
    pub fn spacing_ms(&self, demands: &Demands, team: usize) -> i64 {
        let team = &self.teams[team];
        let n = team.guards as i64;
        (round_length(&demands.walks, &demands.stay_ms, &team.round) + n - 1) / n
    }

    /// The longest time between two looks at each stop of a team's round, by stop; those stood at are left out.
    pub fn gaps_ms(&self, demands: &Demands, team: usize) -> Vec<(usize, i64)> {
        let (round, spacing) = (&self.teams[team].round, self.spacing_ms(demands, team));
        let length = round_length(&demands.walks, &demands.stay_ms, round);
        let mut ends: Vec<(usize, i64)> = Vec::with_capacity(round.len());
        let mut at = 0;
        for (i, &stop) in round.iter().enumerate() {
            at += demands.stay_ms[stop];
            for guard in 0..self.teams[team].guards as i64 {
                ends.push((stop, (at - guard * spacing).rem_euclid(length.max(1))));
            }
            at += demands.walks.ms(stop, round[(i + 1) % round.len()]);
        }
        ends.sort_unstable();
        let mut gaps = Vec::new();
        for looks in ends.chunk_by(|a, b| a.0 == b.0) {
            let over_the_end = looks[0].1 + length - looks[looks.len() - 1].1;
            let between = looks.windows(2).map(|pair| pair[1].1 - pair[0].1);
            let longest = between.fold(over_the_end, i64::max);
            if !demands.standing(looks[0].0) {
                gaps.push((looks[0].0, longest));
            }
        }
        gaps
    }

    /// The longest time that any stop stays unseen.
    pub fn longest_gap_ms(&self, demands: &Demands) -> i64 {
        let gaps = (0..self.teams.len()).flat_map(|t| self.gaps_ms(demands, t));
        gaps.map(|(_, gap)| gap).max().unwrap_or(0)
    }

    /// The least that is left of any gap, in milliseconds; negative when a gap is broken.
    pub fn least_slack_ms(&self, demands: &Demands) -> i64 {
        let gaps = (0..self.teams.len()).flat_map(|t| self.gaps_ms(demands, t));
        gaps.map(|(stop, gap)| demands.gap_ms[stop] - gap).min().unwrap_or(0)
    }
}

#[cfg(test)]
mod tests;
