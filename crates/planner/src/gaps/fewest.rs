//! The search: from a plan that surely keeps the gaps down to one that a proof stops.

use super::bound::{GuardBound, guards_at_least, windows};
use super::{Demands, Plan, Team, laps, nested};
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
    /// Why the search went no further.
    pub ended: Ended,
}

/// Why a search for the fewest guards ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// The bound is met: fewer are impossible.
    BoundMet,
    /// So many steps have brought nothing better: at least as many as led to the plan found, and sixty million divided by
    /// the number of stops (between 100,000 and 800,000).
    NothingBetter {
        /// The steps.
        steps: u64,
    },
    /// Every way to divide the guards was tried as long as ever.
    AllTried,
    /// The steps or the time allowed were spent.
    Spent,
}

impl Ended {
    /// The name that the JSON answers carry.
    pub fn code(self) -> &'static str {
        match self {
            Ended::BoundMet => "bound-met",
            Ended::NothingBetter { .. } => "nothing-better",
            Ended::AllTried => "all-tried",
            Ended::Spent => "spent",
        }
    }
}

/// The steps without anything better after which a search ends, times the number of stops (ours: a step takes the longer
/// the more stops there are, and the cases of `bench/results/rounds.md` found their plans in fewer).
const STRETCH: u64 = 60_000_000;
/// Within these bounds.
const STRETCH_LEAST: u64 = 100_000;
const STRETCH_MOST: u64 = 800_000;

/// For so many stops, with a plan that so many steps had led to.
fn stretch(stops: usize, better_at: u64) -> u64 {
    (STRETCH / stops.max(1) as u64).clamp(STRETCH_LEAST, STRETCH_MOST).max(better_at)
}

/// Steps of one attempt to make do with given teams, per stop; later attempts take longer.
const ATTEMPT: u64 = 600;
/// Steps of each tour of the first plan, per stop: few as long as that is enough for the fewest guards.
const TOURING: u64 = 100;
const TOURING_FIRST: u64 = 20;
/// Steps in all, beside those, of making its rounds shorter where the number is as good as it can be.
const SHORTENING: u64 = 20_000;
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
    let (walked, stops, standing) = without_standing(demands);
    if stops.is_empty() {
        return Some(Fewest { plan: Plan { teams: standing }, bound, ended: Ended::BoundMet });
    }
    let least = bound.guards.saturating_sub(standing.len()).max(1);
    let mut plan = by_groups(&walked, TOURING_FIRST, effort)?;
    if plan.guards() > least {
        let longer = by_groups(&walked, TOURING, effort);
        plan = longer.filter(|p| p.guards() <= plan.guards()).unwrap_or(plan);
    } else {
        let steps = TOURING_FIRST + SHORTENING / stops.len() as u64;
        shorten(&walked, &mut plan, steps.min(TOURING), effort);
    }
    let (plan, ended) = fewer(&walked, plan, least, effort);
    Some(Fewest { plan: with_standing(plan, &stops, standing), bound, ended })
}

/// From a plan on to fewer and fewer guards.
fn fewer(walked: &Demands, mut plan: Plan, least: usize, effort: &mut Effort<'_>) -> (Plan, Ended) {
    if plan.guards() <= least {
        return (plan, Ended::BoundMet);
    }
    let (mut better_at, needs) = (effort.taken(), needs(walked));
    let mut pass = 1;
    while plan.guards() > least {
        if pass > PASSES {
            return (plan, Ended::AllTried);
        }
        let stretch = stretch(walked.walks.len(), better_at);
        let idle = effort.taken() - better_at;
        if idle >= stretch {
            return (plan, Ended::NothingBetter { steps: idle });
        }
        let (guards, steps) = (plan.guards() - 1, ATTEMPT * pass * pass);
        match effort.part(stretch - idle, |e| attempt(walked, guards, steps, &needs, e)) {
            Some(better) => {
                plan = better;
                better_at = effort.taken();
            }
            None if effort.left() == 0 => return (plan, Ended::Spent),
            None => pass += 1,
        }
    }
    (plan, Ended::BoundMet)
}

/// The plan for exactly `guards` guards that keeps all gaps, if the effort finds one.
pub fn with_guards(demands: &Demands, guards: usize, effort: &mut Effort<'_>) -> Option<Plan> {
    let (walked, stops, standing) = without_standing(demands);
    let left = guards.checked_sub(standing.len())?;
    if stops.is_empty() {
        return Some(Plan { teams: standing });
    }
    let needs = needs(&walked);
    let plan = (1..=PASSES)
        .find_map(|pass| attempt(&walked, left, ATTEMPT * pass * pass, &needs, effort))?;
    Some(with_standing(plan, &stops, standing))
}

/// The same when the first guards may only go where `may` says, by guard and stop: each guard has a round of their own.
pub fn with_guards_who(
    demands: &Demands,
    guards: usize,
    may: &[Vec<bool>],
    effort: &mut Effort<'_>,
) -> Option<Plan> {
    let windows = windows(demands);
    let kinds = windows.len();
    let n = demands.walks.len();
    if guards == 0 || may.len() > guards || n == 0 {
        return None;
    }
    let choices = kinds.checked_pow(guards as u32).unwrap_or(usize::MAX).min(CHOICES_MAX);
    for pass in 1..=PASSES {
        for choice in 0..choices {
            let mut rest = choice;
            let mut teams = Vec::with_capacity(guards);
            for _ in 0..guards {
                teams.push((1, windows[rest % kinds]));
                rest /= kinds;
            }
            let steps = ATTEMPT * pass * pass * n as u64;
            if let Some(plan) = fit_who(demands, &teams, may, steps, effort) {
                return Some(plan);
            }
            if effort.left() == 0 {
                return None;
            }
        }
    }
    None
}

/// Ways to give each guard a gap of their own that are tried.
const CHOICES_MAX: usize = 300;

/// Standing watches get a guard each; what the others walk, and which stops those are.
fn without_standing(demands: &Demands) -> (Demands, Vec<usize>, Vec<Team>) {
    let (standing, stops): (Vec<usize>, Vec<usize>) =
        (0..demands.walks.len()).partition(|&stop| demands.standing(stop));
    let walked = Demands {
        walks: demands.walks.only(&stops),
        stay_ms: stops.iter().map(|&s| demands.stay_ms[s]).collect(),
        gap_ms: stops.iter().map(|&s| demands.gap_ms[s]).collect(),
    };
    let teams = standing.into_iter().map(|stop| Team { guards: 1, round: vec![stop] }).collect();
    (walked, stops, teams)
}

fn with_standing(plan: Plan, stops: &[usize], mut standing: Vec<Team>) -> Plan {
    let named = |round: Vec<usize>| round.into_iter().map(|s| stops[s]).collect();
    let walked = plan.teams.into_iter().map(|t| Team { guards: t.guards, round: named(t.round) });
    let mut teams: Vec<Team> = walked.collect();
    teams.append(&mut standing);
    Plan { teams }
}

/// Stops grouped by neighbouring gaps, each group one team on one round; the best grouping.
fn by_groups(demands: &Demands, steps: u64, effort: &mut Effort<'_>) -> Option<Plan> {
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
            groups.iter().map(|g| team_for(demands, g, steps, effort)).collect();
        if let Some(teams) = teams {
            let plan = Plan { teams };
            if best.as_ref().is_none_or(|b| plan.guards() < b.guards()) {
                best = Some(plan);
            }
        }
    }
    best
}

/// Tours each team's stops once more, and keeps what is shorter.
fn shorten(demands: &Demands, plan: &mut Plan, steps: u64, effort: &mut Effort<'_>) {
    let length = |team: &Team| round_length(&demands.walks, &demands.stay_ms, &team.round);
    for team in &mut plan.teams {
        let again = team_for(demands, &team.round.clone(), steps, effort);
        if let Some(again) = again.filter(|again| length(again) < length(team)) {
            team.round = again.round;
        }
    }
}

fn team_for(
    demands: &Demands,
    stops: &[usize],
    steps: u64,
    effort: &mut Effort<'_>,
) -> Option<Team> {
    let walks = demands.walks.only(stops);
    let tour = effort.part(steps * stops.len() as u64, |e| tour(&walks, e));
    let round: Vec<usize> = tour.order.iter().map(|&a| stops[a]).collect();
    let length = round_length(&demands.walks, &demands.stay_ms, &round);
    let gap = stops.iter().map(|&s| demands.gap_ms[s]).min()?;
    let guards = (length + gap - 1) / gap;
    (tour.length < i64::from(NEVER)).then_some(Team { guards: guards.max(1) as usize, round })
}

/// By gap, the shortest first: how many guards the stops of this gap and of shorter ones need at the least by
/// themselves. Only guards on rounds of such a gap may look at them.
fn needs(demands: &Demands) -> Vec<usize> {
    let n = demands.gap_ms.len();
    let windows = windows(demands);
    let shorter = windows.iter().take(windows.len().saturating_sub(1));
    let need = |gap: &i64| {
        let stops: Vec<usize> = (0..n).filter(|&s| demands.gap_ms[s] <= *gap).collect();
        guards_at_least(&crate::answer::only(demands, &stops)).guards
    };
    shorter.map(need).collect()
}

/// Goes through the ways to divide the guards into teams, each given `steps` per stop.
fn attempt(
    demands: &Demands,
    guards: usize,
    steps: u64,
    needs: &[usize],
    effort: &mut Effort<'_>,
) -> Option<Plan> {
    let windows = windows(demands);
    if windows.len() > 1 {
        let steps = steps * demands.walks.len() as u64;
        // Laps find more in less time, but know only two kinds of stops.
        let free = if windows.len() > 2 { steps } else { steps / 4 };
        if let Some(plan) = (effort.part(steps, |e| laps::search(demands, guards, e)))
            .or_else(|| effort.part(free, |e| nested::search(demands, guards, e)))
        {
            return Some(plan);
        }
    }
    let enough = |counts: &Vec<usize>| {
        let mut so_far = counts.iter().scan(0, |sum, count| {
            *sum += count;
            Some(*sum)
        });
        needs.iter().all(|need| so_far.next().is_none_or(|sum| sum >= *need))
    };
    for counts in divisions(guards, windows.len()).into_iter().filter(enough) {
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
    fit_who(demands, teams, &[], steps, effort)
}

/// The same when the first teams may only go where `allowed` says. With restrictions every team stays in its place in
/// the plan, so that a guard's number keeps its meaning.
fn fit_who(
    demands: &Demands,
    teams: &[(usize, i64)],
    allowed: &[Vec<bool>],
    steps: u64,
    effort: &mut Effort<'_>,
) -> Option<Plan> {
    let n = demands.walks.len();
    let caps: Vec<i64> = teams.iter().map(|&(guards, gap)| guards as i64 * gap).collect();
    let goes = |team: usize, stop: usize| allowed.get(team).is_none_or(|may| may[stop]);
    let may: Vec<Vec<bool>> = (teams.iter().enumerate())
        .map(|(t, &(_, gap))| (0..n).map(|s| demands.gap_ms[s] >= gap && goes(t, s)).collect())
        .collect();
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
        .filter(|(round, _)| !allowed.is_empty() || !round.is_empty())
        .map(|(round, &(guards, _))| Team { guards, round })
        .collect();
    Some(Plan { teams })
}
