//! Nested rounds: each guard repeats one closed round in which the stops of a short gap come several times and the
//! others once.
//!
//! Ruin and recreate over the places in the rounds. A round costs its length, and dearly every millisecond by which the
//! time from one look at a stop to the next in the round exceeds the stop's gap.

use super::{Demands, Plan, Team};
use crate::effort::Effort;
use crate::random::Random;

/// Price of a millisecond over a gap, in milliseconds of walking.
const WEIGHT: i64 = 12;
/// Most looks at one stop in a round.
const LOOKS_MAX: i64 = 12;
/// Temperatures at the beginning and the end of a cooling, in mean legs.
const HOT: f64 = 0.8;
const COLD: f64 = 0.01;
/// Steps of a cooling, per look.
const COOLING: u64 = 400;

/// A plan of nested rounds for `guards` guards that keeps all gaps, if the effort finds one.
pub(super) fn search(demands: &Demands, guards: usize, effort: &mut Effort<'_>) -> Option<Plan> {
    let longest = demands.gap_ms.iter().max().copied()?;
    let looks: Vec<usize> = (0..demands.gap_ms.len())
        .flat_map(|stop| {
            let times = (longest / demands.gap_ms[stop].max(1)).clamp(1, LOOKS_MAX);
            let exact = demands.gap_ms[stop] * times >= longest;
            std::iter::repeat_n(stop, times as usize + usize::from(!exact))
        })
        .collect();
    if guards == 0 || looks.is_empty() {
        return None;
    }
    let mut search = Search {
        demands,
        rounds: vec![Vec::new(); guards],
        random: Random::new(effort.seed()),
        near: demands.walks.near(30),
        scratch: Vec::new(),
    };
    let mut order = looks.clone();
    search.random.shuffle(&mut order);
    order.sort_by_key(|&stop| demands.gap_ms[stop]);
    for stop in order {
        search.insert(stop, WEIGHT);
    }
    let cooling = COOLING * looks.len() as u64;
    while effort.left() > 0 {
        if let Some(plan) = search.cool(cooling, effort) {
            return Some(plan);
        }
    }
    None
}

struct Search<'a> {
    demands: &'a Demands,
    rounds: Vec<Vec<usize>>,
    random: Random,
    near: Vec<Vec<u32>>,
    scratch: Vec<(usize, i64)>,
}

/// How long a round is and by how much its gaps are exceeded.
#[derive(Clone, Copy, Default)]
struct Worth {
    length: i64,
    over: i64,
}

impl Search<'_> {
    fn cool(&mut self, steps: u64, effort: &mut Effort<'_>) -> Option<Plan> {
        let all: Vec<Worth> = (0..self.rounds.len()).map(|r| self.worth(&self.rounds[r])).collect();
        let looks: usize = self.rounds.iter().map(Vec::len).sum();
        let mean = all.iter().map(|w| w.length).sum::<i64>() as f64 / looks.max(1) as f64;
        let factor = libm::pow(COLD / HOT, 1.0 / steps as f64);
        let mut heat = HOT * mean;
        let mut worth = all;
        for _ in 0..steps {
            let over: i64 = worth.iter().map(|w| w.over).sum();
            if over == 0 {
                return Some(self.plan());
            }
            if !effort.step(over) {
                return None;
            }
            let before = self.rounds.clone();
            let known = worth.clone();
            self.ruin_and_mend();
            for (r, round) in self.rounds.iter().enumerate() {
                if *round != before[r] {
                    worth[r] = self.worth(round);
                }
            }
            let cost = |all: &[Worth]| all.iter().map(|w| w.length + WEIGHT * w.over).sum::<i64>();
            let slack = -libm::log(1.0 - self.random.unit()) * heat;
            heat *= factor;
            if cost(&worth) as f64 > cost(&known) as f64 + slack {
                self.rounds = before;
                worth = known;
            }
        }
        None
    }

    fn plan(&self) -> Plan {
        let rounds = self.rounds.iter().filter(|round| !round.is_empty());
        Plan { teams: rounds.map(|round| Team { guards: 1, round: round.clone() }).collect() }
    }

    /// Takes out looks at stops near each other, wherever in the rounds they stand, and puts them back one by one.
    fn ruin_and_mend(&mut self) {
        let seed = self.random.below(self.demands.walks.len());
        let count = 1 + self.random.below(8);
        let mut out = Vec::new();
        let around = std::iter::once(seed).chain(self.near[seed].iter().map(|&s| s as usize));
        let around: Vec<usize> = around.collect();
        for stop in around {
            if out.len() >= count {
                break;
            }
            let all = self.random.below(3) == 0;
            for r in 0..self.rounds.len() {
                let at: Vec<usize> =
                    (0..self.rounds[r].len()).filter(|&i| self.rounds[r][i] == stop).collect();
                for &i in at.iter().rev() {
                    if all || self.random.below(2) == 0 {
                        out.push(self.rounds[r].remove(i));
                    }
                }
            }
        }
        // All looks at a stop belong to one guard: a look left behind elsewhere would be of no use.
        let mut stops = out.clone();
        stops.sort_unstable();
        stops.dedup();
        for &stop in &stops {
            if self.random.below(4) == 0 {
                for round in &mut self.rounds {
                    let before = round.len();
                    round.retain(|&s| s != stop);
                    out.extend(std::iter::repeat_n(stop, before - round.len()));
                }
            }
        }
        self.random.shuffle(&mut out);
        for stop in out {
            self.insert(stop, WEIGHT);
        }
    }

    /// Puts a look where it costs least: in the round that has others of the same stop, or anywhere when none has.
    fn insert(&mut self, stop: usize, weight: i64) {
        let holds: Vec<usize> =
            (0..self.rounds.len()).filter(|&r| self.rounds[r].contains(&stop)).collect();
        let into = if holds.is_empty() { (0..self.rounds.len()).collect() } else { holds };
        let mut best: Option<(i64, usize, usize)> = None;
        for r in into {
            let before = self.worth(&self.rounds[r]);
            let mut round = std::mem::take(&mut self.rounds[r]);
            for at in 0..=round.len() {
                let twin = at > 0 && round[at - 1] == stop
                    || at < round.len() && round[at] == stop
                    || self.random.below(24) == 0;
                if twin && best.is_some() {
                    continue;
                }
                round.insert(at, stop);
                let after = self.worth_with(&round);
                round.remove(at);
                let cost = after.length - before.length + weight * (after.over - before.over);
                if best.is_none_or(|(c, ..)| cost < c) {
                    best = Some((cost, r, at));
                }
            }
            self.rounds[r] = round;
        }
        if let Some((_, r, at)) = best {
            self.rounds[r].insert(at, stop);
        }
    }

    fn worth_with(&mut self, round: &[usize]) -> Worth {
        let mut scratch = std::mem::take(&mut self.scratch);
        let worth = measure(self.demands, round, &mut scratch);
        self.scratch = scratch;
        worth
    }

    fn worth(&self, round: &[usize]) -> Worth {
        measure(self.demands, round, &mut Vec::new())
    }
}

/// One pass over a round: `first` and `last` looks at each stop, and what lies between.
fn measure(demands: &Demands, round: &[usize], ends: &mut Vec<(usize, i64)>) -> Worth {
    ends.clear();
    let mut at = 0;
    for (i, &stop) in round.iter().enumerate() {
        at += demands.stay_ms[stop];
        ends.push((stop, at));
        at += demands.walks.ms(stop, round[(i + 1) % round.len()]);
    }
    ends.sort_unstable();
    let mut over = 0;
    for looks in ends.chunk_by(|a, b| a.0 == b.0) {
        let gap = demands.gap_ms[looks[0].0];
        for pair in looks.windows(2) {
            over += (pair[1].1 - pair[0].1 - gap).max(0);
        }
        over += (looks[0].1 + at - looks[looks.len() - 1].1 - gap).max(0);
    }
    Worth { length: at, over }
}
