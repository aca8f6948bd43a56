//! A receipt: the leaf, the way to the root, the head (C2SP tlog-proof).

use crate::{Target, seeds, text};
use ledger::{Digest, Proof, Receipt, Vkey};
use std::sync::LazyLock;

pub(crate) const TARGET: Target = Target {
    name: "receipt",
    says: "what reads as a receipt is written again to the same text; a changed one is never believed",
    reads,
    seeds: || GOOD.clone(),
    longest: 16 * 1024,
};

static GOOD: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| seeds::vectors("receipts.jsonl", "receipt"));

static KEYS: LazyLock<Vec<Vkey>> = LazyLock::new(|| {
    let keys = seeds::vectors("receipts.jsonl", "vkey");
    keys.iter().filter_map(|key| text(key).parse().ok()).collect()
});

fn reads(bytes: &[u8]) {
    let text = &*text(bytes);
    if let Ok(receipt) = Receipt::parse(text) {
        assert_eq!(receipt.to_string(), text, "a receipt has one form");
        if receipt.verify(&KEYS).is_ok() {
            let known = GOOD.iter().any(|good| same_but_for_signers(good, bytes));
            assert!(known, "believed, and it is none of those that were given out");
        }
    }
    if let Ok(proof) = Proof::parse(text) {
        assert_eq!(proof.to_string(), text, "a proof has one form");
        let _ = proof.verify(&Digest::of(bytes), &[]);
    }
}

/// Signatures of keys that nobody here knows may stand under a note (C2SP signed-note): the rest must be the same.
fn same_but_for_signers(a: &[u8], b: &[u8]) -> bool {
    let rest = |bytes: &[u8]| -> Vec<String> {
        let text = String::from_utf8_lossy(bytes);
        text.lines().filter(|line| !line.starts_with('—')).map(str::to_owned).collect()
    };
    rest(a) == rest(b)
}
