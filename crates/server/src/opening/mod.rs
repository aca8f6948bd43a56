//! Opening a watch as from a telephone call: one form, one look at it, one button.

mod before;
mod copied;
mod form;
mod order;
mod page;
mod terms;
mod walkable;

pub(crate) use form::{Guard, Wanted};
pub(crate) use order::{Opened, called, place, plan_lines};
pub(crate) use page::{open, show, sources};
