//! What only the house states. A phone's signature shows that its guard wrote a line; it does not make a
//! guard the one who sets terms, lifts a hold or erases somebody's words. Such a line of a phone is
//! refused, also where it stands inside one that was phoned in or typed from paper.

use ledger::Line;

/// Kinds of entries that the server's own chain states, and no phone's.
const KINDS: &[&str] = &[
    "alerted",
    "anchored",
    "delivered",
    "erased",
    "exported",
    "file_brought",
    "hold_lifted",
    "plan_set",
    "restored",
    "revoked",
    "scheduled",
    "sealed",
    "setting_changed",
    "terms_set",
    "tick",
    "unheard",
    "viewed",
    "watch_opened",
    "watch_released",
];

/// In the chain of a watch only the house says that a device was let in: a shift goes on there. About
/// itself, in the chain of the organisation, each phone says it.
const IN_A_WATCH: &str = "enrolled";

/// The kind that this line of a phone states and may not.
pub(crate) fn refuses(line: &Line) -> Option<&'static str> {
    let told = matches!(line.kind.as_str(), "phoned_in" | "transcribed");
    let inner = line.body.get("states").and_then(|states| states.as_str()).filter(|_| told);
    let states = [Some(line.kind.as_str()), inner];
    let kinds = KINDS.iter().copied().chain((!line.watch.is_org()).then_some(IN_A_WATCH));
    kinds.into_iter().find(|kind| states.contains(&Some(*kind)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_is_a_kind_of_the_record() {
        for kind in KINDS {
            assert!(record::Entry::KINDS.contains(kind), "{kind}");
        }
    }
}
