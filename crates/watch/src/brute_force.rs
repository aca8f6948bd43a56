//! Gaps and due instants against a second way of counting: second by second, with nothing but the
//! definition. Written apart from `gaps.rs` and `due.rs`, sharing no code with them.

use crate::aspects::gaps::Stopped;
use crate::due::Epochs;
use proptest::prelude::*;

/// By when a zone last seen at `since` must be seen again, found by walking every second. The
/// definition: a clock runs from the look while the rounds are not stopped; at each change of the
/// demand a looser gap counts from the look, a tighter one from its own beginning but never later
/// than what was due before.
fn due_by_walking(
    changes: &[(i64, Option<i64>)],
    since: i64,
    stops: &[(i64, i64)],
    end: i64,
) -> Option<i64> {
    let stopped = |at: i64| stops.iter().any(|(from, to)| (*from..*to).contains(&at));
    let in_force = |at: i64| changes.iter().rev().find(|(from, _)| *from <= at).copied();
    let first = in_force(since).or_else(|| changes.first().map(|(_, gap)| (since, *gap)));
    // Candidates: (gap, seconds that have run since the instant from which it counts).
    let mut clocks: Vec<(i64, i64)> =
        first.and_then(|(_, gap)| gap).map(|gap| (gap, 0)).into_iter().collect();
    let mut run_since_look = 0;
    let mut gap_now = first.and_then(|(_, gap)| gap);
    let mut at = since;
    while at <= end {
        if clocks.iter().any(|(gap, run)| run >= gap) {
            return Some(at);
        }
        if at > since
            && let Some((_, gap)) = changes.iter().rev().find(|(from, _)| *from == at)
        {
            match (gap_now, gap) {
                (_, None) => clocks.clear(),
                (None, Some(gap)) => clocks = vec![(*gap, 0)],
                (Some(before), Some(gap)) if *gap < before => clocks.push((*gap, 0)),
                (Some(before), Some(gap)) if *gap > before => {
                    // What was due before may still be later.
                    let left = clocks.iter().map(|(gap, run)| gap - run).min().unwrap_or(i64::MAX);
                    clocks = vec![if gap - run_since_look >= left {
                        (*gap, run_since_look)
                    } else {
                        (left, 0)
                    }];
                }
                (Some(_), Some(_)) => {}
            }
            gap_now = *gap;
        }
        if !stopped(at) {
            clocks.iter_mut().for_each(|(_, run)| *run += 1);
            run_since_look += 1;
        }
        at += 1;
    }
    None
}

/// Stretches in order, apart.
fn stretches() -> impl Strategy<Value = Vec<(i64, i64)>> {
    prop::collection::vec((1i64..40, 1i64..30), 0..4).prop_map(|steps| {
        let mut at = 0;
        let mut all = Vec::new();
        for (wait, length) in steps {
            all.push((at + wait, at + wait + length));
            at += wait + length + 1;
        }
        all
    })
}

/// Changes of the demand at different instants, the first before every look.
fn changes() -> impl Strategy<Value = Vec<(i64, Option<i64>)>> {
    let gap = prop::option::weighted(0.85, 1i64..50);
    (gap.clone(), prop::collection::vec((1i64..40, gap), 0..4)).prop_map(|(first, more)| {
        let mut at = -1;
        let mut all = vec![(at, first)];
        for (wait, gap) in more {
            at += wait;
            all.push((at, gap));
        }
        all
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4000))]

    #[test]
    fn due_instants_equal_those_found_second_by_second(
        changes in changes(), since in 0i64..60, stops in stretches(),
    ) {
        let scaled = stops.iter().map(|(from, to)| (from * 1000, to * 1000)).collect();
        let epochs = Epochs::from_changes(
            changes.iter().map(|(at, gap)| (at * 1000, gap.map(|gap| gap as u32))).collect(),
        );
        let due = epochs.due(since * 1000, &Stopped::from_stretches(scaled));
        // A look while the rounds are stopped counts from the end of the stop, so only its clock waits.
        prop_assert_eq!(
            due.map(|(due_ms, _)| due_ms / 1000),
            due_by_walking(&changes, since, &stops, 2000)
        );
    }

    #[test]
    fn stopped_time_within_a_stretch_is_the_sum_of_its_seconds(
        stops in stretches(), from in 0i64..100, length in 0i64..200,
    ) {
        let stopped = Stopped::from_stretches(stops.clone());
        let counted = (from..from + length)
            .filter(|at| stops.iter().any(|(start, end)| (*start..*end).contains(at)))
            .count() as i64;
        prop_assert_eq!(stopped.within(from, from + length), counted);
    }
}
