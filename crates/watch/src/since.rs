//! What the record says otherwise about a stretch than it did before: lines that came in since, and
//! lines that later corrections changed.

use crate::kept::Kept;
use crate::watch::Watch;
use ledger::LineId;
use record::Entry;

/// How a line differs from what was known before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Changed {
    /// It was not known.
    Added,
    /// It counted, and no longer does.
    TakenBack,
    /// Its time, place or severity was corrected.
    Corrected,
}

/// A line that differs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The line.
    pub line: LineId,
    /// How.
    pub how: Changed,
}

impl Watch {
    /// What differs from an earlier state of knowledge about a stretch, in the order in which it
    /// happened. What the machines write about themselves and about the record changes nothing.
    pub fn changes_since(&self, earlier: &Watch, from_ms: i64, until_ms: i64) -> Vec<Change> {
        let within = |at_ms: i64| (from_ms..=until_ms).contains(&at_ms);
        let differs = |kept: &Kept| {
            let now = self.effective(kept.id)?;
            let Some(before) = earlier.effective(kept.id) else {
                let added = within(now.at_ms) && states_something(&kept.said);
                return added.then_some(Changed::Added);
            };
            let touched = now != before && (within(now.at_ms) || within(before.at_ms));
            touched.then_some(match now.withdrawn_by {
                Some(_) if before.withdrawn_by.is_none() => Changed::TakenBack,
                _ => Changed::Corrected,
            })
        };
        self.lines()
            .filter_map(|kept| Some(Change { line: kept.id, how: differs(kept)? }))
            .collect()
    }
}

/// Whether a line that comes in late makes a report say something else. A correction shows at the line
/// that it corrects.
fn states_something(entry: &Entry) -> bool {
    !matches!(
        entry,
        Entry::Corrected(_)
            | Entry::SealedChains(_)
            | Entry::Tick(_)
            | Entry::Anchored(_)
            | Entry::Heartbeat(_)
            | Entry::Clock(_)
            | Entry::Unheard(_)
            | Entry::Alerted(_)
            | Entry::Acknowledged(_)
            | Entry::Delivered(_)
            | Entry::Exported(_)
            | Entry::Viewed(_)
            | Entry::FileBrought(_)
            | Entry::Erased(_)
            | Entry::SettingChanged(_)
    )
}
