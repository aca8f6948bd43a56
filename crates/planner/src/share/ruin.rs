//! Ruin and recreate: neighbouring strings of stops are taken out of neighbouring rounds and put
//! back greedily, accepted as in annealing.
//!
//! Source: Christiaens and Vanden Berghe, "Slack induction by string removals for vehicle routing
//! problems", Transportation Science 54 (2020). Ours: the rounds are held under a cap that is always
//! just below the best longest round, every unit above it being priced, and each new best is
//! re-toured round by round.

use super::bound::star as share_star;
use super::rounds::Rounds;
use super::{Shared, Sharing, round_length};
use crate::effort::{Effort, Go};
use crate::random::Random;

/// Mean number of stops taken out, one after the other as the coolings go on: short rounds only change when several are
/// opened at once. Long ones hold more than [`LONG`] stops each.
const TAKEN_OUT: [usize; 3] = [10, 16, 24];
const TAKEN_OUT_LONG: [usize; 1] = [10];
const LONG: usize = 50;
/// The longest string.
const STRING: usize = 10;
/// Up to this many rounds a round may lose several strings at once; else too little would change.
const FEW: usize = 8;
/// Temperatures at the beginning and the end of a cooling, in mean legs.
const HOT: [f64; 3] = [10.0, 3.0, 0.6];
const COLD: f64 = 0.006;
/// Steps per stop of the first cooling; later ones are longer, to a limit.
const FIRST_COOLING: u64 = 400;
const COOLINGS_LONGER: u64 = 12;
/// Price of a unit above the cap, one after the other as the coolings go on.
const WEIGHTS: [i64; 4] = [20, 5, 160, 10];
/// How far the cap lies below the best longest round, likewise.
const BELOW: [f64; 5] = [0.03, 0.01, 0.0002, 0.003, 0.05];
/// Kicks per stop when a round is re-toured.
const RETOUR: u64 = 10;

pub(super) fn search(sharing: &Sharing<'_>, effort: &mut Effort<'_>) -> Shared {
    let stops: Vec<usize> = (0..sharing.walks.len()).filter(|&s| Some(s) != sharing.post).collect();
    if stops.is_empty() {
        return finish(sharing, &vec![Vec::new(); sharing.guards]);
    }
    let mut search = Search::new(sharing, stops, effort.seed());
    search.begin();
    let mut cooling = 0u64;
    let good_enough = if sharing.caps.is_some() { 0 } else { sharing.good_enough };
    search.sharing.good_enough = good_enough;
    while search.best_worth > good_enough && search.cool(cooling, effort) {
        cooling += 1;
    }
    finish(sharing, &search.best.0)
}

struct Search<'a> {
    sharing: Sharing<'a>,
    stops: Vec<usize>,
    near: Vec<Vec<u32>>,
    random: Random,
    now: Rounds<'a>,
    best: (Vec<Vec<u16>>, Vec<i64>),
    best_worth: i64,
    mean_leg: f64,
    star: i64,
    out: Vec<usize>,
    ruined: Vec<bool>,
    taken_out: usize,
}

impl<'a> Search<'a> {
    fn new(sharing: &Sharing<'a>, stops: Vec<usize>, seed: u64) -> Search<'a> {
        Search {
            sharing: *sharing,
            near: sharing.walks.near(sharing.walks.len()),
            random: Random::new(seed),
            now: Rounds::empty(*sharing),
            best: (Vec::new(), Vec::new()),
            best_worth: i64::MAX,
            mean_leg: 1.0,
            star: share_star(sharing),
            out: Vec::new(),
            ruined: vec![false; sharing.guards],
            taken_out: TAKEN_OUT[0],
            stops,
        }
    }

    fn begin(&mut self) {
        let walks = self.sharing.walks;
        let staying: i64 = self.stops.iter().map(|&s| self.sharing.stay[s]).sum();
        let nearest: i64 = self
            .stops
            .iter()
            .filter_map(|&s| Some(walks.ms(s, *self.near[s].first()? as usize)))
            .sum();
        self.mean_leg = (nearest as f64 / self.stops.len() as f64).max(1.0);
        let cap = (staying + nearest) / self.sharing.guards as i64;
        self.out = self.stops.clone();
        self.set_caps(cap);
        self.recreate(WEIGHTS[0]);
        self.now.keep();
        let walking = self.now.total() - staying;
        self.mean_leg = (walking as f64 / self.stops.len() as f64).max(1.0);
        self.take_best();
    }

    /// One cooling from the best state so far; false when the effort is spent.
    fn cool(&mut self, cooling: u64, effort: &mut Effort<'_>) -> bool {
        let weight = WEIGHTS[cooling as usize % WEIGHTS.len()];
        let long = self.stops.len() > LONG * self.sharing.guards;
        let taken_out: &[usize] = if long { &TAKEN_OUT_LONG } else { &TAKEN_OUT };
        self.taken_out = taken_out[cooling as usize % taken_out.len()];
        let length = FIRST_COOLING * (1 + cooling).min(COOLINGS_LONGER) * self.stops.len() as u64;
        self.now.load(&self.best.0, &self.best.1);
        self.retour();
        self.take_best();
        let hot = HOT[cooling as usize % HOT.len()] * self.mean_leg;
        let cold = COLD * self.mean_leg;
        let factor = libm::pow(cold / hot, 1.0 / length as f64);
        let mut heat = hot;
        self.set_caps(self.cap(cooling));
        let mut cost = self.cost(weight);
        for _ in 0..length {
            if !effort.step(self.best_worth) {
                return false;
            }
            self.ruin();
            self.recreate(weight);
            let after = self.cost(weight);
            let slack = -libm::log(1.0 - self.random.unit()) * heat;
            heat *= factor;
            if after as f64 >= cost as f64 + slack {
                self.now.back();
                continue;
            }
            self.now.keep();
            cost = after;
            if self.worth() < self.best_worth {
                self.take_best();
                if self.best_worth <= self.sharing.good_enough {
                    return false;
                }
                self.set_caps(self.cap(cooling));
                cost = self.cost(weight);
            }
        }
        true
    }

    /// What is to be made small: the longest round, or what is above the caps that were given.
    fn worth(&self) -> i64 {
        if self.sharing.caps.is_some() { self.now.over() } else { self.now.longest() }
    }

    /// One cap for all rounds, unless caps were given.
    fn set_caps(&mut self, cap: i64) {
        if self.sharing.caps.is_none() {
            self.now.caps.fill(cap);
        }
    }

    /// The cap of a cooling: a little below the best longest round; every second time no higher than
    /// rounds of the best state would be if they were equally long.
    fn cap(&self, cooling: u64) -> i64 {
        let below = BELOW[cooling as usize % BELOW.len()];
        let just_below = (self.best_worth as f64 * (1.0 - below)) as i64 - 1;
        if !cooling.is_multiple_of(2) {
            return just_below;
        }
        let equal = self.best.1.iter().sum::<i64>() / self.sharing.guards as i64;
        just_below.min(self.star.max(equal + equal / 50))
    }

    fn cost(&self, weight: i64) -> i64 {
        self.now.total() + weight * self.now.over()
    }

    fn ruin(&mut self) {
        let used = self.now.rounds.iter().filter(|r| !r.is_empty()).count().max(1);
        let longest_string = STRING.min(self.stops.len() / used).max(1);
        let most_strings = (4 * self.taken_out) as f64 / (1 + longest_string) as f64 - 1.0;
        let strings = (1.0 + self.random.unit() * most_strings.max(0.0)) as usize;
        self.ruined.fill(false);
        let mut done = 0;
        let seed = self.stops[self.random.below(self.stops.len())];
        for i in 0..=self.near[seed].len() {
            let stop = if i == 0 { seed } else { self.near[seed][i - 1] as usize };
            let Some(round) = self.now.home(stop) else { continue };
            if self.ruined[round] && (used > FEW || self.random.below(2) == 0) {
                continue;
            }
            self.ruined[round] = true;
            self.take_string(round, stop, longest_string);
            done += 1;
            if done == if used > FEW { strings.min(used) } else { strings } {
                break;
            }
        }
    }

    /// Takes out a string that holds the stop; half of the time some stops inside it stay.
    fn take_string(&mut self, round: usize, stop: usize, longest: usize) {
        let len = self.now.rounds[round].len();
        let take = 1 + self.random.below(longest.min(len));
        let at = self.now.rounds[round]
            .iter()
            .position(|&s| s as usize == stop)
            .expect("it is at home here");
        let spared = if take > 1 && take < len && self.random.below(2) == 0 {
            let mut spared = 1;
            while take + spared < len && self.random.below(2) == 0 {
                spared += 1;
            }
            spared
        } else {
            0
        };
        let start = (at + len - self.random.below(take + spared).min(at + len)) % len;
        if spared == 0 {
            self.now.remove_string(round, start, take, &mut self.out);
        } else {
            let first = 1 + self.random.below(take - 1);
            self.now.remove_string(round, start, first, &mut self.out);
            let left = len - first;
            let from = if start + first > len { 0 } else { start % (left + 1) };
            self.now.remove_string(round, (from + spared) % left, take - first, &mut self.out);
        }
    }

    fn recreate(&mut self, weight: i64) {
        let mut out = std::mem::take(&mut self.out);
        let post = self.sharing.post;
        self.random.shuffle(&mut out);
        match (self.random.below(8), post) {
            (0..3, Some(p)) => out.sort_by_key(|&s| -self.sharing.walks.ms(p, s)),
            (3, Some(p)) => out.sort_by_key(|&s| self.sharing.walks.ms(p, s)),
            _ => {}
        }
        for &stop in &out {
            let place = loop {
                if let Some(place) = self.now.best_place(stop, weight, &mut self.random) {
                    break place;
                }
            };
            self.now.insert(stop, place.0, place.1, place.2);
        }
        out.clear();
        self.out = out;
    }

    /// Re-tours every round of a new best state.
    fn retour(&mut self) {
        for r in 0..self.now.rounds.len() {
            if self.now.rounds[r].len() < 4 {
                continue;
            }
            let mut stops: Vec<usize> = self.sharing.post.into_iter().collect();
            stops.extend(self.now.rounds[r].iter().map(|&s| s as usize));
            let walks = self.sharing.walks.only(&stops);
            let mut on = |_| Go::On;
            let mut effort =
                Effort::new(self.random.next_u64(), RETOUR * stops.len() as u64, &mut on);
            let tour = crate::tour::tour(&walks, &mut effort);
            let order: Vec<usize> = tour.order.iter().map(|&a| stops[a]).collect();
            let length = round_length(self.sharing.walks, self.sharing.stay, &order);
            if length < self.now.length[r] {
                let skip = usize::from(self.sharing.post.is_some());
                let order: Vec<u16> = order[skip..].iter().map(|&s| s as u16).collect();
                self.now.reorder(r, &order, length);
            }
        }
        self.now.keep();
    }

    fn take_best(&mut self) {
        self.best_worth = self.worth();
        self.best = (self.now.rounds.clone(), self.now.length.clone());
    }
}

fn finish(sharing: &Sharing<'_>, rounds: &[Vec<u16>]) -> Shared {
    let rounds: Vec<Vec<usize>> = rounds
        .iter()
        .map(|r| sharing.post.into_iter().chain(r.iter().map(|&s| s as usize)).collect())
        .collect();
    let longest =
        rounds.iter().map(|r| round_length(sharing.walks, sharing.stay, r)).max().unwrap_or(0);
    Shared { rounds, longest }
}
