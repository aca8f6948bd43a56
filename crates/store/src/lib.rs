//! Lines, heads, blobs and settings, durable and in order: SQLite or PostgreSQL, chosen by URL.
//!
//! A store holds one organisation: one log a year, every chain in them, blobs beside them. It knows
//! bytes, ids and places, never what a kind of line means. What it acknowledges is on the disk.
//!
//! Read in this order: [`Store`] (what can be asked), [`Outcome`] (what becomes of a line),
//! `sequence` (how that is decided, without a database), `writer` (the one task that writes),
//! `backend` (what a database must do), `high_water` (what a restored backup cannot reach).

mod backend;
mod backup;
mod blobs;
mod columns;
mod cut;
mod disk;
mod error;
mod high_water;
mod leaves;
mod marks;
mod moving;
mod options;
mod outcome;
mod part_of_tree;
mod postgres;
mod proofs;
mod scrub;
mod sequence;
mod settings;
mod shared_marks;
mod sqlite;
mod steps;
mod store;
mod tree;
mod values;
mod writer;

pub use backup::back_up;
pub use blobs::{BLOB_BYTES_MAX, Blobs, Progress};
pub use cut::Cut;
pub use disk::Room;
pub use error::StoreError;
pub use high_water::Mark;
pub use leaves::leaf_of;
pub use moving::{Moved, move_store};
pub use options::Options;
pub use outcome::{
    Appended, Incoming, Outcome, Place, PrivateLine, Quarantined, ReceivedAt, Refusal, StoredLine,
};
pub use part_of_tree::PartOfTree;
pub use scrub::{ScrubFault, Scrubbed};
pub use settings::{Expect, Setting, SettingKey, Written};
pub use shared_marks::SharedMarks;
pub use store::{Growth, LogState, News, Store};
