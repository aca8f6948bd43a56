//! Lines of a phone that cannot send, as codes that another phone reads off its screen.
//!
//! The format is `docs/spec/pieces.md`; where the two differ the page is right and the code is wrong.
//! Whoever carries lines is not their author: each keeps the signature of the phone that wrote it.

mod cutting;
mod gathering;
mod parcel;
mod piece;

pub use cutting::cut;
pub(crate) use gathering::{Gathering, Taken};
pub use parcel::{Parcel, ParcelFault};
pub(crate) use piece::{Piece, PieceFault, is_code};
