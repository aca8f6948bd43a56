//! Nested rounds: each guard repeats one closed round in which the stops of a short gap come several times and the
//! others once.
//!
//! Ruin and recreate over the looks of the rounds. A round costs its length, and dearly every millisecond by which the
//! time from one look at a stop to the next exceeds the stop's gap. A stop taken out comes back whole: to the guard with
//! whom all its looks together cost least, as many of them as that guard's round then needs.

mod round;

use super::{Demands, Plan, Team};
use crate::effort::Effort;
use crate::random::Random;
use round::Round;

/// Temperatures at the beginning and the end of a cooling, in mean legs.
const HOT: f64 = 2.0;
const COLD: f64 = 0.02;
/// Steps of the first cooling, per stop; each later one is as much longer again, to a limit.
const COOLING: u64 = 300;
const COOLINGS_LONGER: u64 = 10;
/// Most stops taken out in a step.
const TAKEN_OUT: usize = 8;

/// A plan of nested rounds for `guards` guards that keeps all gaps, if the effort finds one.
pub(super) fn search(demands: &Demands, guards: usize, effort: &mut Effort<'_>) -> Option<Plan> {
    let n = demands.walks.len();
    if guards == 0 || n == 0 {
        return None;
    }
    let mut search = Search {
        demands,
        rounds: vec![Round::default(); guards],
        random: Random::new(effort.seed()),
        near: demands.walks.near(30),
        home: vec![NOWHERE; n],
    };
    let mut order: Vec<usize> = (0..n).collect();
    search.random.shuffle(&mut order);
    order.sort_by_key(|&stop| demands.gap_ms[stop]);
    for stop in order {
        search.mend(stop);
    }
    for cooling in 1.. {
        let steps = COOLING * n as u64 * cooling.min(COOLINGS_LONGER);
        match search.cool(steps, effort) {
            Some(plan) => return Some(plan),
            None if effort.left() == 0 => return None,
            None => {}
        }
    }
    None
}

const NOWHERE: usize = usize::MAX;

struct Search<'a> {
    demands: &'a Demands,
    rounds: Vec<Round>,
    random: Random,
    near: Vec<Vec<u32>>,
    /// Which round looks at each stop.
    home: Vec<usize>,
}

impl Search<'_> {
    fn cool(&mut self, steps: u64, effort: &mut Effort<'_>) -> Option<Plan> {
        let looks: usize = self.rounds.iter().map(|r| r.looks.len()).sum();
        let length: i64 = self.rounds.iter().map(|r| r.length).sum();
        let mean = length as f64 / looks.max(1) as f64;
        let factor = libm::pow(COLD / HOT, 1.0 / steps as f64);
        let mut heat = HOT * mean;
        let mut cost = self.cost();
        for _ in 0..steps {
            let over: i64 = self.rounds.iter().map(|r| r.over).sum();
            if over == 0 {
                return Some(self.plan());
            }
            if !effort.step(over) {
                return None;
            }
            let before = (self.rounds.clone(), self.home.clone());
            self.ruin_and_mend();
            let after = self.cost();
            let slack = -libm::log(1.0 - self.random.unit()) * heat;
            heat *= factor;
            if after as f64 > cost as f64 + slack {
                (self.rounds, self.home) = before;
            } else {
                cost = after;
            }
        }
        None
    }

    fn cost(&self) -> i64 {
        self.rounds.iter().map(Round::cost).sum()
    }

    fn plan(&self) -> Plan {
        let walked = self.rounds.iter().filter(|round| !round.looks.is_empty());
        let round = |r: &Round| r.looks.iter().map(|&s| usize::from(s)).collect();
        Plan { teams: walked.map(|r| Team { guards: 1, round: round(r) }).collect() }
    }

    /// Takes out stops near each other, whole or by one look, and puts back what is missing.
    fn ruin_and_mend(&mut self) {
        let seed = self.random.below(self.demands.walks.len());
        let count = 1 + self.random.below(TAKEN_OUT);
        let mut out = vec![seed];
        for i in 0..self.near[seed].len() {
            if out.len() >= count {
                break;
            }
            if self.random.below(4) > 0 {
                out.push(self.near[seed][i] as usize);
            }
        }
        for &stop in &out {
            let home = self.home[stop];
            let whole = self.random.below(3) > 0 || !self.rounds[home].comes_often(stop);
            if whole {
                self.rounds[home].remove_all(stop, self.demands);
                self.home[stop] = NOWHERE;
            } else {
                let which = self.random.below(self.rounds[home].looks.len());
                self.rounds[home].remove_one(stop, which, self.demands);
            }
        }
        self.random.shuffle(&mut out);
        if self.random.below(2) == 0 {
            out.sort_by_key(|&stop| self.demands.gap_ms[stop]);
        }
        for stop in out {
            self.mend(stop);
        }
        let spare = self.random.below(self.rounds.len());
        self.rounds[spare].drop_needless(self.demands);
    }

    /// Gives a stop the looks it lacks: in its round, or in the round where they cost least.
    fn mend(&mut self, stop: usize) {
        if self.home[stop] != NOWHERE {
            let home = self.home[stop];
            self.rounds[home].add_looks(stop, self.demands, &mut self.random);
            return;
        }
        let mut best: Option<(i64, usize, Round)> = None;
        let mut tried_empty = false;
        for (r, round) in self.rounds.iter().enumerate() {
            if round.looks.is_empty() && std::mem::replace(&mut tried_empty, true) {
                continue;
            }
            let mut with = round.clone();
            with.add_looks(stop, self.demands, &mut self.random);
            let added = with.cost() - round.cost();
            if best.as_ref().is_none_or(|(cost, ..)| added < *cost) {
                best = Some((added, r, with));
            }
        }
        let (_, r, round) = best.expect("there is a round");
        self.rounds[r] = round;
        self.home[stop] = r;
    }
}
