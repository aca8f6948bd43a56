//! Opening a watch as from a telephone call: one form, one look at it, one button.

mod form;
mod order;
mod page;
mod walkable;

pub(crate) use form::{Guard, Wanted};
pub(crate) use order::{Opened, Site, called, place};
pub(crate) use page::{open, show, sources};
