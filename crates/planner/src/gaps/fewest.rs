//! The search: from a plan that surely keeps the gaps down to one that a proof stops.

use super::bound::{GuardBound, guards_at_least, windows};
use super::{Demands, Plan, Team};
use crate::effort::Effort;
use crate::share::{Shared, Sharing, round_length, share};
use crate::tour::tour;
use crate::walks::NEVER;

/// A plan with the fewest guards found, and the proof of how few are possible.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fewest {
    /// The plan.
    pub plan: Plan,
    /// No schedule of any class needs fewer than this.
    pub bound: GuardBound,
}

/// Steps of one attempt to make do with given teams, per stop; later attempts take longer.
const ATTEMPT: u64 = 600;
/// Steps of each tour of the first plan, per stop.
const TOURING: u64 = 100;
/// Times all ways to divide the guards are gone through, each time longer.
const PASSES: u64 = 6;

/// Searches for the fewest guards until the bound is met or the effort is spent.
///
/// None when some stop cannot be kept by any number: its stay or the way to it is longer than its
/// gap allows.
pub fn fewest(demands: &Demands, effort: &mut Effort<'_>) -> Option<Fewest> {
    let n = demands.walks.len();
    if n == 0 || (0..n).any(|s| demands.stay_ms[s] > demands.gap_ms[s]) {
        return None;
    }
    let bound = guards_at_least(demands);
    let mut plan = by_groups(demands, effort)?;
    'passes: for pass in 1..=PASSES {
        while plan.guards() > bound.guards {
            let fewer = plan.guards() - 1;
            match attempt(demands, fewer, ATTEMPT * pass * pass, effort) {
                Some(better) => plan = better,
                None if effort.left() == 0 => break 'passes,
                None => continue 'passes,
            }
        }
        break;
    }
    Some(Fewest { plan, bound })
}

/// The plan for exactly `guards` guards that keeps all gaps, if the effort finds one.
pub fn with_guards(demands: &Demands, guards: usize, effort: &mut Effort<'_>) -> Option<Plan> {
    (1..=PASSES).find_map(|pass| attempt(demands, guards, ATTEMPT * pass * pass, effort))
}

/// Stops grouped by neighbouring gaps, each group one team on one round; the best grouping.
fn by_groups(demands: &Demands, effort: &mut Effort<'_>) -> Option<Plan> {
    let windows = windows(demands);
    let cuts = windows.len().min(8) - 1;
    let mut best: Option<Plan> = None;
    for mask in 0..1usize << cuts {
        let mut groups: Vec<Vec<usize>> = vec![Vec::new()];
        for (w, &gap) in windows.iter().enumerate() {
            if w > 0 && w <= cuts && mask >> (w - 1) & 1 == 1 {
                groups.push(Vec::new());
            }
            let last = groups.last_mut().expect("there is a first group");
            last.extend((0..demands.gap_ms.len()).filter(|&s| demands.gap_ms[s] == gap));
        }
        let teams: Option<Vec<Team>> =
            groups.iter().map(|g| team_for(demands, g, effort)).collect();
        if let Some(teams) = teams {
            let plan = Plan { teams };
            if best.as_ref().is_none_or(|b| plan.guards() < b.guards()) {
                best = Some(plan);
            }
        }
    }
    best
}

fn team_for(demands: &Demands, stops: &[usize], effort: &mut Effort<'_>) -> Option<Team> {
    let walks = demands.walks.only(stops);
    let tour = effort.part(TOURING * stops.len() as u64, |e| tour(&walks, e));
    let round: Vec<usize> = tour.order.iter().map(|&a| stops[a]).collect();
    let length = round_length(&demands.walks, &demands.stay_ms, &round);
    let gap = stops.iter().map(|&s| demands.gap_ms[s]).min()?;
    let guards = (length + gap - 1) / gap;
    (tour.length < i64::from(NEVER)).then_some(Team { guards: guards.max(1) as usize, round })
}

/// Goes through the ways to divide the guards into teams, each given `steps` per stop.
fn attempt(demands: &Demands, guards: usize, steps: u64, effort: &mut Effort<'_>) -> Option<Plan> {
    let windows = windows(demands);
    for counts in divisions(guards, windows.len()) {
        for spaced in [false, true] {
            if spaced && counts.iter().all(|&c| c <= 1) {
                continue;
            }
            let teams = teams_of(&counts, &windows, spaced);
            if let Some(plan) = fit(demands, &teams, steps * demands.walks.len() as u64, effort) {
                return Some(plan);
            }
            if effort.left() == 0 {
                return None;
            }
        }
    }
    None
}

/// (guards, base gap) of each team: one team for each gap, or one for each guard.
fn teams_of(counts: &[usize], windows: &[i64], spaced: bool) -> Vec<(usize, i64)> {
    let mut teams = Vec::new();
    for (&count, &gap) in counts.iter().zip(windows) {
        match (count, spaced) {
            (0, _) => {}
            (_, true) => teams.push((count, gap)),
            (_, false) => teams.extend((0..count).map(|_| (1, gap))),
        }
    }
    teams
}

/// All ways to give `guards` guards to `kinds` kinds, the first kind getting at least one, which
/// must exist for the shortest gap; at most a few hundred, evenly spread ones first.
fn divisions(guards: usize, kinds: usize) -> Vec<Vec<usize>> {
    fn go(left: usize, kinds: usize, so_far: &mut Vec<usize>, out: &mut Vec<Vec<usize>>) {
        if out.len() >= 300 {
            return;
        }
        if kinds == 1 {
            so_far.push(left);
            out.push(so_far.clone());
            so_far.pop();
            return;
        }
        let least = usize::from(so_far.is_empty());
        for take in least..=left {
            so_far.push(take);
            go(left - take, kinds - 1, so_far, out);
            so_far.pop();
        }
    }
    let mut out = Vec::new();
    if guards > 0 {
        go(guards, kinds, &mut Vec::new(), &mut out);
    }
    out
}

/// Hands the stops to the teams so that each team's round is at most its guards times its gap.
fn fit(
    demands: &Demands,
    teams: &[(usize, i64)],
    steps: u64,
    effort: &mut Effort<'_>,
) -> Option<Plan> {
    let n = demands.walks.len();
    let caps: Vec<i64> = teams.iter().map(|&(guards, gap)| guards as i64 * gap).collect();
    let may: Vec<Vec<bool>> =
        teams.iter().map(|&(_, gap)| (0..n).map(|s| demands.gap_ms[s] >= gap).collect()).collect();
    if (0..n).any(|s| !may.iter().any(|m| m[s])) {
        return None;
    }
    let sharing = Sharing {
        walks: &demands.walks,
        stay: &demands.stay_ms,
        post: None,
        guards: teams.len(),
        good_enough: 0,
        caps: Some(&caps),
        may: Some(&may),
    };
    let shared: Shared = effort.part(steps, |e| share(&sharing, e));
    let lengths = shared.rounds.iter().map(|r| round_length(&demands.walks, &demands.stay_ms, r));
    if lengths.zip(&caps).any(|(l, &c)| l > c) {
        return None;
    }
    let teams = shared
        .rounds
        .into_iter()
        .zip(teams)
        .filter(|(round, _)| !round.is_empty())
        .map(|(round, &(guards, _))| Team { guards, round })
        .collect();
    Some(Plan { teams })
}
