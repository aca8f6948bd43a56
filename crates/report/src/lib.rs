//! A watch and its findings as PDF: what the authority, the client and the court hold.
//!
//! Pure: no queries and no `now`; the same input gives the same bytes. The way of a report: a fold and
//! its findings → [`sheets`] (plain data, every sentence already in the reader's language) → a typst
//! template that only places → [`pdf`].

mod engine;
mod from_bundle;
pub mod night;
pub mod pdf;
mod sheet_page;
pub mod sheets;

pub use from_bundle::{Folded, NoWatch, from_bundle};
pub use night::{Copy, Documents, Issue, Night, Unaltered, compose};
pub use pdf::{Paper, PdfFault};
pub use sheet_page::LogSheet;
