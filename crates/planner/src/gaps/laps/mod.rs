//! Laps: a nested round whose short gaps are kept by passing all its often stops in the same order, lap after lap, while
//! each seldom stop is looked at in one of the laps only.
//!
//! With `p` often stops and `m` laps the round has `m p` stretches from one often look to the next, and every gap of an
//! often stop is a window of `p` stretches that follow each other. So a round keeps its gaps exactly when no such window
//! is longer than the short gap and the whole is no longer than the long one. Ruin and recreate over that: a seldom stop
//! comes back where it lengthens the fewest windows that are full already, an often stop at one place of every lap.

mod round;

use super::bound::windows;
use super::{Demands, Plan, Team};
use crate::effort::Effort;
use crate::random::Random;
use round::Round;

/// Which stops come in every lap, how many laps a round has, and what it must keep.
pub(super) struct Case<'a> {
    demands: &'a Demands,
    /// By stop.
    often: Vec<bool>,
    laps: usize,
    /// Longest time between looks at the often stops, in milliseconds.
    short_ms: i64,
    /// The same for the others.
    long_ms: i64,
}

/// Temperatures at the beginning and the end of a cooling, in mean legs.
const HOT: [f64; 3] = [3.0, 1.0, 0.3];
const COLD: f64 = 0.01;
/// Prices of a millisecond above a gap, in milliseconds of walking, one after the other as the coolings go on.
const WEIGHTS: [i64; 5] = [12, 3, 6, 40, 2];
/// Coolings from one beginning.
const COOLINGS_EACH: u64 = 2;
/// Steps of the first cooling, per stop; each later one is as much longer again, to a limit.
const COOLING: u64 = 60;
const COOLINGS_LONGER: u64 = 60;
/// Most stops taken out in a step.
const TAKEN_OUT: usize = 10;

/// A plan of rounds in laps for `guards` guards that keeps all gaps, if the effort finds one.
pub(super) fn search(demands: &Demands, guards: usize, effort: &mut Effort<'_>) -> Option<Plan> {
    if guards == 0 || demands.walks.is_empty() {
        return None;
    }
    let cases = cases(demands);
    let each = effort.left() / cases.len().max(1) as u64;
    cases.iter().find_map(|case| {
        let plan =
            effort.part(each, |effort| Search::new(case, guards, effort.seed()).run(effort))?;
        (plan.least_slack_ms(demands) >= 0).then_some(plan)
    })
}

/// Where the gaps can be cut into short and long ones, with the numbers of laps that may do.
fn cases(demands: &Demands) -> Vec<Case<'_>> {
    let windows = windows(demands);
    let mut cases = Vec::new();
    for cut in windows.windows(2) {
        let (short_ms, long_ms) = (windows[0], cut[1]);
        let down = (long_ms / short_ms.max(1)) as usize;
        let up = down + usize::from(long_ms % short_ms.max(1) > 0);
        for laps in [down, up].into_iter().skip(usize::from(down == up)) {
            if (2..=LAPS_MAX).contains(&laps) {
                let often = demands.gap_ms.iter().map(|&gap| gap <= cut[0]).collect();
                cases.push(Case { demands, often, laps, short_ms, long_ms });
            }
        }
    }
    cases
}

/// More laps than this are never walked by heart.
const LAPS_MAX: usize = 8;

struct Search<'a> {
    case: &'a Case<'a>,
    rounds: Vec<Round>,
    /// Which round looks at each stop.
    home: Vec<usize>,
    near: Vec<Vec<u32>>,
    random: Random,
    weight: i64,
    /// Rounds as they were before the step, by number.
    saved: Vec<(usize, Round)>,
}

impl<'a> Search<'a> {
    fn new(case: &'a Case<'a>, guards: usize, seed: u64) -> Search<'a> {
        let n = case.demands.walks.len();
        Search {
            case,
            rounds: vec![Round::default(); guards],
            home: vec![0; n],
            near: case.demands.walks.near(40),
            random: Random::new(seed),
            weight: WEIGHTS[0],
            saved: Vec::new(),
        }
    }

    fn run(mut self, effort: &mut Effort<'_>) -> Option<Plan> {
        for cooling in 0.. {
            // A guard without often stops hardly ever gets one: begin anew rather than wait for it.
            if cooling % COOLINGS_EACH == 0 {
                self.begin(WEIGHTS[(cooling / COOLINGS_EACH) as usize % WEIGHTS.len()]);
            }
            if self.cool(cooling, effort) {
                return Some(self.plan());
            }
            if effort.left() == 0 {
                return None;
            }
        }
        None
    }

    /// Everything out, and back in random order, the often stops first.
    fn begin(&mut self, weight: i64) {
        self.weight = weight;
        self.rounds.fill(Round::default());
        let mut order: Vec<usize> = (0..self.home.len()).collect();
        self.random.shuffle(&mut order);
        order.sort_by_key(|&stop| !self.case.often[stop]);
        order.into_iter().for_each(|stop| self.put_back(stop));
        self.saved.clear();
    }

    /// Whether a state without any excess was met.
    fn cool(&mut self, cooling: u64, effort: &mut Effort<'_>) -> bool {
        let n = self.case.demands.walks.len();
        let steps = COOLING * n as u64 * (1 + cooling / COOLINGS_EACH).min(COOLINGS_LONGER);
        self.weight = WEIGHTS[cooling as usize % WEIGHTS.len()];
        let looks: usize = self.rounds.iter().map(|r| r.looks.len()).sum();
        let length: i64 = self.rounds.iter().map(|r| r.length).sum();
        let mean = length as f64 / looks.max(1) as f64;
        let (hot, cold) = (HOT[cooling as usize % HOT.len()] * mean, COLD * mean);
        let factor = libm::pow(cold / hot, 1.0 / steps as f64);
        let (mut heat, mut cost) = (hot, self.cost());
        for _ in 0..steps {
            let over: i64 = self.rounds.iter().map(|r| r.over).sum();
            if over == 0 {
                return true;
            }
            if !effort.step(over) {
                return false;
            }
            self.ruin_and_mend();
            let after = self.cost();
            let slack = -libm::log(1.0 - self.random.unit()) * heat;
            heat *= factor;
            if after as f64 >= cost as f64 + slack {
                self.back();
            } else {
                self.saved.clear();
                cost = after;
            }
        }
        false
    }

    fn cost(&self) -> i64 {
        self.rounds.iter().map(|round| round.length + self.weight * round.over).sum()
    }

    fn plan(&self) -> Plan {
        let walked = self.rounds.iter().filter(|round| !round.looks.is_empty());
        let round = |r: &Round| r.looks.iter().map(|&s| usize::from(s)).collect();
        Plan { teams: walked.map(|r| Team { guards: 1, round: round(r) }).collect() }
    }

    /// Takes out stops near each other and puts them back where they cost least.
    fn ruin_and_mend(&mut self) {
        let seed = self.random.below(self.case.demands.walks.len());
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
            self.save(home);
            self.rounds[home].remove(stop, self.case);
        }
        self.random.shuffle(&mut out);
        if self.random.below(2) == 0 {
            out.sort_by_key(|&stop| self.case.demands.gap_ms[stop]);
        }
        out.into_iter().for_each(|stop| self.put_back(stop));
    }

    fn put_back(&mut self, stop: usize) {
        let often = self.case.often[stop];
        let mut tried_empty = false;
        let mut best: Option<(i64, usize, Option<Round>, usize)> = None;
        for (r, round) in self.rounds.iter().enumerate() {
            if round.looks.is_empty() && std::mem::replace(&mut tried_empty, true) {
                continue;
            }
            let (cost, with, at) = if often {
                let below = best.as_ref().map_or(i64::MAX, |(least, ..)| *least);
                let with = round.with_often(stop, self.case, self.weight, below, &mut self.random);
                let Some((cost, with)) = with else { continue };
                (cost, Some(with), 0)
            } else {
                let (cost, at) = round.place_for(stop, self.case, self.weight, &mut self.random);
                (cost, None, at)
            };
            if best.as_ref().is_none_or(|(least, ..)| cost < *least) {
                best = Some((cost, r, with, at));
            }
        }
        let (_, r, with, at) = best.expect("there is a round");
        self.save(r);
        match with {
            Some(with) => self.rounds[r] = with,
            None => self.rounds[r].insert(at, stop, self.case),
        }
        self.home[stop] = r;
    }

    fn save(&mut self, round: usize) {
        if self.saved.iter().all(|(known, _)| *known != round) {
            self.saved.push((round, self.rounds[round].clone()));
        }
    }

    fn back(&mut self) {
        for (r, round) in self.saved.drain(..) {
            round.looks.iter().for_each(|&stop| self.home[usize::from(stop)] = r);
            self.rounds[r] = round;
        }
    }
}
