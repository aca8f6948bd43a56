//! Whatever reads what strangers send, one file for each reader, for `cargo x campaign fuzz`.
//!
//! A target is a function of bytes. It may refuse them; it may not panic, and what it took must keep what its file
//! says: written again it gives the same bytes, limits hold, nothing damaged counts as whole. The targets are plain
//! functions, so the tests of this package give them every good input; only the campaign builds them into a fuzzer.
//!
//! A new target: a file here, a line in [`TARGETS`], and good inputs from [`seeds`] by the path where they lie. What
//! a campaign finds becomes a test with a name in the room whose reader was wrong.

mod bundle_zip;
mod documents;
mod facts;
mod form;
mod head;
mod import;
mod leaf;
mod line;
mod night_text;
mod page;
mod phone_file;
mod photo;
mod plan;
mod receipt;
mod scan;
pub mod seeds;
mod sync;
mod table;

/// A reader under the fuzzer.
pub struct Target {
    /// By which it is asked for.
    pub name: &'static str,
    /// What it reads and what must hold.
    pub says: &'static str,
    /// Reads one input; panics when something does not hold.
    pub reads: fn(&[u8]),
    /// Good inputs to begin with.
    pub seeds: fn() -> Vec<Vec<u8>>,
    /// The longest input worth trying, bytes.
    pub longest: usize,
}

/// Every target by its name.
pub const TARGETS: &[Target] = &[
    line::TARGET,
    leaf::TARGET,
    head::TARGET,
    receipt::TARGET,
    documents::TARGET,
    scan::TARGET,
    sync::TARGET,
    phone_file::TARGET,
    form::TARGET,
    table::TARGET,
    photo::TARGET,
    page::TARGET,
    bundle_zip::TARGET,
    plan::TARGET,
    import::TARGET,
    facts::TARGET,
    night_text::TARGET,
];

/// The target of a name.
pub fn target(name: &str) -> Option<&'static Target> {
    TARGETS.iter().find(|target| target.name == name)
}

/// Bytes as text, as every reader of text here is given them.
fn text(bytes: &[u8]) -> std::borrow::Cow<'_, str> {
    String::from_utf8_lossy(bytes)
}
