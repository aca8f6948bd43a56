//! A night told in text.

use crate::{Target, seeds, text};

pub(crate) const TARGET: Target = Target {
    name: "night",
    says: "a night that can be told gives a bundle that holds; another one names its line",
    reads,
    seeds: || seeds::folder("fixtures/nights"),
    longest: 8 * 1024,
};

fn reads(bytes: &[u8]) {
    let text = &*text(bytes);
    match night::tell(text) {
        Ok(record) => {
            let zip = record.bundle().expect("a told night can be kept");
            let opened = bundle::open(&zip);
            assert!(opened.verdict.ok, "{:?}", opened.verdict.faults);
            assert!(opened.lines.len() >= record.lines.len(), "no line that was told is lost");
        }
        Err(fault) => assert!(fault.line <= text.lines().count() + 1, "{fault}"),
    }
}
