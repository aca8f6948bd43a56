//! # What it computes
//! How long a system was out in any rolling stretch, and from which instant that is more than a limit.
//! # Why
//! The codes count hours "in a 24-hour period": cumulative, across midnight, not by calendar day, strictly "more than".
//! # Units
//! Milliseconds on the absolute time line, so that a change of clocks neither adds nor takes an hour.
//! # Formula
//! `S(t)` is the measure of the outages within `[t - window, t]`. While a system is out `S` never falls, so a watch owed
//! once stays owed until the system is back.

/// A stretch out of service, `[from, to]`, in milliseconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stretch {
    /// Beginning.
    pub from: i64,
    /// End, not before `from`.
    pub to: i64,
}

/// The outages of one system, merged: in order, apart from each other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outages(Vec<Stretch>);

impl Outages {
    /// Merges stretches that touch or overlap; two reports of one loss count once.
    pub fn new(mut stretches: Vec<Stretch>) -> Self {
        stretches.retain(|stretch| stretch.from <= stretch.to);
        stretches.sort_unstable();
        let mut merged: Vec<Stretch> = Vec::with_capacity(stretches.len());
        for stretch in stretches {
            match merged.last_mut() {
                Some(last) if stretch.from <= last.to => last.to = last.to.max(stretch.to),
                _ => merged.push(stretch),
            }
        }
        Self(merged)
    }

    /// The merged stretches.
    pub fn stretches(&self) -> &[Stretch] {
        &self.0
    }

    /// `S(t)`: how long the system was out within the `window` that ends at `t`.
    pub fn out_within(&self, window: i64, t: i64) -> i64 {
        let begin = t.saturating_sub(window);
        self.0.iter().map(|stretch| (stretch.to.min(t) - stretch.from.max(begin)).max(0)).sum()
    }

    /// The stretch that holds `t`, both ends included: at the instant of restoration it still counts.
    pub fn holding(&self, t: i64) -> Option<Stretch> {
        self.0.iter().copied().find(|stretch| stretch.from <= t && t <= stretch.to)
    }

    /// How long the system was out in the worst rolling stretch of all. `S` falls only while the system is in service, so
    /// the worst stretch ends where an outage does.
    pub fn worst(&self, window: i64) -> i64 {
        self.0.iter().map(|stretch| self.out_within(window, stretch.to)).max().unwrap_or(0)
    }

    /// The last instant in `stretch` at which `S` is not yet more than `limit`: a watch is owed after it. `None` when
    /// `S` stays within the limit to the end of the stretch.
    pub fn passes(&self, stretch: Stretch, window: i64, limit: i64) -> Option<i64> {
        if self.out_within(window, stretch.to) <= limit {
            return None;
        }
        // While the system is out `S` rises with slope 1, or rests where an older outage leaves the window at the same
        // pace; it never falls. So the instant is found after the last turn within the limit.
        let mut turns: Vec<i64> = vec![stretch.from];
        for older in &self.0 {
            turns.extend([older.from.saturating_add(window), older.to.saturating_add(window)]);
        }
        let inside = turns.into_iter().filter(|turn| (stretch.from..stretch.to).contains(turn));
        let last_within = inside.filter(|turn| self.out_within(window, *turn) <= limit).max();
        // Already over at the first instant: older outages alone filled the limit.
        let Some(within) = last_within else { return Some(stretch.from) };
        Some(within + (limit - self.out_within(window, within)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const MINUTE: i64 = 60_000;
    const DAY: i64 = 1_440 * MINUTE;

    fn outages(minutes: &[(i64, i64)]) -> Outages {
        Outages::new(
            minutes
                .iter()
                .map(|(from, to)| Stretch { from: from * MINUTE, to: to * MINUTE })
                .collect(),
        )
    }

    #[test]
    fn three_hours_at_22_and_at_21_the_next_day_make_exactly_four() {
        // regulations: 22:00 to 01:00, next day 21:00 to 24:00; derived by hand.
        let out = outages(&[(22 * 60, 25 * 60), (45 * 60, 48 * 60)]);
        assert_eq!(out.worst(DAY), 240 * MINUTE);
        let second = out.stretches()[1];
        assert_eq!(out.passes(second, DAY, 240 * MINUTE), None);
        assert_eq!(out.passes(second, DAY, 239 * MINUTE), Some((46 * 60 - 1) * MINUTE));
    }

    #[test]
    fn strictly_more_than() {
        let out = outages(&[(0, 240)]);
        assert_eq!(out.passes(out.stretches()[0], DAY, 240 * MINUTE), None);
        let longer = Outages::new(vec![Stretch { from: 0, to: 240 * MINUTE + 1 }]);
        assert_eq!(longer.passes(longer.stretches()[0], DAY, 240 * MINUTE), Some(240 * MINUTE));
    }

    #[test]
    fn a_limit_of_nothing_is_passed_at_once() {
        let out = outages(&[(5, 9)]);
        assert_eq!(out.passes(out.stretches()[0], DAY, 0), Some(5 * MINUTE));
    }

    /// Out from 0 to 2 h and again from 23 h: while the first two hours leave the window, from 24 h to 26 h, the sum rests at
    /// three hours. Derived by hand.
    #[test]
    fn a_sum_that_rests_passes_its_limit_after_the_rest() {
        let out = outages(&[(0, 120), (23 * 60, 30 * 60)]);
        let passes = |hours: i64| out.passes(out.stretches()[1], DAY, hours * 60 * MINUTE);
        assert_eq!(passes(3), Some(26 * 60 * MINUTE));
        assert_eq!(passes(4), Some(27 * 60 * MINUTE));
    }

    #[test]
    fn stretches_that_touch_are_one_and_one_that_ends_before_it_begins_is_none() {
        let out = outages(&[(120, 180), (0, 60), (60, 90), (200, 110)]);
        assert_eq!(out, outages(&[(0, 90), (120, 180)]));
        assert_eq!(out.stretches().len(), 2);
        assert_eq!(out.out_within(DAY, 300 * MINUTE), 150 * MINUTE);
    }

    #[test]
    fn a_stretch_holds_both_its_ends_and_nothing_between_two() {
        let out = outages(&[(0, 60), (120, 180)]);
        let held = |minute: i64| out.holding(minute * MINUTE).map(|stretch| stretch.from / MINUTE);
        assert_eq!(
            [-1, 0, 60, 61, 119, 120, 180, 181].map(held),
            [None, Some(0), Some(0), None, None, Some(120), Some(120), None]
        );
    }

    /// For each minute up to `last`, how many of the `window` minutes before it were out: by counting, one by one.
    fn counted(spans: &[(i64, i64)], window: i64, last: i64) -> Vec<i64> {
        let out: Vec<bool> =
            (0..=last).map(|m| spans.iter().any(|(from, to)| *from <= m && m < *to)).collect();
        let within = |t: i64| (0.max(t - window)..t).filter(|m| out[*m as usize]).count() as i64;
        (0..=last).map(within).collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]
        #[test]
        fn agrees_with_counting_minutes(
            starts in proptest::collection::vec((0_i64..1_500, 0_i64..300), 1..7),
            window in 1_i64..700,
            limit in 0_i64..400,
        ) {
            let spans: Vec<(i64, i64)> = starts.iter().map(|(from, long)| (*from, from + long)).collect();
            let out = outages(&spans);
            let last = 1_500 + 300 + window;
            let all = counted(&spans, window, last);
            for (t, counted) in all.iter().enumerate() {
                prop_assert_eq!(out.out_within(window * MINUTE, t as i64 * MINUTE), counted * MINUTE);
            }
            prop_assert_eq!(out.worst(window * MINUTE), all.iter().max().copied().unwrap_or(0) * MINUTE);
            for stretch in out.stretches() {
                let (from, to) = (stretch.from / MINUTE, stretch.to / MINUTE);
                let first_over = (from..=to).find(|t| all[*t as usize] > limit);
                let passes = out.passes(*stretch, window * MINUTE, limit * MINUTE).map(|t| t / MINUTE);
                // Counting whole minutes sees it one minute after the instant, or at the very beginning.
                match first_over {
                    None => prop_assert_eq!(passes, None),
                    Some(t) if t == from => prop_assert_eq!(passes, Some(from)),
                    Some(t) => prop_assert_eq!(passes, Some(t - 1)),
                }
            }
        }

        #[test]
        fn owed_once_stays_owed_until_the_system_is_back(
            starts in proptest::collection::vec((0_i64..4_000, 1_i64..700), 1..7),
            limit in 0_i64..800,
        ) {
            let spans: Vec<(i64, i64)> = starts.iter().map(|(from, long)| (*from, from + long)).collect();
            let out = outages(&spans);
            for stretch in out.stretches() {
                let mut owed = false;
                for t in stretch.from / MINUTE..=stretch.to / MINUTE {
                    let now = out.out_within(DAY, t * MINUTE) > limit * MINUTE;
                    prop_assert!(now || !owed);
                    owed = now;
                }
            }
        }
    }
}
