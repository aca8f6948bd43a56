//! The reasons behind terms, typed. `words` makes a sentence of each.

use crate::codes::{Known, Origin, Party, System, ZoneKind};
use crate::standards::{Citation, Demand, InForce, Missing};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// One reason.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "why", rename_all = "kebab-case")]
pub enum Because {
    /// A system was out for more than the limit in a rolling stretch, and still is.
    OutOverLimit {
        /// Which.
        system: System,
        /// How long it was out within the stretch that ends at the instant asked about.
        out_s: i64,
        /// The limit, to be passed strictly.
        limit_s: i64,
        /// The rolling stretch.
        window_s: i64,
        /// Since when a watch is owed.
        since: Timestamp,
        /// From where.
        source: Citation,
    },
    /// A system is out, not yet for more than the limit.
    OutWithinLimit {
        /// Which.
        system: System,
        /// How long it was out: so far, while it is out, else in the worst rolling stretch.
        worst_s: i64,
        /// The limit.
        limit_s: i64,
        /// The rolling stretch.
        window_s: i64,
        /// When the limit will be passed if it stays out.
        owed_from: Option<Timestamp>,
        /// From where.
        source: Citation,
    },
    /// A watch was owed, and the system is back.
    Restored {
        /// Which.
        system: System,
        /// Since when it was owed.
        since: Timestamp,
        /// When the system came back.
        until: Timestamp,
        /// From where.
        source: Citation,
    },
    /// The source counts the expected length, and it passes the limit.
    ExpectedOverLimit {
        /// Which.
        system: System,
        /// The limit.
        limit_s: i64,
        /// From where.
        source: Citation,
    },
    /// A source calls for a watch.
    Calls {
        /// What about.
        demand: Demand,
        /// The system, for an outage.
        system: Option<System>,
        /// From where.
        source: Citation,
    },
    /// A source leaves it to somebody.
    LeftTo {
        /// What about.
        demand: Demand,
        /// The system, for an outage.
        system: Option<System>,
        /// Who decides.
        decides: Party,
        /// From where.
        source: Citation,
    },
    /// The sources in force say nothing about what the facts state.
    NoRule {
        /// What about.
        demand: Demand,
        /// The system, for an outage.
        system: Option<System>,
    },
    /// A condition of a source does not hold.
    DoesNotHold {
        /// What about.
        demand: Demand,
        /// From where.
        source: Citation,
    },
    /// A fact is missing on which a source depends.
    FactMissing {
        /// What about.
        demand: Demand,
        /// The key of the fact.
        missing: Missing,
        /// From where.
        source: Citation,
    },
    /// Nothing is in force on that day.
    NothingInForce,
    /// The watch recurs in non-working hours.
    NonWorkingHours {
        /// The hours are stated.
        known: bool,
        /// From where.
        source: Citation,
    },
    /// Hot work ended, and is watched until.
    WatchedUntil {
        /// Last spark.
        last_spark: Timestamp,
        /// Until.
        until: Timestamp,
        /// From where.
        source: Citation,
    },
    /// The time after hot work has passed.
    TailEnded {
        /// When.
        until: Timestamp,
        /// From where.
        source: Citation,
    },
    /// The place was surveyed after hot work, and the source lets the watch end.
    Surveyed {
        /// From where.
        source: Citation,
    },
    /// A source demands a watch and states no number for this.
    NoNumber {
        /// What about.
        demand: Demand,
        /// Who decides.
        decides: Option<Party>,
        /// From where.
        source: Citation,
    },
    /// No source in force states a longest gap.
    NoGapStated,
    /// An order requires a watch.
    Ordered {
        /// From where.
        source: Citation,
    },
    /// The authority, by name and in writing, requires none.
    Waived {
        /// From where.
        source: Citation,
    },
    /// The watch was released.
    Released {
        /// When.
        at: Timestamp,
        /// From where.
        source: Citation,
    },
    /// An order is not given yet, or has ceased.
    NotInForce {
        /// From where.
        source: Citation,
    },
    /// Hot work where sprinklers are out needs somebody's leave.
    Conflict {
        /// Whose leave.
        decides: Party,
        /// From where.
        source: Citation,
    },
}

impl Because {
    /// The system that it speaks of.
    pub fn system(&self) -> Option<System> {
        match self {
            Self::OutOverLimit { system, .. }
            | Self::OutWithinLimit { system, .. }
            | Self::Restored { system, .. }
            | Self::ExpectedOverLimit { system, .. } => Some(*system),
            Self::Calls { system, .. }
            | Self::LeftTo { system, .. }
            | Self::NoRule { system, .. } => *system,
            _ => None,
        }
    }

    /// From where.
    pub fn source(&self) -> Option<&Citation> {
        match self {
            Self::OutOverLimit { source, .. }
            | Self::OutWithinLimit { source, .. }
            | Self::Restored { source, .. }
            | Self::ExpectedOverLimit { source, .. }
            | Self::Calls { source, .. }
            | Self::LeftTo { source, .. }
            | Self::DoesNotHold { source, .. }
            | Self::FactMissing { source, .. }
            | Self::NonWorkingHours { source, .. }
            | Self::WatchedUntil { source, .. }
            | Self::TailEnded { source, .. }
            | Self::Surveyed { source }
            | Self::NoNumber { source, .. }
            | Self::Ordered { source }
            | Self::Waived { source }
            | Self::Released { source, .. }
            | Self::NotInForce { source }
            | Self::Conflict { source, .. } => Some(source),
            Self::NoRule { .. } | Self::NothingInForce | Self::NoGapStated => None,
        }
    }
}

/// What stays out of the terms.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LeftOut {
    /// What about.
    pub demand: Demand,
    /// Why, in the words of the file.
    pub reason: String,
    /// From where.
    pub source: Citation,
}

impl LeftOut {
    pub(super) fn value(found: &InForce<'_>) -> Self {
        Self {
            demand: found.demand(),
            reason: found.value.left_out.clone().unwrap_or_default(),
            source: found.citation(),
        }
    }
}

/// A part of the terms.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TermName {
    /// Whether a watch is required.
    Required,
    /// Longest gap.
    Gap,
    /// First round.
    FirstRound,
    /// People on watch.
    People,
    /// Other duties.
    OtherDuties,
    /// Watch after hot work.
    WatchUntil,
    /// Checks after that.
    ChecksEvery,
    /// End of those checks.
    ChecksUntil,
    /// Keeping of the record.
    Retain,
}

/// The value that a part of the terms would have had.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TermValue {
    /// So many seconds.
    Seconds(i64),
    /// So many people.
    People(i64),
    /// An instant.
    At(Timestamp),
    /// Yes or no.
    Flag(bool),
}

/// Something that did not hold.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct GaveWay {
    /// Which part of the terms.
    pub term: TermName,
    /// For which zones.
    pub zones: ZoneKind,
    /// What it would have been.
    pub value: TermValue,
    /// From where.
    pub source: Citation,
    /// Why it did not hold.
    pub to: GaveWayTo,
}

/// Why something did not hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GaveWayTo {
    /// Something stricter is in force.
    Stricter,
    /// The authority ordered otherwise, by name, in writing, with its time.
    Authority,
    /// A later order of the authority.
    LaterOrder,
    /// Only the authority may loosen, and this is not the authority's.
    OnlyTheAuthorityLoosens,
    /// An order of the authority that loosens must give its name and time.
    NeedsNameAndTime,
}

impl Citation {
    /// An order as a source.
    pub(super) fn order(order: &super::facts::Order) -> Self {
        Self {
            profile: String::new(),
            source: order.by.clone().unwrap_or_default(),
            clause: order.reference.clone().unwrap_or_default(),
            year: None,
            known: Known::Read,
            from: order.from,
            given: order.at,
        }
    }

    /// Our own default, marked as ours.
    pub fn ours() -> Self {
        let nothing = String::new;
        Self {
            profile: nothing(),
            source: nothing(),
            clause: nothing(),
            year: None,
            known: Known::Read,
            from: Origin::House,
            given: None,
        }
    }
}
