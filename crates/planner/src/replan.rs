//! A plan changed in the middle of the night: a zone closed, a stop added, a guard lost, hot work begun. From where
//! everybody stands now, and changing as little as needed.
//!
//! Every guard keeps the round of the plan, less what is closed; stops without a guard go where they cost least. Only while
//! something would come too late are stops moved from guard to guard and rounds begun elsewhere; moving a stop is a
//! cost, so that a guard who need not change does not.

mod standing;

pub use standing::replan_standing;

use crate::check::{Broken, Raw, check_from};
use crate::effort::Effort;
use crate::gaps::{Demands, Plan};
use crate::random::Random;
use crate::timetable::Look;

/// Where a guard is: at a stop, or on the way to one, free to walk on in `free_in_ms`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct At {
    /// The stop.
    pub stop: usize,
    /// When the guard can walk on, in milliseconds from now.
    pub free_in_ms: i64,
}

/// The night as it is now.
#[derive(Clone, Copy, Debug)]
pub struct Tonight<'a> {
    /// Demands from now on; new stops stand behind those of the plan.
    pub demands: &'a Demands,
    /// The plan walked so far.
    pub plan: &'a Plan,
    /// Which stops must still be seen; a closed zone's are not.
    pub open: &'a [bool],
    /// Where each guard of the plan is; none for a guard who is gone.
    pub at: &'a [Option<At>],
    /// How long ago each stop was seen, in milliseconds.
    pub seen_ago_ms: &'a [i64],
}

/// What each guard does from now on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The round of each guard, beginning with the stop to go to now; empty for one who is gone.
    pub rounds: Vec<Vec<usize>>,
    /// The looks of each guard until twice the longest gap from now.
    pub looks: Vec<Vec<Look>>,
    /// Stops now walked by another guard than before.
    pub moved: Vec<usize>,
    /// What comes too late all the same, as the checker says; empty when every gap is kept from now on.
    pub late: Vec<Broken>,
}

/// Cost of a moved stop, in milliseconds of lateness.
const MOVED: i64 = 20;
/// Steps without a gain after which the search ends.
const PATIENCE: u64 = 3000;

/// The change that comes closest to keeping every gap, or none when no guard is left.
pub fn replan(tonight: &Tonight<'_>, effort: &mut Effort<'_>) -> Option<Change> {
    if tonight.at.iter().all(Option::is_none) {
        return None;
    }
    let before = walked_before(tonight);
    let mut now = Search { tonight, before: &before, rounds: carried_on(tonight, &before) };
    for stop in 0..tonight.open.len() {
        if tonight.open[stop] && !now.rounds.iter().any(|round| round.contains(&stop)) {
            now.insert(stop);
        }
    }
    for guard in 0..now.rounds.len() {
        now.begin_best(guard);
    }
    now.improve(effort);
    Some(now.change())
}

/// For each guard of the plan the stops of the team's round.
fn walked_before(tonight: &Tonight<'_>) -> Vec<Vec<usize>> {
    let teams = tonight.plan.teams.iter();
    let rounds = teams.flat_map(|team| std::iter::repeat_n(team.round.clone(), team.guards));
    let mut rounds: Vec<Vec<usize>> = rounds.collect();
    rounds.resize(tonight.at.len(), Vec::new());
    rounds
}

fn carried_on(tonight: &Tonight<'_>, before: &[Vec<usize>]) -> Vec<Vec<usize>> {
    before
        .iter()
        .zip(tonight.at)
        .map(|(round, at)| match at {
            None => Vec::new(),
            Some(at) => {
                // On from where the guard is, as if nothing had happened.
                let next = round.iter().position(|&s| s == at.stop).map_or(0, |i| i + 1);
                let mut round = round.clone();
                let n = round.len().max(1);
                round.rotate_left(next % n);
                round.retain(|&s| tonight.open[s]);
                round
            }
        })
        .collect()
}

struct Search<'a> {
    tonight: &'a Tonight<'a>,
    before: &'a [Vec<usize>],
    rounds: Vec<Vec<usize>>,
}

impl Search<'_> {
    fn until(&self) -> i64 {
        let open = (0..self.tonight.open.len()).filter(|&s| self.tonight.open[s]);
        2 * open.map(|s| self.tonight.demands.gap_ms[s]).max().unwrap_or(0)
    }

    fn looks(&self) -> Vec<Vec<Look>> {
        let (demands, until) = (self.tonight.demands, self.until());
        self.rounds
            .iter()
            .zip(self.tonight.at)
            .map(|(round, at)| {
                let (mut looks, Some(at)) = (Vec::new(), at) else { return Vec::new() };
                if round.is_empty() {
                    return looks;
                }
                let (mut stop, mut time) = (at.stop, at.free_in_ms);
                for &next in round.iter().cycle() {
                    // A round of no time at all would never end.
                    time += (demands.walks.ms(stop, next) + demands.stay_ms[next]).max(1);
                    if time > until {
                        break;
                    }
                    stop = next;
                    looks.push(Look { stop, end_ms: time });
                }
                looks
            })
            .collect()
    }

    /// Lateness of all gaps together, and a little for each stop that changed hands.
    fn cost(&self) -> i64 {
        let (demands, until, n) = (self.tonight.demands, self.until(), self.tonight.open.len());
        let mut seen: Vec<Vec<i64>> = vec![Vec::new(); n];
        for look in self.looks().iter().flatten() {
            seen[look.stop].push(look.end_ms);
        }
        let mut late = 0;
        for (stop, times) in seen.iter_mut().enumerate().filter(|(s, _)| self.tonight.open[*s]) {
            times.sort_unstable();
            let mut from = -self.tonight.seen_ago_ms[stop];
            for &end in times.iter().chain(std::iter::once(&until)) {
                late += (end - from - demands.gap_ms[stop]).max(0);
                from = end;
            }
        }
        late + MOVED * self.moved().len() as i64
    }

    fn moved(&self) -> Vec<usize> {
        (0..self.tonight.open.len())
            .filter(|stop| {
                self.rounds
                    .iter()
                    .zip(self.before)
                    .any(|(now, before)| now.contains(stop) && !before.contains(stop))
            })
            .collect()
    }

    /// Puts a stop where it lengthens a round least.
    fn insert(&mut self, stop: usize) {
        let walks = &self.tonight.demands.walks;
        let mut best: Option<(i64, usize, usize)> = None;
        for (g, round) in self.rounds.iter().enumerate() {
            if self.tonight.at[g].is_none() {
                continue;
            }
            for i in 0..=round.len() {
                let detour = if round.is_empty() {
                    0
                } else {
                    let (a, b) =
                        (round[(i + round.len() - 1) % round.len()], round[i % round.len()]);
                    walks.ms(a, stop) + walks.ms(stop, b) - walks.ms(a, b)
                };
                if best.is_none_or(|(d, ..)| detour < d) {
                    best = Some((detour, g, i));
                }
            }
        }
        if let Some((_, g, i)) = best {
            self.rounds[g].insert(i, stop);
        }
    }

    /// Lets a guard begin the round where least comes late; as it is, when nothing is better.
    fn begin_best(&mut self, guard: usize) {
        let round = self.rounds[guard].clone();
        let (mut best, mut cost) = (0, self.cost());
        for turn in 1..round.len() {
            if cost == 0 {
                break;
            }
            self.rounds[guard].clone_from(&round);
            self.rounds[guard].rotate_left(turn);
            let now = self.cost();
            if now < cost {
                (best, cost) = (turn, now);
            }
        }
        self.rounds[guard] = round;
        self.rounds[guard].rotate_left(best);
    }

    /// Moves stops and beginnings as long as that helps.
    fn improve(&mut self, effort: &mut Effort<'_>) {
        let mut random = Random::new(effort.seed());
        let mut cost = self.cost();
        let mut since = 0;
        while cost > MOVED * self.moved().len() as i64 && since < PATIENCE && effort.step(cost) {
            let before = self.rounds.clone();
            self.shuffle(&mut random);
            let now = self.cost();
            since += 1;
            if now < cost {
                (cost, since) = (now, 0);
            } else if now > cost {
                self.rounds = before;
            }
        }
    }

    fn shuffle(&mut self, random: &mut Random) {
        let here: Vec<usize> =
            (0..self.rounds.len()).filter(|&g| self.tonight.at[g].is_some()).collect();
        let (from, to) = (here[random.below(here.len())], here[random.below(here.len())]);
        let n = self.rounds[from].len();
        if n == 0 {
            return;
        }
        match random.below(4) {
            0 => self.rounds[from].rotate_left(random.below(n)),
            1 => {
                let (a, b) = (random.below(n), random.below(n));
                self.rounds[from][a.min(b)..=a.max(b)].reverse();
            }
            _ => {
                let stop = self.rounds[from].remove(random.below(n));
                if self.rounds[to].contains(&stop) {
                    // Two guards of one round: one of them is enough.
                    return;
                }
                let at = random.below(self.rounds[to].len() + 1);
                self.rounds[to].insert(at, stop);
            }
        }
    }

    fn change(self) -> Change {
        let looks = self.looks();
        let late = late(self.tonight, self.tonight.seen_ago_ms, &looks, self.until());
        Change { moved: self.moved(), rounds: self.rounds, looks, late }
    }
}

/// What the checker says of the looks from now on.
fn late(
    tonight: &Tonight<'_>,
    seen_ago_ms: &[i64],
    looks: &[Vec<Look>],
    until: i64,
) -> Vec<Broken> {
    let demands = tonight.demands;
    let n = demands.walks.len();
    let walk_ms: Vec<i64> = (0..n * n).map(|e| demands.walks.ms(e / n, e % n)).collect();
    // What is closed is owed nothing.
    let gap_ms: Vec<i64> =
        (0..n).map(|s| if tonight.open[s] { demands.gap_ms[s] } else { i64::MAX / 4 }).collect();
    let raw = Raw { walk_ms: &walk_ms, stay_ms: &demands.stay_ms, gap_ms: &gap_ms, may: &[] };
    let from: Vec<Option<(usize, i64)>> =
        tonight.at.iter().map(|at| at.map(|at| (at.stop, at.free_in_ms))).collect();
    check_from(&raw, &from, seen_ago_ms, looks, until)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::effort::Go;
    use crate::gaps::Team;
    use crate::walks::Walks;

    /// Twelve stops 20 s apart on a ring, 10 s a look: two guards with half each, 6 · 10 s + 5 · 20 s and back.
    pub(super) struct Night {
        pub(super) demands: Demands,
        pub(super) plan: Plan,
        pub(super) open: Vec<bool>,
        pub(super) at: Vec<Option<At>>,
        pub(super) seen_ago_ms: Vec<i64>,
    }

    pub(super) fn night(gap_s: i64) -> Night {
        let walks = Walks::from_fn(12, |a, b| {
            let apart = (a as i64 - b as i64).rem_euclid(12);
            apart.min(12 - apart) * 20_000
        });
        let halves = [(0..6).collect::<Vec<_>>(), (6..12).collect()];
        // Both have just ended the first look of their half; the others were seen in turn before.
        let ago =
            |s: usize| if s.is_multiple_of(6) { 0 } else { 260_000 - (s as i64 % 6) * 30_000 };
        Night {
            demands: Demands { walks, stay_ms: vec![10_000; 12], gap_ms: vec![gap_s * 1000; 12] },
            plan: Plan { teams: halves.map(|round| Team { guards: 1, round }).to_vec() },
            open: vec![true; 12],
            at: [0, 6].map(|stop| Some(At { stop, free_in_ms: 0 })).to_vec(),
            seen_ago_ms: (0..12).map(ago).collect(),
        }
    }

    fn change(night: &Night) -> Change {
        let tonight = Tonight {
            demands: &night.demands,
            plan: &night.plan,
            open: &night.open,
            at: &night.at,
            seen_ago_ms: &night.seen_ago_ms,
        };
        replan(&tonight, &mut Effort::new(1, 20_000, &mut |_| Go::On)).expect("somebody is left")
    }

    #[test]
    fn nothing_changes_when_nothing_must() {
        let change = change(&night(300));
        assert_eq!(change.rounds, [vec![1, 2, 3, 4, 5, 0], vec![7, 8, 9, 10, 11, 6]]);
        assert_eq!((change.moved, change.late), (vec![], vec![]));
    }

    #[test]
    fn a_closed_zone_is_left_out_and_all_else_stays() {
        let mut night = night(300);
        night.open[2] = false;
        night.open[3] = false;
        let change = change(&night);
        assert_eq!(change.rounds, [vec![1, 4, 5, 0], vec![7, 8, 9, 10, 11, 6]]);
        assert_eq!((change.moved, change.late), (vec![], vec![]));
    }

    #[test]
    fn a_guard_lost_leaves_all_to_the_other_and_what_is_late_is_said() {
        // One guard's round of all takes 12 · 30 s = 360 s: enough for 600 s, too long for 300 s.
        let mut quiet = night(600);
        quiet.at[1] = None;
        let kept = change(&quiet);
        assert!(kept.rounds[1].is_empty() && kept.late.is_empty(), "{kept:?}");
        assert_eq!(kept.moved, [6, 7, 8, 9, 10, 11]);
        let mut strict = night(300);
        strict.at[1] = None;
        assert!(change(&strict).late.iter().all(|b| matches!(b, Broken::Unseen { .. })));
        assert!(!change(&strict).late.is_empty());
    }

    #[test]
    fn a_stop_added_goes_to_whoever_passes_it() {
        let mut night = night(330);
        let old = night.demands.walks.clone();
        let near = |s: usize| old.ms(3, s) + 2_000;
        night.demands.walks = Walks::from_fn(13, |a, b| match (a, b) {
            (12, s) | (s, 12) => near(s),
            (a, b) => old.ms(a, b),
        });
        night.demands.stay_ms.push(10_000);
        night.demands.gap_ms.push(330_000);
        night.open.push(true);
        night.seen_ago_ms.push(0);
        let change = change(&night);
        assert!(change.rounds[0].contains(&12) && change.late.is_empty(), "{change:?}");
        assert_eq!(change.moved, [12]);
    }

    #[test]
    fn nobody_left_is_no_plan() {
        let night = Night { at: vec![None, None], ..night(300) };
        let tonight = Tonight {
            demands: &night.demands,
            plan: &night.plan,
            open: &night.open,
            at: &night.at,
            seen_ago_ms: &night.seen_ago_ms,
        };
        assert_eq!(replan(&tonight, &mut Effort::new(1, 10, &mut |_| Go::On)), None);
    }
}
