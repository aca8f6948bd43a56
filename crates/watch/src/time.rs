//! The two columns of every judgement: when it was recorded, and between when it was sealed.

use crate::kept::{Kept, Via};
use crate::{Effective, Sealing};
use ledger::time::{Reason, Recorded, Standing};
use ledger::{DeviceId, LineId, PersonId};
use serde::Serialize;

/// When something is stated to have happened, and what is proved of its writing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct When {
    /// The time that counts, ms UTC: the stated or corrected one, else the recorded one.
    pub at_ms: i64,
    /// When it was written, by the device's corrected clock, ms UTC.
    pub recorded_ms: i64,
    /// Half-width of the recorded time, ms; none if the device's offset was never measured.
    pub half_width_ms: Option<i64>,
    /// What is proved of its writing.
    pub sealed: Sealed,
    /// Why the recorded time may not be judged by, if so.
    pub doubt: Option<Doubt>,
}

/// The interval in which the log proves that a line was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Sealed {
    /// Not before, ms UTC.
    pub not_before_ms: Option<i64>,
    /// Not after, ms UTC: none until it was received.
    pub not_after_ms: Option<i64>,
    /// The leaf's index.
    pub index: Option<u64>,
}

/// Why a recorded time may not be judged by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Doubt {
    /// The device's clock was never compared with the server's.
    NeverMeasured,
    /// The wall clock was set back.
    SetBack {
        /// By how much at least, ms.
        by_ms: i64,
    },
    /// The wall clock was set forward, and back again.
    SetForward {
        /// By how much at least, ms.
        by_ms: i64,
    },
    /// The clock was moved between two comparisons.
    OffsetMoved {
        /// By how much, ms.
        by_ms: i64,
    },
    /// The recorded time and the seal cannot both be true.
    OutsideSeal,
}

/// Which line stated something, who, when, and how it came.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Written {
    /// The line.
    pub line: LineId,
    /// Whose statement it is.
    pub who: PersonId,
    /// The device.
    pub dev: DeviceId,
    /// When.
    pub when: When,
    /// How it came.
    pub via: Via,
    /// The newest correction that counts, if any.
    pub corrected: Option<LineId>,
}

impl When {
    pub(crate) fn of(
        kept: &Kept,
        effective: &Effective,
        sealing: Option<&Sealing>,
        recorded: Recorded,
    ) -> When {
        let sealed = Sealed::of(sealing);
        let proved = ledger::time::Sealed {
            not_before_ms: sealed.not_before_ms,
            not_after_ms: sealed.not_after_ms,
        };
        let recorded = recorded.against(&proved);
        debug_assert_eq!(recorded.at_ms, kept.clk.recorded_ms());
        When {
            at_ms: effective.at_ms,
            recorded_ms: recorded.at_ms,
            half_width_ms: recorded.half_width_ms,
            sealed,
            doubt: match recorded.standing {
                Standing::Good { .. } => None,
                Standing::Conflicting(reason) => Some(Doubt::of(reason)),
            },
        }
    }

    /// How long after its writing the line was sealed, ms; none while it is not.
    pub fn sealed_after_ms(&self) -> Option<i64> {
        Some(self.sealed.not_after_ms?.saturating_sub(self.recorded_ms).max(0))
    }

    /// How long after the event it was written, ms; negative if before.
    pub fn written_after_ms(&self) -> i64 {
        self.recorded_ms.saturating_sub(self.at_ms)
    }
}

impl Sealed {
    fn of(sealing: Option<&Sealing>) -> Sealed {
        match sealing {
            None => Sealed::default(),
            Some(sealing) => Sealed {
                not_before_ms: sealing.not_before_ms,
                not_after_ms: Some(sealing.rx_ms.saturating_add(sealing.rxe_ms)),
                index: Some(sealing.index),
            },
        }
    }
}

impl Doubt {
    fn of(reason: Reason) -> Doubt {
        match reason {
            Reason::NeverMeasured => Doubt::NeverMeasured,
            Reason::SetBack { by_ms } => Doubt::SetBack { by_ms },
            Reason::SetForward { by_ms } => Doubt::SetForward { by_ms },
            Reason::OffsetMoved { by_ms } => Doubt::OffsetMoved { by_ms },
            Reason::OutsideSeal => Doubt::OutsideSeal,
        }
    }
}
