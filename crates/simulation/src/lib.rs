//! People and phones against the real server over real sockets. Never shipped.
//!
//! [`Handset`] is the phone's own core with a disk, a radio and a clock that can go wrong; [`Guard`]
//! walks with one and lives through a list of [`Act`]s; [`Desk`] fills in the same forms as a
//! dispatcher; [`demo`](mod@demo) puts them on stage. [`Phone`] is smaller: a throw-away key that keeps
//! the same conversation and writes whatever it is told. [`world`] plays nights by seed in foul weather
//! and has them audited.

mod act;
mod auditor;
pub mod building;
mod chance;
pub mod demo;
mod desk;
mod disk;
mod guard;
mod handset;
mod judge;
pub mod nights;
mod notepad;
mod office;
mod phone;
mod rollback;
mod scenes;
mod web_client;
pub mod world;

pub use act::Act;
pub use auditor::{Audit, Auditor};
pub use chance::Chance;
pub use desk::{Desk, Opening};
pub use disk::Disk;
pub use guard::{Guard, Pace};
pub use handset::{Handset, Radio, TrueTime, controls};
pub use phone::Phone;
pub use web_client::choose_tls;
