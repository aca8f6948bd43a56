//! `rattlewatch restore`: a backup into an empty data folder, unless heads were signed that it does not
//! reach.

use anyhow::{Context, bail};
use std::path::PathBuf;
use std::process::ExitCode;

/// Put a backup into an empty data folder
///
/// Ends with 1 and changes nothing that the server would use if the high-water marks say that heads
/// were signed which this backup does not reach: phones and strangers hold them, and a log that goes on
/// from less would contradict them. Then a newer backup is needed, or the word that there is none
/// (`--older`): `serve --restored` then goes on in another log.
#[derive(clap::Args)]
pub(crate) struct Args {
    /// The backup, the folder that `rattlewatch backup` made
    #[arg(long, value_name = "FOLDER")]
    from: PathBuf,
    /// The data folder; its high-water marks stay as they are, anything else must not be there
    #[arg(long, value_name = "FOLDER", default_value = "rattlewatch-data")]
    data: PathBuf,
    /// The database to fill, if it is not in the data folder: postgres://…, empty
    #[arg(long, value_name = "URL", env = "RATTLEWATCH_DATABASE", hide_env_values = true)]
    database: Option<String>,
    /// The folder of the blobs, if it is not in the data folder
    #[arg(long, value_name = "FOLDER")]
    blobs: Option<PathBuf>,
    /// The folder of the high-water marks, if it is not in the data folder
    #[arg(long, value_name = "FOLDER")]
    high_water: Option<PathBuf>,
    /// The folder of the high-water marks that several servers share, if they do
    #[arg(long, value_name = "FOLDER")]
    shared_high_water: Option<PathBuf>,
    /// Put it back although more was signed than it holds: there is no newer one
    #[arg(long)]
    older: bool,
}

pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    if !args.from.join("record.db").exists() {
        bail!("{} is no backup: it holds no record.db", args.from.display());
    }
    if args.data.join("record.db").exists() || args.data.join("keys").exists() {
        bail!(
            "{} is not empty: move what is there away first, but leave its folder high-water",
            args.data.display()
        );
    }
    server::check_folder(&args.data)?;
    let from = server::Options::in_folder(&args.from);
    let mut to = server::Options::in_folder(&args.data);
    to.database = args.database;
    to.blobs = args.blobs;
    to.high_water = args.high_water;
    to.shared_marks =
        args.shared_high_water.map(|folder| store::SharedMarks::in_folder(&folder)).transpose()?;
    let runtime = tokio::runtime::Runtime::new().context("the runtime could not be started")?;
    let done = runtime.block_on(async {
        let restored = store::back_up(&from.store(), &to.store()).await?;
        // Opening compares the copy with every mark before anything can be signed.
        match store::Store::open(&to.store()).await {
            Ok(store) => store.close().await,
            Err(error @ store::StoreError::RolledBack { .. }) if args.older => {
                eprintln!("rattlewatch: {error}");
            }
            Err(error) => return Err(error),
        }
        Ok::<_, store::StoreError>(restored)
    });
    // A backup is only read.
    let marks = args.from.join("high-water");
    if marks.exists() && std::fs::read_dir(&marks).is_ok_and(|mut files| files.next().is_none()) {
        let _ = std::fs::remove_dir(&marks);
    }
    match done {
        Ok(restored) => {
            super::copy_keys(&args.from.join("keys"), &args.data.join("keys"))?;
            std::fs::write(args.data.join("restored"), "")
                .context("the note of the restoration")?;
            println!(
                "{} in {}, {} and {} are restored into {}.",
                super::count(restored.lines, "line", "lines"),
                super::count(restored.logs, "log", "logs"),
                super::count(restored.settings, "setting", "settings"),
                super::count(restored.blobs, "blob", "blobs"),
                args.data.display()
            );
            println!(
                "The next start writes into the record that it was restored. Phones send again what they still hold."
            );
            if args.older {
                println!("Start it with --restored, once.");
            }
            Ok(ExitCode::SUCCESS)
        }
        Err(
            error @ (store::StoreError::RolledBack { .. } | store::StoreError::OtherHistory { .. }),
        ) => {
            // Nothing that a server could start from stays behind.
            let _ = std::fs::remove_file(args.data.join("record.db"));
            eprintln!("rattlewatch: not restored: {error}");
            eprintln!(
                "Use a newer backup, or say with --older that there is none. Phones keep every line until a later head, so what they hold is not lost."
            );
            Ok(ExitCode::FAILURE)
        }
        Err(error) => Err(error).context("the backup could not be restored"),
    }
}
