//! The kinds of entry: what a line states, with its body and its private line.
//!
//! Codes, numbers, ids, times and digests are in the body; words, names and positions are in the
//! [`Private`] line, which can be erased alone. No text for people: `words` renders codes.
//!
//! Start with [`Entry`], then look at one kind, for instance [`Seen`], and at [`Draft`], which turns
//! an entry into a line ready to be signed.

pub mod codes;
pub mod documents;
mod draft;
#[macro_use]
mod entry;
pub mod ids;
mod kinds;
mod private;

pub use codes::*;
pub use draft::{Draft, Place};
pub use entry::EntryFault;
pub use ids::{PlaceId, SiteId, StopId, ZoneId};
pub use kinds::*;
pub use private::{Fix, WHO, Words};
