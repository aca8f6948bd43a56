//! Folds the verified lines of one watch into its [`State`]: who is on duty, what was seen when, what
//! is due, what is open.
//!
//! The state depends only on the **set** of lines and seals, never on the order in which they came in.
//! No IO, no geometry, no policy numbers: what is allowed stands in the lines that set the terms.
//!
//! Read [`Watch`] first (how lines get in), then [`State`] (what comes out), then one file of
//! `aspects`, each of which owns one part of the state. `fold.rs` says which kinds each aspect takes.

mod aspects;
mod corrections;
mod due;
mod fold;
mod held;
mod kept;
mod legs;
mod looks;
mod place;
mod since;
mod state;
mod time;
mod watch;

pub use aspects::alerts::{Alert, Unheard};
pub use aspects::communications::{Communication, Note, Notification, Order};
pub use aspects::cover::{Cover, Hole, HoleWhy, Stretch};
pub use aspects::deliveries::{Delivery, Erasure, Review, SealedChains, Visit};
pub use aspects::devices::{Device, Fork};
pub use aspects::emergencies::{Emergency, Stamp};
pub use aspects::gaps::{Gap, GapEnd};
pub use aspects::holds::Hold;
pub use aspects::hot_work::{HotWork, LookBack, Permit};
pub use aspects::impairments::Impairment;
pub use aspects::observations::{Action, Observation, Picture};
pub use aspects::opening::{InForce, Opening, Terms};
pub use aspects::paper::{Allowed, HandedOver, Paper};
pub use aspects::questions::Question;
pub use aspects::release::Release;
pub use aspects::rounds::{Round, SeenStop, StructureEntered};
pub use aspects::shifts::{Break, Duty, Read, Scheduled, Shift};
pub use aspects::unknown::Unknown;
pub use aspects::zones::{Refused, Zone};
pub use corrections::{Correction, Effective};
pub use due::{Deadlines, Due};
pub use held::{Held, Sealing};
pub use kept::{Kept, Via};
pub use legs::{Leg, Legs, NoLeg};
pub use looks::{How, Look, Marks};
pub use since::{Change, Changed};
pub use state::State;
pub use time::{Doubt, Sealed, When, Written};
pub use watch::Watch;

#[cfg(test)]
mod brute_force;
#[cfg(test)]
mod tests;
