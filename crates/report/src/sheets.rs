//! Reports as plain data, every sentence in the reader's language: what the templates place.

mod night;

pub use night::{Cell, HappenedRow, Lines, LogRow, NightSheet, OwedRow, Photo, Section, ZoneRow};
