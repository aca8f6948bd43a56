//! What a server meets on the open network and on a bad day: it answers clearly, loses and leaks nothing,
//! and goes on for everybody else.

#[path = "../../../store/tests/conformance/cluster.rs"]
mod cluster;
mod database;
mod files;
#[path = "../stage/mod.rs"]
mod stage;
mod time;
