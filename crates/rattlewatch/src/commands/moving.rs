//! `rattlewatch move`: the record to another database.

use super::count;
use anyhow::{Context, bail};
use std::path::PathBuf;
use std::process::ExitCode;
use store::{Moved, Options, move_store};

/// Copy the record to an empty database: SQLite to PostgreSQL, or back
///
/// Stop the server first. Every log keeps its root; blobs, keys and high-water marks stay where they
/// are. The old database is left as it is.
#[derive(clap::Args)]
pub(crate) struct Args {
    /// The empty database: postgres://USER@HOST/NAME, or a file for SQLite
    #[arg(long, value_name = "DATABASE")]
    to: String,
    /// The folder of everything that the server keeps
    #[arg(long, value_name = "FOLDER", default_value = "rattlewatch-data")]
    data: PathBuf,
    /// The database as it is now, if it is not the SQLite file in the folder
    #[arg(long, value_name = "DATABASE")]
    from: Option<String>,
    /// Where the high-water marks are, if not in the folder
    #[arg(long, value_name = "FOLDER")]
    high_water: Option<PathBuf>,
}

pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    if !args.data.join("keys").exists() {
        bail!(
            "{}: no record is kept here; name the folder that the server uses with --data",
            args.data.display()
        );
    }
    let mut from = Options::in_folder(&args.data);
    from.database = args.from.unwrap_or(from.database);
    from.high_water = args.high_water.unwrap_or(from.high_water);
    let to = Options { database: args.to, ..from.clone() };
    if to.database == from.database {
        bail!("the record is there already: --to and the present database are the same");
    }
    let runtime = tokio::runtime::Runtime::new().context("the runtime could not be started")?;
    let moved = runtime.block_on(move_store(&from, &to)).context("nothing was moved")?;
    print(&moved);
    Ok(ExitCode::SUCCESS)
}

fn print(moved: &Moved) {
    let (lines, logs) = (count(moved.lines, "line", "lines"), count(moved.logs, "log", "logs"));
    println!("Moved {lines} in {logs}; every log has the root it had.");
    let (waiting, settings) = (
        count(moved.waiting, "line that waits", "lines that wait"),
        count(moved.settings, "setting", "settings"),
    );
    println!("Also {waiting} and {settings}.");
    println!("From now on start the server with --database and the new address.");
}
