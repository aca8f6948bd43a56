//! Re-verifies a written-out plan from the raw data. It shares no code with whatever made the plan.

use crate::timetable::Look;

/// The raw data: walking times row by row, how long each look takes, the longest gap of each stop,
/// and who may look where (empty: everybody everywhere). All times in milliseconds.
#[derive(Clone, Copy, Debug)]
pub struct Raw<'a> {
    /// Walking time from stop `a` to stop `b` at `a * stops + b`.
    pub walk_ms: &'a [i64],
    /// Shortest look at each stop.
    pub stay_ms: &'a [i64],
    /// Longest time between the ends of two looks at each stop.
    pub gap_ms: &'a [i64],
    /// For each guard, for each stop.
    pub may: &'a [Vec<bool>],
}

/// What is wrong with a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Broken {
    /// The tables do not fit each other, or a look names a stop that is not there.
    Shape,
    /// A guard cannot have walked and looked that fast.
    TooFast {
        /// Which guard.
        guard: usize,
        /// The look that ends too early.
        look: Look,
        /// When it could end at the earliest.
        earliest_ms: i64,
    },
    /// A guard looks where that guard may not go.
    NotAllowed {
        /// Which guard.
        guard: usize,
        /// Which stop.
        stop: usize,
    },
    /// A stop stays unseen too long.
    Unseen {
        /// Which stop.
        stop: usize,
        /// From when, in milliseconds after the opening, or after now and then perhaps below zero.
        from_ms: i64,
        /// How long.
        lasts_ms: i64,
    },
}

/// Everything wrong with a plan between the opening and `until_ms`; empty when it keeps all demands.
pub fn check(raw: &Raw<'_>, plan: &[Vec<Look>], until_ms: i64) -> Vec<Broken> {
    verify(raw, None, &vec![0; raw.stay_ms.len()], plan, until_ms)
}

/// The same from the middle of a watch on: each guard stands at a stop and is free to walk on after some milliseconds, or
/// is gone; each stop was last seen so long ago.
pub fn check_from(
    raw: &Raw<'_>,
    from: &[Option<(usize, i64)>],
    seen_ago_ms: &[i64],
    plan: &[Vec<Look>],
    until_ms: i64,
) -> Vec<Broken> {
    verify(raw, Some(from), seen_ago_ms, plan, until_ms)
}

fn verify(
    raw: &Raw<'_>,
    from: Option<&[Option<(usize, i64)>]>,
    seen_ago_ms: &[i64],
    plan: &[Vec<Look>],
    until_ms: i64,
) -> Vec<Broken> {
    let n = raw.stay_ms.len();
    let stands = from.is_none_or(|from| {
        from.len() == plan.len()
            && from.iter().zip(plan).all(|(at, looks)| match at {
                Some((stop, _)) => *stop < n,
                None => looks.is_empty(),
            })
    });
    let fits = stands
        && seen_ago_ms.len() == n
        && raw.gap_ms.len() == n
        && raw.walk_ms.len() == n * n
        && plan.iter().flatten().all(|l| l.stop < n)
        && (raw.may.is_empty()
            || (raw.may.len() == plan.len() && raw.may.iter().all(|m| m.len() == n)));
    if !fits {
        return vec![Broken::Shape];
    }
    let mut broken = Vec::new();
    let mut seen: Vec<Vec<i64>> = vec![Vec::new(); n];
    for (guard, looks) in plan.iter().enumerate() {
        for (i, look) in looks.iter().enumerate() {
            let before = match i.checked_sub(1) {
                Some(before) => Some((looks[before].stop, looks[before].end_ms)),
                None => from.and_then(|from| from[guard]),
            };
            if let Some((stop, free_ms)) = before {
                let earliest_ms =
                    free_ms + raw.walk_ms[stop * n + look.stop] + raw.stay_ms[look.stop];
                if look.end_ms < earliest_ms {
                    broken.push(Broken::TooFast { guard, look: *look, earliest_ms });
                }
            }
            if !raw.may.is_empty() && !raw.may[guard][look.stop] {
                broken.push(Broken::NotAllowed { guard, stop: look.stop });
            }
            seen[look.stop].push(look.end_ms);
        }
    }
    for (stop, times) in seen.iter_mut().enumerate() {
        times.sort_unstable();
        let mut from_ms = -seen_ago_ms[stop];
        for &end in times.iter().chain(std::iter::once(&until_ms)) {
            if end - from_ms > raw.gap_ms[stop] {
                broken.push(Broken::Unseen { stop, from_ms, lasts_ms: end - from_ms });
            }
            from_ms = end;
        }
    }
    broken
}

#[cfg(test)]
mod tests {
    use super::*;

    fn broken(looks: &[&[(usize, i64)]], until_ms: i64) -> Vec<Broken> {
        let plan: Vec<Vec<Look>> = looks
            .iter()
            .map(|g| g.iter().map(|&(stop, end_ms)| Look { stop, end_ms }).collect())
            .collect();
        let raw = Raw { walk_ms: &[0, 10, 10, 0], stay_ms: &[2, 2], gap_ms: &[30, 30], may: &[] };
        check(&raw, &plan, until_ms)
    }

    #[test]
    fn a_plan_that_keeps_everything_passes() {
        assert_eq!(broken(&[&[(0, 2), (1, 14), (0, 26), (1, 38)]], 40), []);
    }

    #[test]
    fn too_fast_unseen_at_the_start_between_and_at_the_end_are_found() {
        assert_eq!(
            broken(&[&[(0, 2), (1, 13)]], 20),
            [Broken::TooFast { guard: 0, look: Look { stop: 1, end_ms: 13 }, earliest_ms: 14 }]
        );
        assert_eq!(
            broken(&[&[(0, 31), (1, 43)]], 50),
            [
                Broken::Unseen { stop: 0, from_ms: 0, lasts_ms: 31 },
                Broken::Unseen { stop: 1, from_ms: 0, lasts_ms: 43 }
            ]
        );
        assert_eq!(broken(&[&[(0, 2)], &[(1, 2)]], 33).len(), 2);
    }

    #[test]
    fn from_the_middle_of_a_watch_places_and_last_looks_count() {
        let raw = Raw { walk_ms: &[0, 10, 10, 0], stay_ms: &[2, 2], gap_ms: &[30, 30], may: &[] };
        let at = |end_ms| vec![vec![Look { stop: 1, end_ms }]];
        let stands = [Some((0, 3))];
        assert_eq!(check_from(&raw, &stands, &[5, 15], &at(15), 20), []);
        assert_eq!(
            check_from(&raw, &stands, &[5, 16], &at(15), 20),
            [Broken::Unseen { stop: 1, from_ms: -16, lasts_ms: 31 }]
        );
        assert!(matches!(
            check_from(&raw, &stands, &[5, 15], &at(14), 20)[..],
            [Broken::TooFast { earliest_ms: 15, .. }]
        ));
        assert_eq!(check_from(&raw, &[None], &[0, 0], &at(15), 20), [Broken::Shape]);
    }

    #[test]
    fn a_closed_door_is_found() {
        let plan = vec![vec![Look { stop: 1, end_ms: 5 }]];
        let may = [vec![true, false]];
        let raw = Raw { walk_ms: &[0, 1, 1, 0], stay_ms: &[1, 1], gap_ms: &[9, 9], may: &may };
        assert_eq!(check(&raw, &plan, 9), [Broken::NotAllowed { guard: 0, stop: 1 }]);
    }
}
