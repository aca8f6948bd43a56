//! How far the phone's clock is from the server's, and whether somebody moved it.
//!
//! Offset and error of one exchange are those of RFC 5905 section 8: with t0 and t3 on the phone and
//! t1 and t2 on the server, offset ((t1−t0)+(t2−t3))/2, round trip (t3−t0)−(t2−t1); the true offset
//! lies within half a round trip of the measured one if the server's clock is right.

use crate::moment::Moment;
use ledger::Clk;
use std::collections::VecDeque;

/// How many measurements are remembered; the one with the least error counts.
const REMEMBERED: usize = 8;

/// Wall against monotonic clock, beyond which the wall clock counts as moved back, ms.
pub const MOVED_BACK_MS: i64 = 2_000;

/// The same forwards, ms: a phone that sleeps stops its monotonic clock, so this is generous.
pub const MOVED_ON_MS: i64 = 60_000;

/// The phone's clock as the record needs it.
#[derive(Debug, Clone)]
pub struct Clock {
    boot: String,
    measured: VecDeque<Measured>,
    last: Option<Moment>,
    proven: Option<Proven>,
}

/// It was this time at least when the monotonic clock stood there.
#[derive(Debug, Clone, Copy)]
struct Proven {
    at_least_ms: i64,
    mono_ms: i64,
}

#[derive(Debug, Clone, Copy)]
struct Measured {
    off_ms: i64,
    err_ms: i64,
    mono_ms: i64,
}

/// The wall clock did not move with the monotonic one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// Wall minus monotonic progress, ms.
    pub by_ms: i64,
}

impl Clock {
    /// A clock for one start of the program, which `boot` names.
    pub fn new(boot: impl Into<String>) -> Clock {
        Clock { boot: boot.into(), measured: VecDeque::new(), last: None, proven: None }
    }

    /// The clocks as a line states them.
    pub fn clk(&self, at: &Moment) -> Clk {
        let best = self.best(at);
        Clk {
            wall: at.wall_ms,
            mono: at.mono_ms,
            boot: self.boot.clone(),
            off: best.map(|m| m.off_ms),
            err: best.map(|m| m.err_ms),
            age: best.map(|m| (at.mono_ms - m.mono_ms).max(0)),
            tz: at.tz_min,
        }
    }

    /// The best guess of the time, ms UTC: never before what is proven, so that a clock that was
    /// set back takes no watch from the screen. What lines state is not touched by this.
    pub fn now_ms(&self, at: &Moment) -> i64 {
        let guess_ms = at.wall_ms + self.best(at).map_or(0, |m| m.off_ms);
        let proven = self.proven.map(|p| p.at_least_ms + (at.mono_ms - p.mono_ms).max(0));
        guess_ms.max(proven.unwrap_or(i64::MIN))
    }

    /// A receipt, or what was known before the wall clock was set back, shows that it is later than
    /// this, ms UTC.
    pub fn is_later_than(&mut self, at_least_ms: i64, at: &Moment) {
        let proven = Proven { at_least_ms, mono_ms: at.mono_ms };
        if self.proven.is_none_or(|p| p.at_least_ms < at_least_ms) {
            self.proven = Some(proven);
        }
    }

    /// Takes the four times of one exchange.
    pub fn heard(&mut self, t0: i64, t1: i64, t2: i64, t3: &Moment) {
        let round_trip_ms = (t3.wall_ms - t0) - (t2 - t1);
        if round_trip_ms < 0 {
            return;
        }
        if self.measured.len() == REMEMBERED {
            self.measured.pop_front();
        }
        let off_ms = ((t1 - t0) + (t2 - t3.wall_ms)) / 2;
        let err_ms = round_trip_ms / 2 + round_trip_ms % 2;
        self.measured.push_back(Measured { off_ms, err_ms, mono_ms: t3.mono_ms });
    }

    /// Goes on with what an earlier start of the program had measured, as its last line states it.
    /// The offset belongs to the wall clock, which ran on meanwhile; whether somebody moved it, the
    /// next measurement shows, and whoever judges compares the two.
    pub fn resume(&mut self, last: &Clk, at: &Moment) {
        let (Some(off_ms), Some(err_ms), Some(age_ms)) = (last.off, last.err, last.age) else {
            return;
        };
        let since_ms = at.wall_ms - (last.wall - age_ms);
        if self.measured.is_empty() && since_ms >= 0 {
            let mono_ms = at.mono_ms - since_ms;
            self.measured.push_back(Measured { off_ms, err_ms, mono_ms });
        }
    }

    /// Compares the clocks with the event before. An offset belongs to the wall clock: where that was
    /// set back the monotonic clock carries it over, with an error as large as the step, since a sleep
    /// in between would not show. A wall clock that ran ahead of the monotonic one may only have slept.
    pub fn step(&mut self, at: &Moment) -> Option<Step> {
        let last = self.last.replace(*at)?;
        let by_ms = (at.wall_ms - last.wall_ms) - (at.mono_ms - last.mono_ms);
        if by_ms < -MOVED_BACK_MS {
            self.is_later_than(self.now_ms(&last), &last);
            for measured in &mut self.measured {
                measured.off_ms -= by_ms;
                measured.err_ms += by_ms.abs();
            }
        }
        (!(-MOVED_BACK_MS..=MOVED_ON_MS).contains(&by_ms)).then_some(Step { by_ms })
    }

    fn best(&self, at: &Moment) -> Option<&Measured> {
        self.measured.iter().min_by_key(|m| m.err_ms + (at.mono_ms - m.mono_ms).max(0) / 10_000)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(wall_ms: i64, mono_ms: i64) -> Moment {
        Moment { wall_ms, mono_ms, tz_min: 0, site_tz_min: None, random: [0; 16] }
    }

    /// RFC 5905 section 8, with a phone 1000 ms behind and a path of 40 ms up and 60 ms down.
    #[test]
    fn offset_and_error_are_those_of_the_standard() {
        let mut clock = Clock::new("b");
        clock.heard(10_000, 11_040, 11_050, &at(10_110, 110));
        let clk = clock.clk(&at(10_110, 110));
        assert_eq!((clk.off, clk.err, clk.age), (Some(990), Some(50), Some(0)));
        assert!((clk.off.unwrap() - 1000).abs() <= clk.err.unwrap());
    }

    #[test]
    fn a_restart_without_network_keeps_the_offset_and_its_age() {
        let mut before = Clock::new("b1");
        before.heard(10_000, 11_040, 11_050, &at(10_110, 110));
        let last = before.clk(&at(20_110, 10_110));
        let mut after = Clock::new("b2");
        after.resume(&last, &at(50_110, 7));
        let clk = after.clk(&at(50_110, 7));
        assert_eq!((clk.off, clk.err, clk.age), (Some(990), Some(50), Some(40_000)));
        let mut moved = Clock::new("b3");
        moved.resume(&last, &at(5_000, 7));
        assert_eq!(
            moved.clk(&at(5_000, 7)).off,
            None,
            "a clock behind the measurement was set back"
        );
    }

    #[test]
    fn a_clock_set_back_before_a_restart_is_never_before_a_receipt() {
        let mut clock = Clock::new("b2");
        clock.is_later_than(1_000_000, &at(200, 7));
        assert_eq!(clock.now_ms(&at(200, 7)), 1_000_000);
        assert_eq!(clock.now_ms(&at(5_200, 5_007)), 1_005_000, "and it goes on");
        assert_eq!(clock.clk(&at(5_200, 5_007)).recorded_ms(), 5_200, "lines state what was read");
        assert_eq!(clock.now_ms(&at(2_000_000, 6_000)), 2_000_000, "a later guess stands");
    }

    #[test]
    fn the_shortest_path_counts_until_it_is_old() {
        let mut clock = Clock::new("b");
        clock.heard(0, 505, 505, &at(10, 10));
        clock.heard(1_000, 1_700, 1_700, &at(1_400, 1_400));
        assert_eq!(clock.clk(&at(2_000, 2_000)).off, Some(500));
        assert_eq!(clock.clk(&at(2_000_000, 3_000_000)).off, Some(500));
    }

    #[test]
    fn a_clock_set_back_is_noticed_and_sleep_is_told_apart() {
        let mut clock = Clock::new("b");
        assert_eq!(clock.step(&at(1_000_000, 0)), None);
        assert_eq!(clock.step(&at(1_060_000, 60_000)), None);
        clock.heard(1_060_000, 5, 5, &at(1_060_000, 60_000));
        assert_eq!(clock.step(&at(1_000_000, 61_000)), Some(Step { by_ms: -61_000 }));
        let carried = clock.clk(&at(1_000_000, 61_000));
        assert_eq!((carried.recorded_ms(), carried.err), (1_005, Some(61_000)));
        assert_eq!(clock.step(&at(1_600_000, 62_000)), Some(Step { by_ms: 599_000 }));
    }
}
