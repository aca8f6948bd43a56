//! `rattlewatch export WATCH -o FILE.zip`: the bundle of one watch.

use anyhow::Context;
use ledger::WatchId;
use server::TakeOutError;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Write the bundle of one watch: everything that a stranger needs to verify it
///
/// The record says that it was taken, as of an export from the desk. A server that runs on the folder
/// is asked to make it.
#[derive(clap::Args)]
pub(crate) struct Args {
    /// The id of the watch, as the desk shows it: w-…
    watch: String,
    /// Where to write the bundle; an existing file is never written over
    #[arg(short, long, alias = "output", value_name = "FILE.zip")]
    out: PathBuf,
    /// The folder of everything that the server keeps
    #[arg(long, value_name = "FOLDER", default_value = "rattlewatch-data")]
    data: PathBuf,
    /// The PostgreSQL database, if the server uses one: postgres://USER@HOST/NAME
    #[arg(long, value_name = "URL", env = "RATTLEWATCH_DATABASE", hide_env_values = true)]
    database: Option<String>,
    /// Where the high-water marks are, if not in the folder
    #[arg(long, value_name = "FOLDER")]
    high_water: Option<PathBuf>,
    /// The folder of the high-water marks that several servers share, if they do
    #[arg(long, value_name = "FOLDER")]
    shared_high_water: Option<PathBuf>,
}

pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    let watch = WatchId::new(args.watch.as_str()).with_context(|| {
        format!("{:?} is no id of a watch; the desk shows it as w-…", args.watch)
    })?;
    if args.out.exists() {
        anyhow::bail!("{} is there already: name another file", args.out.display());
    }
    let mut options = server::Options::in_folder(&args.data);
    options.database = args.database;
    options.high_water = args.high_water;
    options.shared_marks =
        args.shared_high_water.map(|folder| store::SharedMarks::in_folder(&folder)).transpose()?;
    let runtime = tokio::runtime::Runtime::new().context("the runtime could not be started")?;
    let taken = runtime.block_on(server::take_out(options, &watch)).map_err(explained)?;
    write(&args.out, &taken)
        .with_context(|| format!("{} could not be written", args.out.display()))?;
    println!("{watch} is written to {}, {} bytes.", args.out.display(), taken.len());
    Ok(ExitCode::SUCCESS)
}

/// The bundle appears whole or not at all.
fn write(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let draft = path.with_extension("part");
    let mut file = std::fs::File::create(&draft)?;
    file.write_all(bytes)?;
    file.sync_all()?;
    if path.exists() {
        return Err(ErrorKind::AlreadyExists.into());
    }
    std::fs::rename(&draft, path)
}

/// Adds to a wrong watch what was probably meant.
fn explained(error: TakeOutError) -> anyhow::Error {
    let TakeOutError::NoWatch { watch, known } = &error else { return error.into() };
    if known.is_empty() {
        return anyhow::anyhow!("{error}, and no other");
    }
    let mut names: Vec<&str> = known.iter().map(WatchId::as_str).collect();
    let mut near = Vec::new();
    while near.len() < NEAREST
        && let Some(name) = rules::nearest::nearest(watch.as_str(), names.iter().copied())
    {
        near.push(name);
        names.retain(|other| *other != name);
    }
    anyhow::anyhow!("{error}. Nearest: {}", near.join(", "))
}

/// Names offered instead of a wrong one.
const NEAREST: usize = 3;
