//! *Tonight*: every live watch, most urgent first.

mod danger;
mod machine;
mod page;
pub(crate) mod row;
pub(crate) mod small_dial;

pub(crate) use page::{live, show};
