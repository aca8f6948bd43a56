//! Scripted phones and people at the desk, against the real server over real sockets.
//!
//! Never shipped. [`Phone`] holds a throw-away key and keeps the same conversation as a phone in
//! earnest; [`Desk`] fills in the same forms as a dispatcher; [`demo`](mod@demo) puts both on stage.

pub mod demo;
mod desk;
mod phone;

pub use desk::{Desk, Opening};
pub use phone::Phone;
