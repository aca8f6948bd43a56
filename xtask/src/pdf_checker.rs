//! Two checkers of PDF/A and PDF/UA that nobody here wrote. They are no Debian packages: pip fetches pinned versions
//! into `target/pdf-checker`.
//!
//! `page-validation` (MIT) judges a file by the rules of ISO 19005-2 and ISO 14289-1 and passes the public corpora of
//! files that break one rule each; `pdfua` (MIT, on pikepdf) looks for tables whose columns nobody names, which the standards'
//! own rules let pass.

use crate::launch;
use anyhow::Result;
use std::path::Path;
use std::process::{Command, Stdio};

const PACKAGES: &[&str] = &["page-validation==0.11.0", "pdfua==0.1.3", "pikepdf==10.18.0"];
const FOLDER: &str = "target/pdf-checker";

/// Makes sure that both are there.
pub(crate) fn ensure() -> Result<()> {
    let there = |package: &&str| {
        let name = package.replace("==", "-").replacen("page-", "page_", 1);
        Path::new(FOLDER).join(format!("{name}.dist-info")).is_dir()
    };
    if PACKAGES.iter().all(there) {
        return Ok(());
    }
    let mut fetch = Command::new("pip3");
    fetch.args(["install", "--quiet", "--upgrade", "--target", FOLDER]).args(PACKAGES);
    launch::program(fetch.stdout(Stdio::null()))
}
