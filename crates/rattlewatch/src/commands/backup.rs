//! `rattlewatch backup`: a copy of everything but the high-water marks, while the server runs.

use anyhow::{Context, bail};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Copy record, settings, blobs and keys into an empty folder, also while the server runs
///
/// The high-water marks are not copied: they must stay where a restored backup cannot reach them. The
/// copy holds the keys of this house; keep it as safe as the house itself.
#[derive(clap::Args)]
pub(crate) struct Args {
    /// The data folder of the server
    #[arg(long, value_name = "FOLDER", default_value = "rattlewatch-data")]
    data: PathBuf,
    /// The database of the server, if it is not in the data folder: postgres://…
    #[arg(long, value_name = "URL", env = "RATTLEWATCH_DATABASE", hide_env_values = true)]
    database: Option<String>,
    /// The folder of the blobs, if it is not in the data folder
    #[arg(long, value_name = "FOLDER")]
    blobs: Option<PathBuf>,
    /// Where the copy goes: a folder that is empty or not there yet
    #[arg(short, long, value_name = "FOLDER")]
    out: PathBuf,
}

pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    let mut from = server::Options::in_folder(&args.data);
    from.database = args.database;
    from.blobs = args.blobs;
    if from.database.is_none() && !args.data.join("record.db").exists() {
        bail!("{} holds no record: name the server's data folder with --data", args.data.display());
    }
    super::empty_folder(&args.out)?;
    let runtime = tokio::runtime::Runtime::new().context("the runtime could not be started")?;
    let to = server::Options::in_folder(&args.out);
    let copied = runtime.block_on(store::back_up(&from.store(), &to.store()));
    let copied = copied.context("the record could not be copied")?;
    // A mark that came into being with the copy says nothing and must not travel.
    let marks = args.out.join("high-water");
    if marks.exists() {
        std::fs::remove_dir_all(&marks).context("the copy's own marks")?;
    }
    super::copy_keys(&args.data.join("keys"), &args.out.join("keys"))?;
    println!(
        "{} in {}, {} and {} are in {}.",
        super::count(copied.lines, "line", "lines"),
        super::count(copied.logs, "log", "logs"),
        super::count(copied.settings, "setting", "settings"),
        super::count(copied.blobs, "blob", "blobs"),
        shown(&args.out)
    );
    println!(
        "The keys of this house are in it: keep it as safe as the house. The high-water marks are not."
    );
    Ok(ExitCode::SUCCESS)
}

fn shown(path: &Path) -> String {
    path.display().to_string()
}
