//! The bundle of a watch.

use crate::{Target, seeds, text};
use std::sync::LazyLock;

pub(crate) const TARGET: Target = Target {
    name: "bundle",
    says: "a bundle holds whole only if it is, byte for byte, one that was written",
    reads,
    seeds: || GOOD.clone(),
    longest: 96 * 1024,
};

static GOOD: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| {
    let night = "site: Gannet Hotel, 3 Harbour Row, Gannet\nid: w-1\ndate: 2026-02-10\nwatch: 20:00 to 21:00\ngap floor-1: 30 min\npeople: Ines\n\n20:00 Ines begins until 21:00\n20:01 Ines sees floor-1\n";
    let told = night::tell(&text(night.as_bytes())).expect("a night");
    vec![seeds::file("docs/spec/vectors/good.zip"), told.bundle().expect("a bundle")]
});

fn reads(bytes: &[u8]) {
    let opened = bundle::open(bytes);
    let known = GOOD.iter().any(|good| good == bytes);
    assert_eq!(opened.verdict.ok, known, "{:?}", opened.verdict.faults);
    assert_eq!(opened.verdict.ok, opened.verdict.faults.is_empty(), "a bad verdict says why");
}
