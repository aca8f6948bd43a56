//! People over days: who holds which post from when to when, so that no minute is without a named guard.
//!
//! Reliefs overlap, breaks are covered by somebody else, and no stretch on duty, rest or week breaks the rules given.
//! It knows posts and people, never routes. Times are whole minutes since 1970 in UTC; zones enter with the facts and
//! leave with the calendar.
//!
//! Read in this order: [`facts`] (what is asked), [`rules`] (limits with their sources), [`duties`] (what must be
//! held), [`assign`] (by whom), [`check`] (whether that is true), [`table`] (hours and cost), [`calendar`].

pub mod assign;
pub mod calendar;
pub mod check;
pub mod duties;
mod exchange;
pub mod facts;
pub mod rules;
pub mod table;

pub use assign::{Roster, assign};
pub use check::{Broken, check};
pub use duties::{Duty, duties};
pub use facts::Facts;
pub use rules::Rules;
