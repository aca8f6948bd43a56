//! Opening a watch as from a telephone call: one form, one look at it, one button.

mod before;
mod copied;
mod form;
mod known;
mod order;
mod page;
mod plan;
mod terms;
mod walkable;

pub(crate) use form::{Guard, Wanted};
pub(crate) use order::{Opened, called, place};
pub(crate) use page::{open, show, sources};
pub(crate) use plan::{keep_walk, plan_lines};
