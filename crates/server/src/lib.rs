//! HTTP to the log, watches to screens: sync, the live desk, alerts, delivery.
//!
//! A route file parses, calls and renders; no rules, no geometry, no SQL. The record is the only
//! truth: [`Server`] verifies lines, has the store append them, and folds them into the [`book`]
//! of live watches, from which every page, alert and report is drawn.
//!
//! Start with `server` (what is shared), then `roles` (who may call what), `scribe` (the server's
//! own lines), `intake` (lines of phones), `folding` (what the log has, into the book), `shelf` (watches
//! that are over leave the memory), `alerts` (what is due), then one page, for instance `tonight`.

mod account;
mod acme;
mod alerts;
pub mod api;
mod asked_here;
mod assets;
mod blob;
mod book;
mod clock;
mod connections;
mod csv_file;
mod delivery;
pub mod demo;
mod device;
mod doors;
mod enrolment;
mod export;
mod folder;
mod folding;
pub mod from_outside;
mod handing_on;
mod headers;
mod health;
mod house;
mod house_chain;
mod house_only;
mod intake;
mod keys;
mod limits;
mod links;
mod metrics;
mod nightly;
mod noting;
mod one_watch;
mod opening;
mod options;
mod packing;
mod page;
mod paper;
mod people;
mod phone_app;
mod phone_file;
mod photo;
mod problem;
mod reached_at;
mod renewing;
mod restored;
mod roles;
mod roster;
mod rounds;
mod router;
mod routes;
mod scribe;
mod seal;
mod second;
mod secret;
mod server;
mod serving;
mod settings;
mod shelf;
mod sites;
mod standing;
mod standing_by;
mod stream;
mod succession;
mod sync;
mod taking_out;
mod tonight;
mod twice;

pub use acme::Acme;
pub use clock::Clock;
pub use doors::Certificate;
pub use folder::check as check_folder;
pub use options::{Options, StartError};
pub use problem::Problem;
pub use roles::{Rule, TABLE, Who, rule_of};
pub use router::router;
pub use server::{App, Server};
pub use serving::{Running, serve};
pub use taking_out::{TakeOutError, take_out};
