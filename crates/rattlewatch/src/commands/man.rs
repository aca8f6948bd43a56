//! `rattlewatch man FOLDER`: the manual pages, made of what `--help` says.

use super::Program;
use anyhow::Context;
use clap::CommandFactory;
use std::path::PathBuf;
use std::process::ExitCode;

/// Write the manual pages of the program and of each command, for whoever packs it
#[derive(clap::Args)]
#[command(hide = true)]
pub(crate) struct Args {
    /// An empty folder, made if it is missing
    folder: PathBuf,
}

pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    super::empty_folder(&args.folder)?;
    clap_mangen::generate_to(Program::command(), &args.folder)
        .with_context(|| args.folder.display().to_string())?;
    Ok(ExitCode::SUCCESS)
}
