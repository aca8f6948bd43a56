//! Where the open data sets are: `RATTLEWATCH_DATA`, else `../shared/data` beside the workspace.

use anyhow::{Result, bail};
use std::path::{Path, PathBuf};

/// The path of one data file or folder below the data root; an error naming it when it is not there.
pub(crate) fn path(relative: &str) -> Result<PathBuf> {
    let path = root().join(relative);
    if !path.exists() {
        bail!(
            "{} is missing: put the data there or point RATTLEWATCH_DATA at its folder",
            path.display()
        );
    }
    Ok(path)
}

pub(crate) fn run(_args: &[String]) -> Result<()> {
    println!("{}", serde_json::json!({ "data": path("")?.display().to_string() }));
    Ok(())
}

fn root() -> PathBuf {
    match std::env::var_os("RATTLEWATCH_DATA") {
        Some(given) => PathBuf::from(given),
        None => Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data"),
    }
}
