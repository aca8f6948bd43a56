//! axe-core, which looks at every screen for what keeps people out. It is no crate and no Debian package: npm fetches
//! one pinned version, whose bytes are checked.

use crate::launch;
use anyhow::{Context, Result, ensure};
use sha2::{Digest, Sha256};
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

const VERSION: &str = "4.14.1";
/// Of `package/axe.min.js` of that version.
const SHA256: &str = "29348999450cdf2849a8e70b7912fc2da85a849da39c0d0d5394f51d4a9ed95c";
const FOLDER: &str = "target/axe";

/// Makes sure that `target/axe/package/axe.min.js` is there.
pub(crate) fn ensure() -> Result<()> {
    let file = Path::new(FOLDER).join("package/axe.min.js");
    if !file.exists() {
        fs::create_dir_all(FOLDER)?;
        let wanted = format!("axe-core@{VERSION}");
        let mut fetch = Command::new("npm");
        fetch.args(["pack", "--silent", &wanted, "--pack-destination", FOLDER]);
        launch::program(fetch.stdout(Stdio::null()))?;
        let archive = format!("{FOLDER}/axe-core-{VERSION}.tgz");
        launch::program(Command::new("tar").args(["-xzf", &archive, "-C", FOLDER]))?;
    }
    let bytes = fs::read(&file).with_context(|| format!("reading {}", file.display()))?;
    let found: String = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    ensure!(
        found == SHA256,
        "{} is not axe-core {VERSION}: its SHA-256 is {found}; delete {FOLDER} and run again",
        file.display()
    );
    Ok(())
}
