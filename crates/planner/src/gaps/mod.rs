//! The fewest guards who keep every stop's longest allowed gap, and why fewer cannot.
//!
//! A gap is the time between the ends of two looks at the same stop, whoever looks.

mod bound;
mod clique;
mod fewest;

use crate::share::round_length;
use crate::walks::Walks;

pub use bound::{GuardBound, Reason, guards_at_least};
pub use fewest::{Fewest, fewest, with_guards};

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
    /// All guards walk the same round, evenly spaced.
    OneRoundSpaced,
    /// Teams; the guards of a team walk the team's round evenly spaced.
    Teams,
}

impl Class {
    /// The name that the JSON answers carry.
    pub fn code(self) -> &'static str {
        match self {
            Class::OwnRounds => "own-rounds",
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
    /// The stops in walking order; the round closes.
    pub round: Vec<usize>,
}

/// Teams that together see every stop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// The teams, none of them empty of guards or stops.
    pub teams: Vec<Team>,
}

impl Plan {
    /// Guards of all teams.
    pub fn guards(&self) -> usize {
        self.teams.iter().map(|t| t.guards).sum()
    }

    /// What kind of plan it is.
    pub fn class(&self) -> Class {
        if self.teams.iter().all(|t| t.guards == 1) {
            Class::OwnRounds
        } else if self.teams.len() == 1 {
            Class::OneRoundSpaced
        } else {
            Class::Teams
        }
    }

    /// The time from one guard of a team to the next at the same stop, rounded up to a millisecond.
    pub fn spacing_ms(&self, demands: &Demands, team: usize) -> i64 {
        let team = &self.teams[team];
        let n = team.guards as i64;
        (round_length(&demands.walks, &demands.stay_ms, &team.round) + n - 1) / n
    }

    /// The least that is left of any gap, in milliseconds; negative when a gap is broken.
    pub fn least_slack_ms(&self, demands: &Demands) -> i64 {
        (0..self.teams.len())
            .map(|t| {
                let tightest = self.teams[t]
                    .round
                    .iter()
                    .map(|&s| demands.gap_ms[s])
                    .min()
                    .unwrap_or(i64::MAX);
                tightest - self.spacing_ms(demands, t)
            })
            .min()
            .unwrap_or(0)
    }
}

#[cfg(test)]
mod tests;
