//! The bundle: the zip of one watch, with everything a stranger needs to verify it.
//!
//! Written by [`write`](fn@write) from [`BundleParts`], judged by [`verify`](fn@verify), opened by [`read`](fn@read).
//! The files in it are listed in [`names`]; the page is `docs/spec/log.md`. Pure: bytes come and go,
//! threads are the caller's ([`Workers`]). It knows of the kinds of entry only what decides whom to
//! trust and what may be missing: enrolments, seals, erasures and the digests of blobs.

pub mod archive;
mod blobs;
pub mod names;
mod parts;
mod read;
mod row;
pub mod source;
mod verdict;
mod verify;
mod workers;
mod write;

pub use archive::ArchiveFault;
pub use blobs::blobs_named;
pub use parts::{BundleParts, KeptLine, LogParts, Stamp};
pub use read::{Bundle, Opened, SealedLine, open, read};
pub use source::Source;
pub use verdict::{Fault, FaultKind, HeadSeen, Verdict};
pub use verify::{How, verify, verify_with};
pub use workers::{OneThread, Workers};
pub use write::{WriteFault, write};

/// The page inside every bundle that says how to verify it by hand.
pub const README: &str = include_str!("../inside/README.md");

/// The program inside every bundle that verifies it without this one.
pub const VERIFY_PY: &str = include_str!("../inside/verify.py");

/// Digests of every README.md and verify.py that a bundle was ever written with. Only ever added to:
/// bundles are kept for decades.
const KNOWN_INSIDE: &[(&str, &str)] = &[
    ("README.md", "7d049f53954f0daa65f9044be8a719599abd21726f2f1800c949a650dba254d2"),
    ("verify.py", "2282baa70014e26458eea6ec8c813dd4641d1a2d42deef2f1ff5f4676bb07be2"),
    ("verify.py", "c54346397c3d4571785463ce298b5a9c8f023a561492ad3bacdb4a3d07a10194"),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_bundles_are_written_with_is_known_for_good() {
        for (name, text) in [(names::README, README), (names::VERIFY, VERIFY_PY)] {
            let digest = ledger::Digest::of(text.as_bytes()).to_string();
            let known = KNOWN_INSIDE.contains(&(name, digest.as_str()));
            assert!(known, "add (\"{name}\", \"{digest}\") to KNOWN_INSIDE and keep the old ones");
        }
    }
}
