//! The server comes back from old copies, again and again in a night: each is noticed before anything is
//! signed, and what the phones still hold is in the record at the end. `cargo x campaign rollback` plays on.

use simulation::world::Weather;
use std::process::ExitCode;

fn main() -> ExitCode {
    simulation::nights::run("rollback", Weather::ROLLBACKS, 2)
}
