//! Rattlewatch: runs a fire watch and keeps its record.
//!
//! Each subcommand is one file in `commands/`: it parses, calls and prints.

mod commands;
mod file_source;
mod packed;
mod threads;

fn main() -> std::process::ExitCode {
    commands::run()
}
