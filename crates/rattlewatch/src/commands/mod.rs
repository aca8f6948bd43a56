//! The subcommands. A new one is a file here with `Args` and `run`, its `mod` line and its line in
//! the table below.

mod export;
mod findings;
mod import;
mod moving;
mod print;
mod read_sheet;
mod route;
mod serve;
mod staff;
mod survey;
mod terms;
mod verify;

use clap::{Parser, Subcommand};
use std::process::ExitCode;

/// Runs a fire watch and keeps a record that strangers can verify.
#[derive(Parser)]
#[command(name = "rattlewatch", version)]
struct Program {
    #[command(subcommand)]
    command: Command,
}

macro_rules! commands {
    ($($name:ident = $module:ident,)*) => {
        #[derive(Subcommand)]
        enum Command {
            $($name($module::Args),)*
        }

        impl Command {
            fn run(self) -> anyhow::Result<ExitCode> {
                match self {
                    $(Command::$name(args) => $module::run(args),)*
                }
            }
        }
    };
}

commands! {
    Export = export,
    Findings = findings,
    Import = import,
    Move = moving,
    Print = print,
    ReadSheet = read_sheet,
    Serve = serve,
    Survey = survey,
    Route = route,
    Staff = staff,
    Terms = terms,
    Verify = verify,
}

/// Exit code when something could not even be begun: a file that cannot be read, a wrong argument.
const COULD_NOT: u8 = 2;

/// Runs the subcommand that the arguments name.
pub(crate) fn run() -> ExitCode {
    match Program::parse().command.run() {
        Ok(code) => code,
        Err(error) => {
            eprintln!("rattlewatch: {error:#}");
            ExitCode::from(COULD_NOT)
        }
    }
}
