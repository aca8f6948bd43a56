//! The question a dispatcher asks, answered: what to send, when the first round is due, what it
//! survives, and, when it cannot be kept, the least that contradicts it.

mod core;
mod ways;

use crate::check::{Broken, Raw, check};
use crate::effort::Effort;
use crate::gaps::{
    Demands, Ended, GuardBound, Plan, fewest, guards_at_least, with_guards, with_guards_who,
};
use crate::timetable::{Look, timetable};
use crate::walks::NEVER;

pub use self::core::only;

/// The share of each gap that a plan may use, in thousandths, when nobody says otherwise. The rest
/// is kept for writing, doors and delay. Our own figure.
pub const USUAL_SHARE_PERMILLE: i64 = 850;

/// Most stops a question may have; above it the search would outlast any patience.
pub const MOST_STOPS: usize = 2000;

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Question<'a> {
    /// Stops, stays, gaps as the terms state them, and walks.
    pub demands: &'a Demands,
    /// The stop where the guards stand when they are sent.
    pub from: Option<usize>,
    /// Answer for this many guards instead of the fewest.
    pub guards: Option<usize>,
    /// The share of each gap that the plan may use, in thousandths.
    pub share_permille: i64,
    /// Where each of the first guards may go, by guard and stop; guards beyond the list go everywhere.
    pub may: &'a [Vec<bool>],
    /// The zone of each stop, by any number; empty when there are none.
    pub zones: &'a [usize],
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// It can be kept.
    Kept(Box<Kept>),
    /// No number of guards keeps it; each of these alone is enough to say so.
    Contradiction(Vec<Conflict>),
    /// Not with the guards given.
    TooFew {
        /// The guards given.
        guards: usize,
        /// The least number that the terms allow, with the proof. Where it is not above `guards`,
        /// no plan was found, which proves nothing.
        least: GuardBound,
        /// Stops whose demands alone contradict the guards given, none of which can be spared; empty when nothing is
        /// proved.
        core: Vec<usize>,
        /// What would make it possible.
        ways: Vec<Way>,
    },
}

/// A plan that keeps everything, checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    /// Who walks what.
    pub plan: Plan,
    /// The least number of guards under the terms as they stand, no margin.
    pub least: GuardBound,
    /// Why the search for fewer ended; none when the number was given.
    pub ended: Option<Ended>,
    /// Whether the margin asked for is left in every gap; else only the terms themselves are kept.
    pub with_margin: bool,
    /// The longest time any stop stays unseen.
    pub longest_gap_ms: i64,
    /// One guard may be held up this long, once, at any one place, and every gap is still kept.
    pub survives_delay_ms: i64,
    /// When the last stop has been seen for the first time, counted from the opening with the
    /// guards setting out from where they stand.
    pub first_round_done_ms: i64,
    /// When the first stop is owed its first look.
    pub first_round_due_ms: i64,
}

/// A demand, or a few, that nobody can meet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Conflict {
    /// There is nothing to look at.
    NoStops,
    /// More stops than [`MOST_STOPS`].
    TooManyStops(usize),
    /// Zero guards were given.
    NoGuards,
    /// The look takes longer than the gap.
    LookTooLong {
        /// The stop.
        stop: usize,
    },
    /// No way leads there, or none leads back.
    Unreachable {
        /// The stop.
        stop: usize,
    },
    /// No guard may go there.
    NobodyMay {
        /// The stop.
        stop: usize,
    },
}

/// Something that would make it possible.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Way {
    /// This many guards, for whom a plan is known.
    Guards(usize),
    /// With the guards given on one common round, everything is seen this often; a longer gap is the
    /// authority's to allow.
    LongestGap {
        /// The gap that those guards keep, in milliseconds.
        gap_ms: i64,
    },
    /// A longer gap for the stops of the shortest one; the authority's to allow.
    Relax {
        /// The gap now, in milliseconds.
        from_ms: i64,
        /// The gap for which a plan is known.
        to_ms: i64,
    },
    /// One zone given to somebody else.
    WithoutZone {
        /// Its number in the question.
        zone: usize,
    },
}

/// Answers the question as well as the effort allows. Every plan handed out has passed [`check`].
pub fn answer(question: &Question<'_>, effort: &mut Effort<'_>) -> Answer {
    let conflicts = conflicts(question);
    if !conflicts.is_empty() {
        return Answer::Contradiction(conflicts);
    }
    let terms = question.demands;
    let least = guards_at_least(terms);
    let tight = tightened(terms, question.share_permille);
    let found = match question.guards {
        _ if !question.may.is_empty() => {
            who_may(question, &tight, least.guards, effort).map(|found| (found, None))
        }
        Some(guards) if guards < least.guards => None,
        Some(guards) => with_guards(&tight, guards, effort)
            .map(|plan| ((plan, true), None))
            .or_else(|| with_guards(terms, guards, effort).map(|plan| ((plan, false), None))),
        None => fewest(&tight, effort)
            .map(|f| ((f.plan, true), Some(f.ended)))
            .or_else(|| fewest(terms, effort).map(|f| ((f.plan, false), Some(f.ended)))),
    };
    match found {
        Some(((plan, with_margin), ended)) => {
            Answer::Kept(Box::new(Kept { ended, ..kept(question, plan, least, with_margin) }))
        }
        None => ways::too_few(question, least, effort),
    }
}

/// Guards beyond those named that are tried when no number is given.
const MORE_GUARDS: usize = 4;

/// With guards who may not go everywhere: the number given, or the first that is found to do.
fn who_may(
    question: &Question<'_>,
    tight: &Demands,
    least: usize,
    effort: &mut Effort<'_>,
) -> Option<(Plan, bool)> {
    let may = question.may;
    let first = question.guards.unwrap_or(least.max(may.len()));
    let last = question.guards.unwrap_or(first + MORE_GUARDS);
    (first..=last).find_map(|guards| {
        let with = |demands, effort: &mut Effort<'_>| {
            let steps = effort.left() / 4;
            effort.part(steps, |e| with_guards_who(demands, guards, may, e))
        };
        with(tight, effort)
            .map(|plan| (plan, true))
            .or_else(|| with(question.demands, effort).map(|plan| (plan, false)))
    })
}

/// The looks of every guard from the opening to `until_ms`, and what the checker says of them.
pub fn written_out(demands: &Demands, plan: &Plan, until_ms: i64) -> (Vec<Vec<Look>>, Vec<Broken>) {
    who_written_out(demands, plan, &[], until_ms)
}

/// The same where the first guards may not go everywhere.
fn who_written_out(
    demands: &Demands,
    plan: &Plan,
    may: &[Vec<bool>],
    until_ms: i64,
) -> (Vec<Vec<Look>>, Vec<Broken>) {
    let looks = timetable(demands, plan, until_ms);
    let n = demands.walks.len();
    let everywhere = vec![true; n];
    let may: Vec<Vec<bool>> = match may {
        [] => Vec::new(),
        may => (0..looks.len()).map(|g| may.get(g).unwrap_or(&everywhere).clone()).collect(),
    };
    let walk_ms: Vec<i64> = (0..n * n).map(|e| demands.walks.ms(e / n, e % n)).collect();
    let raw =
        Raw { walk_ms: &walk_ms, stay_ms: &demands.stay_ms, gap_ms: &demands.gap_ms, may: &may };
    let broken = check(&raw, &looks, until_ms);
    (looks, broken)
}

fn conflicts(question: &Question<'_>) -> Vec<Conflict> {
    let demands = question.demands;
    let n = demands.walks.len();
    if n == 0 {
        return vec![Conflict::NoStops];
    }
    if n > MOST_STOPS {
        return vec![Conflict::TooManyStops(n)];
    }
    if question.guards == Some(0) {
        return vec![Conflict::NoGuards];
    }
    let cut = cut_off(&demands.walks, question.from);
    let long = (0..n).filter(|&s| demands.stay_ms[s] > demands.gap_ms[s]);
    let all_named = question.guards.is_some_and(|guards| guards <= question.may.len());
    let barred = (0..n).filter(|&s| all_named && question.may.iter().all(|may| !may[s]));
    long.map(|stop| Conflict::LookTooLong { stop })
        .chain(cut.into_iter().map(|stop| Conflict::Unreachable { stop }))
        .chain(barred.map(|stop| Conflict::NobodyMay { stop }))
        .collect()
}

/// Stops that cannot be walked to and back from `from`; without it, from the stop that most others are joined with.
pub fn cut_off(walks: &crate::walks::Walks, from: Option<usize>) -> Vec<usize> {
    let (n, never) = (walks.len(), i64::from(NEVER));
    let joined = |a: usize, b: usize| walks.ms(a, b) < never && walks.ms(b, a) < never;
    let origin = from.unwrap_or_else(|| {
        (0..n).max_by_key(|&a| ((0..n).filter(|&b| joined(a, b)).count(), n - a)).unwrap_or(0)
    });
    (0..n).filter(|&stop| !joined(origin, stop)).collect()
}

fn tightened(demands: &Demands, share_permille: i64) -> Demands {
    // A standing watch has nothing to spare and needs no margin: it is there.
    let used = |stop: usize| {
        let gap = demands.gap_ms[stop];
        if demands.standing(stop) { gap } else { gap * share_permille / 1000 }
    };
    let gap_ms = (0..demands.gap_ms.len()).map(used).collect();
    Demands { gap_ms, ..demands.clone() }
}

fn kept(question: &Question<'_>, plan: Plan, least: GuardBound, with_margin: bool) -> Kept {
    let demands = question.demands;
    let until = 3 * demands.gap_ms.iter().max().copied().unwrap_or(0);
    let broken = who_written_out(demands, &plan, question.may, until).1;
    assert!(broken.is_empty(), "a plan that the checker refuses is never handed out: {broken:?}");
    let once = |t: usize| plan.gaps_ms(demands, t).iter().map(|g| g.1).max().unwrap_or(0);
    let done = (0..plan.teams.len()).map(|t| lead_ms(question, &plan, t) + once(t)).max();
    Kept {
        longest_gap_ms: plan.longest_gap_ms(demands),
        survives_delay_ms: plan.least_slack_ms(demands),
        first_round_done_ms: done.unwrap_or(0),
        first_round_due_ms: first_due_ms(demands),
        plan,
        least,
        ended: None,
        with_margin,
    }
}

/// The shortest gap of what is walked; a standing watch is there from the opening.
fn first_due_ms(demands: &Demands) -> i64 {
    let walked = (0..demands.gap_ms.len()).filter(|&s| !demands.standing(s));
    walked.map(|s| demands.gap_ms[s]).min().unwrap_or(0)
}

/// The longest walk of a team's guards from where they stand to where each begins.
fn lead_ms(question: &Question<'_>, plan: &Plan, team: usize) -> i64 {
    let Some(from) = question.from else { return 0 };
    let (demands, spacing) = (question.demands, plan.spacing_ms(question.demands, team));
    let team = &plan.teams[team];
    if team.round.is_empty() {
        return 0;
    }
    (0..team.guards as i64)
        .map(|g| {
            let mut at = 0;
            let first = team.round.iter().enumerate().find(|&(i, &stop)| {
                at += demands.stay_ms[stop];
                let here = at > g * spacing;
                at += demands.walks.ms(stop, team.round[(i + 1) % team.round.len()]);
                here
            });
            demands.walks.ms(from, first.map_or(team.round[0], |(_, &stop)| stop))
        })
        .max()
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::effort::Go;
    use crate::walks::Walks;

    fn ask(demands: &Demands, guards: Option<usize>) -> Answer {
        let question = Question {
            demands,
            from: Some(0),
            guards,
            share_permille: USUAL_SHARE_PERMILLE,
            may: &[],
            zones: &[],
        };
        answer(&question, &mut Effort::new(1, 20_000, &mut |_| Go::On))
    }

    /// The 21-minute round: 659.9 s of walking and 20 looks of 30 s.
    fn ring(gap_min: i64) -> Demands {
        let walks = Walks::from_fn(20, |a, b| (b as i64 - a as i64).rem_euclid(20) * 32_995);
        Demands { walks, stay_ms: vec![30_000; 20], gap_ms: vec![gap_min * 60_000; 20] }
    }

    #[test]
    fn one_guard_keeps_thirty_minutes_with_the_margin() {
        let Answer::Kept(kept) = ask(&ring(30), None) else { panic!("it can be kept") };
        assert_eq!((kept.plan.guards(), kept.least.guards, kept.with_margin), (1, 1, true));
        assert_eq!(kept.longest_gap_ms, 1_259_900);
        assert_eq!(kept.survives_delay_ms, 1_800_000 - 1_259_900);
        assert_eq!(kept.first_round_due_ms, 1_800_000);
    }

    #[test]
    fn one_guard_cannot_keep_fifteen_and_the_way_out_is_named() {
        let Answer::TooFew { guards, least, core, ways } = ask(&ring(15), Some(1)) else {
            panic!("too few")
        };
        assert_eq!((guards, least.guards), (1, 2));
        // One cannot walk back on this ring: 659.9 s and eight looks of 30 s still fit into 900 s, nine do not.
        assert_eq!(core.len(), 9, "{core:?}");
        assert_eq!(ways, [Way::Guards(2), Way::LongestGap { gap_ms: 1_259_900 }]);
    }

    #[test]
    fn what_nobody_can_meet_is_named_stop_by_stop() {
        let mut demands = ring(30);
        demands.stay_ms[3] = 1_800_001;
        assert_eq!(
            ask(&demands, None),
            Answer::Contradiction(vec![Conflict::LookTooLong { stop: 3 }])
        );
        let mut locked = ring(30);
        locked.walks = Walks::from_fn(20, |a, b| {
            if a == 7 || b == 7 { i64::from(NEVER) } else { locked.walks.ms(a, b) }
        });
        assert_eq!(
            ask(&locked, None),
            Answer::Contradiction(vec![Conflict::Unreachable { stop: 7 }])
        );
        assert_eq!(ask(&ring(30), Some(0)), Answer::Contradiction(vec![Conflict::NoGuards]));
    }
}
