//! Was the watch kept: one file per rule, each a function from the state of a watch to findings.
//!
//! A finding states facts, the lines it rests on and where the demand comes from. It holds no
//! sentence (`say` asks `words` for those) and no number of its own: what is allowed stands in the
//! record, what is demanded in `standards/`.
//!
//! A new rule is a file here, a line in [`rules!`](self) below and its words.

mod judging;
mod limits;
#[cfg(test)]
pub(crate) mod tests;

pub use judging::{Judging, Source};
pub(crate) use limits::faster_than_anybody;

use ledger::LineId;
use record::ZoneId;
use serde::Serialize;

/// How serious a finding is, the most serious first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// A demand was not met.
    Broken,
    /// The evidence conflicts, or there is none.
    Unclear,
    /// Somebody should look; nothing is said about anybody's honesty.
    Look,
    /// The demand was met.
    Kept,
}

/// What a rule says about a watch.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// What is stated, with the facts of its rule.
    #[serde(flatten)]
    pub facts: Facts,
    /// How serious.
    pub verdict: Verdict,
    /// About which zone.
    pub zone: Option<ZoneId>,
    /// From when, ms UTC.
    pub from_ms: Option<i64>,
    /// Until when, ms UTC.
    pub to_ms: Option<i64>,
    /// How long after their writing the lines were sealed, s; none while one is not.
    pub sealed_after_s: Option<i64>,
    /// The lines that it rests on.
    pub lines: Vec<LineId>,
    /// Where the demand comes from.
    pub source: Source,
}

impl Finding {
    /// The rule's name: its file.
    pub fn rule(&self) -> &'static str {
        self.facts.rule()
    }
}

/// Judges a watch by every rule, most serious first, then in the order of time.
pub fn judge(judging: &Judging<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (_, rule) in RULES {
        rule(judging, &mut findings);
    }
    let rank = |rule| RULES.iter().position(|(name, _)| *name == rule);
    findings.sort_by(|a, b| {
        let key = |f: &Finding| (f.verdict, f.from_ms, rank(f.rule()));
        key(a).cmp(&key(b)).then_with(|| a.zone.cmp(&b.zone)).then_with(|| a.lines.cmp(&b.lines))
    });
    findings
}

type Rule = fn(&Judging<'_>, &mut Vec<Finding>);

/// Makes the list of rules and the enum of their facts from one table.
macro_rules! rules {
    ($($name:ident: $facts:ident,)*) => {
        $(pub mod $name;)*

        /// The facts of a finding, one kind per rule.
        #[derive(Debug, Clone, PartialEq, Eq, Serialize)]
        #[serde(tag = "rule", content = "facts", rename_all = "snake_case")]
        pub enum Facts {
            $(
                #[doc = concat!("`", stringify!($name), "`")]
                $facts($name::$facts),
            )*
        }

        impl Facts {
            /// The rule's name.
            pub fn rule(&self) -> &'static str {
                match self { $(Facts::$facts(_) => stringify!($name),)* }
            }
        }

        /// Every rule by name, in the order in which equally serious findings are shown.
        pub const RULES: &[(&str, Rule)] = &[$((stringify!($name), $name::$name),)*];
    };
}

rules! {
    unseen_gap: UnseenGap,
    zone_never_seen: ZoneNeverSeen,
    cover_gap: CoverGap,
    relief_missing: ReliefMissing,
    first_round_late: FirstRoundLate,
    round_longer_than_gap: RoundLongerThanGap,
    tail_short: TailShort,
    look_back_missed: LookBackMissed,
    unknown_odour_closed: UnknownOdourClosed,
    observation_open_at_release: ObservationOpenAtRelease,
    observation_without_action: ObservationWithoutAction,
    released_by_other: ReleasedByOther,
    restoration_open: RestorationOpen,
    notice_owed: NoticeOwed,
    other_duty: OtherDuty,
    content_missing: ContentMissing,
    delivery_late: DeliveryLate,
    chain_fault: ChainFault,
    clock_moved: ClockMoved,
    written_before_event: WrittenBeforeEvent,
    two_places: TwoPlaces,
    paper_disagrees: PaperDisagrees,
    order_of_calls: OrderOfCalls,
    rounds_stopped: RoundsStopped,
    faster_than_walked: FasterThanWalked,
    silent_round: SilentRound,
    same_photo: SamePhoto,
    written_late: WrittenLate,
    written_in_batch: WrittenInBatch,
    times_by_hand: TimesByHand,
}
