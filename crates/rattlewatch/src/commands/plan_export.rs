//! `rattlewatch plan-export PLAN`: a plan as GeoJSON, for other people's programs.

use anyhow::{Context, Result};
use floorplan::{Plan, export};
use std::path::PathBuf;
use std::process::ExitCode;

/// Write a plan as GeoJSON, for other people's programs
///
/// Ends with 0 when it was written, with 2 when the plan could not be read.
#[derive(clap::Args)]
pub(crate) struct Args {
    /// The plan
    plan: PathBuf,
    /// Where the GeoJSON goes; standard output when not given
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,
}

pub(crate) fn run(args: Args) -> Result<ExitCode> {
    let bytes =
        std::fs::read(&args.plan).with_context(|| format!("reading {}", args.plan.display()))?;
    let plan = Plan::read(&bytes)?;
    let text = export::geojson(&plan);
    match &args.out {
        Some(path) => {
            std::fs::write(path, text).with_context(|| format!("writing {}", path.display()))?;
        }
        None => super::put(&text)?,
    }
    if plan.anchor.is_none() {
        eprintln!("the plan has no place on Earth: it is written around longitude 0, latitude 0");
    }
    Ok(ExitCode::SUCCESS)
}
