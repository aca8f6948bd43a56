//! `rattlewatch replan ROUNDS --at 1=Hall --lost 2`: the night goes on from where everybody stands now.

mod json;
mod night;
mod page;

use super::rounds::Rounds;
use night::Night;
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::{Duration, Instant};
use words::Lang;

/// Say how the rounds go on when something has changed in the middle of the watch
///
/// From where everybody stands now, changing as little as needed. Ends with 0 when every gap is kept from now on, with 1
/// when something comes too late, with 2 when the question cannot be read.
#[derive(clap::Args)]
#[command(arg_required_else_help = true)]
pub(crate) struct Args {
    /// The rounds walked so far, written by `route … --write`
    rounds: PathBuf,
    /// Where a guard is, such as 1=HALL; 1=HALL+40s when still busy there, or on the way, for 40 s
    #[arg(long, value_name = "GUARD=STOP")]
    at: Vec<String>,
    /// A guard who is gone; 2=HALL when last seen there
    #[arg(long, value_name = "GUARD")]
    lost: Vec<String>,
    /// A zone or stop that is closed: nobody goes there and nothing is owed
    #[arg(long, value_name = "NAME")]
    close: Vec<String>,
    /// A stop more, by its walk from a known one, such as "PUMP ROOM=HALL+45s"
    #[arg(long, value_name = "NEW=STOP+TIME")]
    add: Vec<String>,
    /// Another longest gap from now on for a zone or stop, such as NAME=10min
    #[arg(long, value_name = "NAME=TIME")]
    zone_gap: Vec<String>,
    /// Hot work has begun there: somebody goes and stays
    #[arg(long, value_name = "STOP")]
    stand: Option<String>,
    /// How long ago a zone or stop was seen, where the rounds were not walked as planned
    #[arg(long, value_name = "NAME=TIME")]
    seen: Vec<String>,
    /// Seed of the search
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
    /// Print as JSON
    #[arg(long)]
    json: bool,
    /// The language of the answer: en or es
    #[arg(long, value_name = "TAG", value_parser = super::language, default_value = "en")]
    lang: Lang,
}

/// Longest search; whoever asks stands in a stairwell.
const PATIENCE: Duration = Duration::from_millis(800);
/// Steps of the search at most.
const STEPS: u64 = 200_000;

#[expect(
    clippy::disallowed_methods,
    reason = "the command line is where the clock may stop a search"
)]
pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    let begun = Instant::now();
    let night = Night::new(Rounds::read(&args.rounds)?, &args)?;
    let mut watcher = |_| {
        if begun.elapsed() >= PATIENCE { planner::Go::Stop } else { planner::Go::On }
    };
    let going_on = night.go_on(&mut planner::Effort::new(args.seed, STEPS, &mut watcher))?;
    let mut out = std::io::stdout().lock();
    if args.json {
        writeln!(out, "{}", json::answer(&night, &going_on))?;
    } else {
        write!(out, "{}", page::answer(args.lang, &night, &going_on))?;
    }
    Ok(ExitCode::from(u8::from(!going_on.change.late.is_empty())))
}
