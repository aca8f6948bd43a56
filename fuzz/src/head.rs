//! A head of the log as a signed note, and the key that verifies it (C2SP signed-note and tlog-checkpoint).

use crate::{Target, seeds, text};
use ledger::note::Note;
use ledger::{SignedHead, Vkey};

pub(crate) const TARGET: Target = Target {
    name: "head",
    says: "what reads as a note, a head or a key is written again to the same text",
    reads,
    seeds: || {
        let mut seeds = seeds::vectors("heads.jsonl", "head");
        seeds.extend(seeds::vectors("heads.jsonl", "vkey"));
        seeds
    },
    longest: 4096,
};

fn reads(bytes: &[u8]) {
    let text = &*text(bytes);
    if let Ok(key) = text.parse::<Vkey>() {
        assert_eq!(key.to_string(), text, "a key has one form");
    }
    if let Ok(note) = Note::parse(text) {
        assert_eq!(note.to_string(), text, "a note has one form");
        assert!(text.starts_with(note.text()), "the text stands in front");
    }
    if let Ok(head) = SignedHead::parse(text) {
        assert_eq!(head.to_string(), text, "a head has one form");
        assert!(text.starts_with(&head.claimed().text()), "and its text too");
    }
}
