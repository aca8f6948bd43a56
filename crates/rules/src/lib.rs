//! Which watch is owed, by cited demands. Judges; never acts.
//!
//! Pure: no IO, no clock, no sentence for people and no number that belongs in `standards/`. What it returns is typed;
//! `words` says it. The standards are data embedded at build time, one TOML per demand.
//!
//! Read in this order: [`codes`] (the closed lists), [`standards`] (the data and its checks), [`terms`] (facts to terms),
//! [`findings`] (was the watch kept), [`statistics`] (what deserves a second look), [`walked`] (what recorded legs say about a plan's walks).

pub mod codes;
pub mod findings;
pub mod nearest;
pub mod say;
pub mod standards;
pub mod statistics;
pub mod terms;
pub mod walked;

pub use codes::{Alternative, Known, LogItem, Medium, Origin, Party, Stage, System, ZoneKind};
pub use say::Say;
pub use standards::{Citation, Standards, site_limits};
pub use terms::{Facts, Required, Terms};
pub use walked::Walked;
