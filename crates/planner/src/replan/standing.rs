//! Hot work begun in the middle of the night: one guard goes there and stays, the others take over.

use super::{At, Change, Tonight, late, replan};
use crate::check::Broken;
use crate::effort::Effort;
use crate::timetable::Look;

/// Who goes to `stand` and stays, and what the others do: whoever leaves the least late, then the fewest stops moved, then
/// is there first. None when nobody can get there.
///
/// `stand` is a stop of the demands whose look lasts as long as its gap; it is owed nothing before somebody is there.
pub fn replan_standing(
    tonight: &Tonight<'_>,
    stand: usize,
    effort: &mut Effort<'_>,
) -> Option<(usize, Change)> {
    let here: Vec<usize> = (0..tonight.at.len()).filter(|&g| tonight.at[g].is_some()).collect();
    let steps = effort.left() / here.len().max(1) as u64;
    let mut best: Option<((i64, usize, i64), usize, Change)> = None;
    for &guard in &here {
        let Some(arrives_ms) = tonight.at[guard].and_then(|at| arrival(tonight, at, stand)) else {
            continue;
        };
        let change = effort.part(steps, |e| with(tonight, stand, guard, arrives_ms, e));
        let worth = (lateness(tonight, &change.late), change.moved.len(), arrives_ms);
        if best.as_ref().is_none_or(|(least, ..)| worth < *least) {
            best = Some((worth, guard, change));
        }
    }
    best.map(|(_, guard, change)| (guard, change))
}

fn arrival(tonight: &Tonight<'_>, at: At, stand: usize) -> Option<i64> {
    let walk = tonight.demands.walks.ms(at.stop, stand);
    (walk < i64::from(crate::walks::NEVER)).then_some(at.free_in_ms + walk)
}

/// One guard stands, the others walk as if that guard were gone.
fn with(
    tonight: &Tonight<'_>,
    stand: usize,
    guard: usize,
    arrives_ms: i64,
    effort: &mut Effort<'_>,
) -> Change {
    let (mut at, mut open) = (tonight.at.to_vec(), tonight.open.to_vec());
    at[guard] = None;
    open[stand] = false;
    let rest = replan(&Tonight { at: &at, open: &open, ..*tonight }, effort);
    let none = vec![Vec::new(); tonight.at.len()];
    let (mut rounds, mut looks, moved) = match rest {
        Some(change) => (change.rounds, change.looks, change.moved),
        None => (none, vec![Vec::new(); tonight.at.len()], Vec::new()),
    };
    let owed = (0..open.len()).filter(|&s| tonight.open[s]);
    let until = 2 * owed.map(|s| tonight.demands.gap_ms[s]).max().unwrap_or(0);
    let stay = tonight.demands.stay_ms[stand].max(1);
    let ends = (1..).map(|k| arrives_ms + k * stay).take_while(|&end_ms| end_ms <= until);
    looks[guard] = ends.map(|end_ms| Look { stop: stand, end_ms }).collect();
    rounds[guard] = vec![stand];
    let mut seen_ago_ms = tonight.seen_ago_ms.to_vec();
    seen_ago_ms[stand] = -arrives_ms;
    let late = late(tonight, &seen_ago_ms, &looks, until);
    Change { rounds, looks, moved, late }
}

/// By how much gaps are exceeded, all together.
fn lateness(tonight: &Tonight<'_>, late: &[Broken]) -> i64 {
    let over = |broken: &Broken| match broken {
        Broken::Unseen { stop, lasts_ms, .. } => lasts_ms - tonight.demands.gap_ms[*stop],
        _ => i64::MAX / 1024,
    };
    late.iter().map(over).sum()
}

#[cfg(test)]
mod tests {
    use super::super::tests::night;
    use super::*;
    use crate::effort::Go;
    use crate::gaps::STANDING_MS;

    fn begun(gap_s: i64, at: Vec<Option<At>>) -> Option<(usize, Change)> {
        let mut night = night(gap_s);
        night.demands.gap_ms[8] = STANDING_MS;
        night.demands.stay_ms[8] = STANDING_MS;
        let tonight = Tonight {
            demands: &night.demands,
            plan: &night.plan,
            open: &night.open,
            at: &at,
            seen_ago_ms: &night.seen_ago_ms,
        };
        replan_standing(&tonight, 8, &mut Effort::new(1, 40_000, &mut |_| Go::On))
    }

    #[test]
    fn the_nearer_guard_stays_and_the_other_takes_all_the_rest() {
        let two = night(600).at;
        let (guard, change) = begun(600, two.clone()).expect("two can");
        assert_eq!((guard, &change.rounds[1]), (1, &vec![8]));
        let mut walked = change.rounds[0].clone();
        walked.sort_unstable();
        assert_eq!(walked, [0, 1, 2, 3, 4, 5, 6, 7, 9, 10, 11]);
        // Eleven stops of a ring of 12, 11 · 10 s + 12 · 20 s = 350 s: within 600 s, not within 300 s.
        assert_eq!(change.late, []);
        let (_, strict) = begun(300, two).expect("somebody stands there all the same");
        assert!(!strict.late.is_empty());
        assert!(strict.late.iter().all(|b| matches!(b, Broken::Unseen { stop, .. } if *stop != 8)));
    }

    #[test]
    fn alone_one_stands_and_all_the_rest_is_said_to_be_late() {
        let at = At { stop: 0, free_in_ms: 0 };
        let (guard, change) = begun(600, vec![Some(at), None]).expect("one can");
        assert_eq!((guard, change.rounds), (0, vec![vec![8], vec![]]));
        assert_eq!(change.late.len(), 11);
        assert_eq!(begun(600, vec![None, None]), None);
    }
}
