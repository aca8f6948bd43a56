//! A watch and its findings as PDF: what the authority, the client and the court hold.
//!
//! Pure: no queries and no `now`; the same input gives the same bytes. The way of a paper: a
//! [`Request`] with the fold of a watch → [`sheets`] (plain data, every sentence already in the
//! reader's language) → a typst template that only places → [`pdf`]. [`Kind`] lists the papers; each
//! is one file under `papers`, save the night report, which has a folder of its own.

mod engine;
mod from_bundle;
mod kind;
pub mod night;
mod page;
mod papers;
pub mod pdf;
mod printable;
mod request;
mod sheet_page;
pub mod sheets;
mod stretch;
mod times;

pub use from_bundle::{Folded, NoWatch, from_bundle};
pub use kind::Kind;
pub use night::compose;
pub use papers::hours::csv as hours_csv;
pub use pdf::{Paper, PdfFault};
pub use request::{Amended, Copy, Documents, Issue, Request, Unaltered};
pub use sheet_page::LogSheet;
pub use stretch::{NoStretch, Nth, Stretch, issued};
