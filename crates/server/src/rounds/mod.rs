//! The rounds of a watch: worked out over its plan, given to its guards, and worked out anew from where everybody
//! stands when the night changes. What is given is a line of the record; the phones show it, the route cards print it.

mod change;
mod forms;
mod give;
mod in_force;
mod page;
mod picture;
mod places;
mod plan;
mod proposal;
mod recorded;
mod table;
mod tonight;

pub(crate) use give::give;
pub(crate) use page::{change, show, work_out};
pub(crate) use places::Places;
pub(crate) use plan::work;

/// The share of a gap that rounds may use, in percent; the rest is for writing, doors and delay (our own default).
pub(crate) const SHARE_PERCENT: i64 = planner::answer::USUAL_SHARE_PERMILLE / 10;
