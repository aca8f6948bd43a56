//! Worlds by seed in foul weather; `cargo x campaign world` plays on.

use simulation::world::Weather;
use std::process::ExitCode;

fn main() -> ExitCode {
    simulation::nights::run("world", Weather::FOUL, 4)
}
