//! People and phones against the real server over real sockets. Never shipped.
//!
//! [`Handset`] is the phone's own core with a disk, a radio and a clock that can go wrong; [`Guard`]
//! walks with one and lives through a list of [`Act`]s; [`Desk`] fills in the same forms as a
//! dispatcher; [`demo`](mod@demo) puts them on stage. [`Phone`] is smaller: a throw-away key that keeps
//! the same conversation and writes whatever it is told.

mod act;
pub mod demo;
mod desk;
mod disk;
mod guard;
mod handset;
mod phone;
mod scenes;

pub use act::Act;
pub use desk::{Desk, Opening};
pub use disk::Disk;
pub use guard::{Guard, Pace};
pub use handset::{Handset, Radio, TrueTime, controls};
pub use phone::Phone;
