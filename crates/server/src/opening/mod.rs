//! Opening a watch as from a telephone call: one form, one look at it, one button.

mod form;
mod order;
mod page;
mod walkable;

pub(crate) use order::{Opened, Site, called};
pub(crate) use page::{open, show};
