//! What every database must do, run on each.

mod cluster;
mod damage;
mod devices;
mod guards;
mod lines;
mod moving;
mod stage;
