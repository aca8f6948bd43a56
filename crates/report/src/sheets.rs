//! Reports as plain data, every sentence in the reader's language: what the templates place.

mod form;
mod night;

pub use form::{Block, Cards, Check, Field, Form, Mark, Table};
pub use night::{
    Cell, ChangedRow, Cut, HappenedRow, Lines, LogRow, NightSheet, OwedRow, Photo, Section, ZoneRow,
};
