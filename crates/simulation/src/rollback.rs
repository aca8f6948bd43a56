//! The server loses its disk and comes back from a copy. The marks, on another disk, are still there.

use anyhow::{Context, Result, bail};
use server::{Options, Running, StartError};
use std::fs;
use std::path::Path;
use store::StoreError;
use tempfile::TempDir;

/// What `rattlewatch backup` copies, of a server that runs.
pub(crate) async fn copy(of: &Options) -> Result<TempDir> {
    let folder = tempfile::tempdir()?;
    store::back_up(&of.store(), &Options::in_folder(folder.path()).store()).await?;
    copy_files(&of.data.join("keys"), &folder.path().join("keys"))?;
    Ok(folder)
}

/// Puts the copy in the place of the record and starts; also whether it was noticed to be old. A server
/// that signed anything before it noticed would be caught by the phones, which hold the later heads.
pub(crate) async fn put_back(copy: &TempDir, options: Options) -> Result<(Running, bool)> {
    let data = &options.data;
    for name in ["record.db", "record.db-wal", "record.db-shm"] {
        let path = data.join(name);
        if path.exists() {
            fs::remove_file(path)?;
        }
    }
    fs::remove_dir_all(data.join("keys"))?;
    store::back_up(&Options::in_folder(copy.path()).store(), &options.store()).await?;
    copy_files(&copy.path().join("keys"), &data.join("keys"))?;
    fs::write(data.join("restored"), "")?;
    match server::serve(options.clone()).await {
        Ok(running) => Ok((running, false)),
        Err(StartError::Store(StoreError::RolledBack { .. })) => {
            let running = server::serve(Options { restored: true, ..options }).await;
            Ok((running.context("it was said that there is no newer copy")?, true))
        }
        Err(error) => bail!("the copy did not start: {error}"),
    }
}

fn copy_files(from: &Path, to: &Path) -> Result<()> {
    fs::create_dir_all(to)?;
    for file in fs::read_dir(from)? {
        let file = file?;
        fs::copy(file.path(), to.join(file.file_name()))?;
    }
    Ok(())
}
