//! What the command line asks of a server that runs: a file in a folder that only its owner may
//! enter. While a server runs nobody else may write, and a bundle begins with lines that say it was
//! taken; so the server makes it.

use crate::server::App;
use crate::{export, scribe};
use ledger::WatchId;
use std::path::{Path, PathBuf};
use std::time::Duration;
use std::{fs, io};

/// How often the folder is looked into.
const EVERY: Duration = Duration::from_millis(250);

/// How long whoever asks waits for an answer.
pub(crate) const PATIENCE: Duration = Duration::from_secs(30);

/// The folder inside that of the data.
fn folder(data: &Path) -> PathBuf {
    data.join("asks")
}

/// Answers for as long as the server runs.
pub(crate) async fn run(app: App) {
    let folder = folder(&app.options.data);
    loop {
        tokio::time::sleep(EVERY).await;
        for watch in asks(&folder) {
            if let Err(error) = answer(&app, &folder, &watch).await {
                tracing::error!(%watch, %error, "an export that was asked for could not be written");
            }
        }
    }
}

/// The watches that are asked for now.
fn asks(folder: &Path) -> Vec<WatchId> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let names = entries.filter_map(|entry| entry.file_name().into_string().ok());
    names.filter_map(|name| WatchId::new(name.strip_suffix(".ask")?).ok()).collect()
}

async fn answer(app: &App, folder: &Path, watch: &WatchId) -> io::Result<()> {
    match export::bundle_of(app, watch, &scribe::nobody()).await {
        Ok(bytes) => appear(&folder.join(format!("{watch}.zip")), &bytes)?,
        Err(problem) => {
            appear(&folder.join(format!("{watch}.refused")), problem.to_string().as_bytes())?;
        }
    }
    fs::remove_file(folder.join(format!("{watch}.ask")))
}

/// A file that is there whole or not at all.
fn appear(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let draft = path.with_extension("part");
    fs::write(&draft, bytes)?;
    fs::rename(&draft, path)
}

/// Asks the server that runs on this folder; none if it did not answer.
pub(crate) async fn ask(
    data: &Path,
    watch: &WatchId,
) -> io::Result<Option<Result<Vec<u8>, String>>> {
    let folder = folder(data);
    crate::server::make_folder(&folder)?;
    let answers = [folder.join(format!("{watch}.zip")), folder.join(format!("{watch}.refused"))];
    let ask = folder.join(format!("{watch}.ask"));
    // What an earlier caller did not wait for is not what is asked now.
    answers.iter().for_each(|old| drop(fs::remove_file(old)));
    fs::write(&ask, [])?;
    let waiting = async {
        while ask.exists() {
            tokio::time::sleep(EVERY).await;
        }
    };
    let answered = tokio::time::timeout(PATIENCE, waiting).await.is_ok();
    if !answered {
        fs::remove_file(&ask)?;
        return Ok(None);
    }
    let [bundle, refused] = &answers;
    let answer = match fs::read(bundle) {
        Ok(bytes) => Ok(bytes),
        Err(_) => Err(fs::read_to_string(refused)?),
    };
    answers.iter().for_each(|file| drop(fs::remove_file(file)));
    Ok(Some(answer))
}
