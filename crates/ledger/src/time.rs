//! When did it happen: the recorded time of every line of a chain, and the interval in which the log
//! sealed it.
//!
//! **Recorded** is the device's own claim: its wall clock corrected by the offset to the server that
//! it last measured, cross-checked with its monotonic clock and with the next measurement.
//! **Sealed** is what the log proves: not before the head that the line quotes, not after its receipt.
//! The two are never mixed: a claim that cannot be true is marked, not corrected.
//!
//! What the clocks of one start of a program (one `boot`) can show:
//! - the monotonic clock may stand still while a device sleeps, but never runs ahead of true time;
//! - so a wall clock that falls behind it was set back: certain;
//! - a wall clock that runs ahead of it slept or was set forward: the next measured offset decides.

use crate::line::{Clk, Line};
use crate::verified::Verified;
use std::fmt;

/// How far wall and monotonic clock may drift apart before one of them counts as moved, ms.
/// Ours: above the steps by which phones discipline their clocks, far below a minute of a round.
pub const AGREE_MS: i64 = 2_000;

/// When a line says that it was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Recorded {
    /// The corrected time, ms UTC.
    pub at_ms: i64,
    /// Half-width of its error, ms: the measured error grown by 100 ppm of its age. None if the
    /// device had never measured its offset.
    pub half_width_ms: Option<i64>,
    /// Whether the clocks bear it out.
    pub standing: Standing,
}

/// Whether a recorded time may be judged by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The clocks agree.
    Good {
        /// Whether an offset measured afterwards agreed too; until then nothing contradicts it, but
        /// a device that slept could still turn out to have been moved.
        confirmed: bool,
    },
    /// The clocks contradict each other, or there is nothing to judge by.
    Conflicting(Reason),
}

/// Why a recorded time may not be judged by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reason {
    /// No offset to the server had been measured yet.
    NeverMeasured,
    /// The wall clock fell behind the monotonic one: it was set back.
    SetBack {
        /// By how much at least, ms.
        by_ms: i64,
    },
    /// The wall clock ran ahead of the monotonic one and came back: it was set forward for a while.
    SetForward {
        /// By how much at least, ms.
        by_ms: i64,
    },
    /// The offset measured after the stretch differs from the one before by more than both errors:
    /// the wall clock was set in between.
    OffsetMoved {
        /// After minus before, ms.
        by_ms: i64,
    },
    /// The recorded time lies before the head that the line quotes, or after its receipt.
    OutsideSeal,
}

/// The interval that the log proves, by the server's clock, its error included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Sealed {
    /// The line was written after this, ms UTC: the newest head it quotes existed. None if it
    /// quotes no head.
    pub not_before_ms: Option<i64>,
    /// The line was written before this, ms UTC: the server had received it. None until it has.
    pub not_after_ms: Option<i64>,
}

impl Recorded {
    /// Earliest and latest time, ms UTC; none if the error is unknown.
    pub fn bounds_ms(&self) -> Option<(i64, i64)> {
        let half = self.half_width_ms?;
        Some((self.at_ms.saturating_sub(half), self.at_ms.saturating_add(half)))
    }

    /// Whether this may be judged by.
    pub fn is_good(&self) -> bool {
        matches!(self.standing, Standing::Good { .. })
    }

    /// The same, conflicting if it and the seal cannot both be true.
    pub fn against(self, sealed: &Sealed) -> Recorded {
        match (self.standing, self.bounds_ms()) {
            (Standing::Good { .. }, Some(bounds)) if !sealed.overlaps(bounds) => {
                Recorded { standing: Standing::Conflicting(Reason::OutsideSeal), ..self }
            }
            _ => self,
        }
    }
}

impl Sealed {
    /// From the time of receipt of the last leaf under the quoted head and of the line's own leaf,
    /// each with the half-width of the server's error, ms.
    pub fn between(quoted: Option<(i64, i64)>, received: Option<(i64, i64)>) -> Sealed {
        Sealed {
            not_before_ms: quoted.map(|(rx, rxe)| rx.saturating_sub(rxe)),
            not_after_ms: received.map(|(rx, rxe)| rx.saturating_add(rxe)),
        }
    }

    /// Whether some instant of `(earliest, latest)` is possible.
    pub fn overlaps(&self, (earliest, latest): (i64, i64)) -> bool {
        self.not_before_ms.is_none_or(|start| latest >= start)
            && self.not_after_ms.is_none_or(|end| earliest <= end)
    }

    /// How long after `recorded` the seal closed at the latest, ms; none while it is open.
    pub fn late_ms(&self, recorded: &Recorded) -> Option<i64> {
        Some(self.not_after_ms?.saturating_sub(recorded.at_ms).max(0))
    }
}

/// The recorded times of verified lines of one chain, given in order of `seq`.
pub fn recorded<'l>(lines: impl IntoIterator<Item = &'l Verified<Line>>) -> Vec<Recorded> {
    recorded_from_clocks(lines.into_iter().map(|line| &line.clk))
}

/// The recorded times of clocks read one after the other on one device.
pub fn recorded_from_clocks<'c>(clocks: impl IntoIterator<Item = &'c Clk>) -> Vec<Recorded> {
    let clocks: Vec<&Clk> = clocks.into_iter().collect();
    let mut times = Vec::with_capacity(clocks.len());
    let mut rest = clocks.as_slice();
    while let Some(first) = rest.first() {
        let same = rest.iter().take_while(|clk| same_measurement(first, clk)).count();
        let (stretch, later) = rest.split_at(same);
        let after = later.iter().find_map(|clk| Measured::of(clk));
        times.extend(stretch_times(stretch, after));
        rest = later;
    }
    times
}

/// Judges the lines that rest on one measurement of the offset, by the next one.
fn stretch_times(stretch: &[&Clk], after: Option<Measured>) -> Vec<Recorded> {
    let before = stretch.first().and_then(|clk| Measured::of(clk));
    let moves = pace(stretch);
    let judge = |(clk, moved): (&&Clk, Option<Reason>)| {
        let at_ms = clk.recorded_ms();
        let Some(before) = before else {
            let standing = Standing::Conflicting(Reason::NeverMeasured);
            return Recorded { at_ms, half_width_ms: None, standing };
        };
        let standing = match (moved, after.map(|after| before.contradicted_by(after))) {
            (Some(reason), _) | (None, Some(Some(reason))) => Standing::Conflicting(reason),
            (None, Some(None)) => Standing::Good { confirmed: true },
            (None, None) => Standing::Good { confirmed: false },
        };
        // The monotonic age stands still in sleep, the error does not.
        let half_width_ms = Some(before.error_ms(at_ms.max(before.at_ms + clk.age.unwrap_or(0))));
        Recorded { at_ms, half_width_ms, standing }
    };
    stretch.iter().zip(moves).map(judge).collect()
}

/// One measurement of the offset.
#[derive(Clone, Copy)]
struct Measured {
    at_ms: i64,
    off_ms: i64,
    err_ms: i64,
}

impl Measured {
    fn of(clk: &Clk) -> Option<Measured> {
        let at_ms = clk.recorded_ms().saturating_sub(clk.age.unwrap_or(0));
        Some(Measured { at_ms, off_ms: clk.off?, err_ms: clk.err? })
    }

    /// The error at another time: 100 ppm of the time between.
    fn error_ms(&self, at_ms: i64) -> i64 {
        self.err_ms.saturating_add(at_ms.saturating_sub(self.at_ms).max(0) / 10_000)
    }

    fn contradicted_by(&self, after: Measured) -> Option<Reason> {
        let by_ms = after.off_ms.saturating_sub(self.off_ms);
        let allowed_ms = self.error_ms(after.at_ms).saturating_add(after.err_ms);
        (by_ms.saturating_abs() > allowed_ms).then_some(Reason::OffsetMoved { by_ms })
    }
}

/// Whether two clocks rest on the same measurement: same values, and an age that tells the same
/// moment where the monotonic clock can tell.
fn same_measurement(first: &Clk, next: &Clk) -> bool {
    let same_moment = match (first.age, next.age) {
        (Some(first_age), Some(next_age)) if first.boot == next.boot => {
            (next.mono - next_age).abs_diff(first.mono - first_age) <= AGREE_MS as u64
        }
        (first_age, next_age) => first_age.is_some() == next_age.is_some(),
    };
    (first.off, first.err) == (next.off, next.err) && same_moment
}

/// For each clock, whether the wall clock was moved against the monotonic one inside its `boot`.
/// Sleep only ever puts the wall clock further ahead, so every step back is somebody's hand; a
/// reading that is ahead of both an earlier and a later one was moved forward and back again.
fn pace(stretch: &[&Clk]) -> Vec<Option<Reason>> {
    let mut reasons = Vec::with_capacity(stretch.len());
    for boot in stretch.chunk_by(|before, after| before.boot == after.boot) {
        let ahead_ms: Vec<i64> = boot.iter().map(|clk| clk.wall - clk.mono).collect();
        let mut lowest_after = ahead_ms.clone();
        for place in (1..lowest_after.len()).rev() {
            lowest_after[place - 1] = lowest_after[place - 1].min(lowest_after[place]);
        }
        let (mut lowest, mut highest) = (i64::MAX, i64::MIN);
        for (ahead, lowest_after) in ahead_ms.into_iter().zip(lowest_after) {
            (lowest, highest) = (lowest.min(ahead), highest.max(ahead));
            let back_ms = highest - ahead;
            let forward_ms = (ahead - lowest).min(ahead - lowest_after);
            reasons.push(if back_ms > AGREE_MS {
                Some(Reason::SetBack { by_ms: back_ms })
            } else if forward_ms > AGREE_MS {
                Some(Reason::SetForward { by_ms: forward_ms })
            } else {
                None
            });
        }
    }
    reasons
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Reason::NeverMeasured => f.write_str("never compared with the server's clock"),
            Reason::SetBack { by_ms } => write!(f, "clock set back by {} s", by_ms / 1000),
            Reason::SetForward { by_ms } => {
                write!(f, "clock set forward by {} s and back", by_ms / 1000)
            }
            Reason::OffsetMoved { by_ms } => {
                write!(f, "clock moved by {} s between two comparisons", by_ms / 1000)
            }
            Reason::OutsideSeal => f.write_str("recorded time and seal cannot both be true"),
        }
    }
}

#[cfg(test)]
mod tests;
