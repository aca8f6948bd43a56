//! One file per aspect of a watch. Each takes the lines that concern it in the order in which they
//! happened, and joins what refers to other lines at the end, so that a stated time earlier than the
//! line it refers to loses nothing.

pub(crate) mod alerts;
pub(crate) mod communications;
pub(crate) mod cover;
pub(crate) mod deliveries;
pub(crate) mod devices;
pub(crate) mod emergencies;
pub(crate) mod gaps;
pub(crate) mod holds;
pub(crate) mod hot_work;
pub(crate) mod impairments;
pub(crate) mod observations;
pub(crate) mod opening;
pub(crate) mod paper;
pub(crate) mod questions;
pub(crate) mod release;
pub(crate) mod rounds;
pub(crate) mod shifts;
pub(crate) mod unknown;
pub(crate) mod zones;
