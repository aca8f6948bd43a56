//! What every database must do, run on each.

mod devices;
mod lines;
mod stage;
