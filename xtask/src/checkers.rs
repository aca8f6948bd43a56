//! Checkers that nobody here wrote and that are no Debian packages: pip and npm fetch pinned versions, each set into a
//! folder of its own in `target`.
//!
//! `page-validation` (MIT) judges a PDF by the rules of ISO 19005-2 and ISO 14289-1 and passes the public corpora of
//! files that break one rule each; `pdfua` (MIT, on pikepdf) looks for tables whose columns nobody names, which the
//! standards' own rules let pass. `schemathesis` (MIT) asks an API whatever its description allows and forbids;
//! `html-validate` (MIT) judges pages by the content model of HTML.

use crate::launch;
use anyhow::Result;
use std::path::Path;
use std::process::{Command, Stdio};

/// Folder and pinned packages.
const PYTHON: &[(&str, &[&str])] = &[
    ("target/pdf-checker", &["page-validation==0.11.0", "pdfua==0.1.3", "pikepdf==10.18.0"]),
    ("target/api-checker", &["schemathesis==4.32.5"]),
];
const HTML: (&str, &str, &str) = ("target/html-checker", "html-validate", "10.17.0");

/// Makes sure that all of them are there.
pub(crate) fn ensure() -> Result<()> {
    for (folder, packages) in PYTHON {
        python(Path::new(folder), packages)?;
    }
    html()
}

fn python(folder: &Path, packages: &[&str]) -> Result<()> {
    let there = |package: &&str| {
        let name = package.replace("==", "-").replacen("page-", "page_", 1);
        folder.join(format!("{name}.dist-info")).is_dir()
    };
    if packages.iter().all(there) {
        return Ok(());
    }
    let mut fetch = Command::new("pip3");
    fetch.args(["install", "--quiet", "--upgrade", "--target"]).arg(folder).args(packages);
    launch::program(fetch.stdout(Stdio::null()))
}

fn html() -> Result<()> {
    let (folder, name, version) = HTML;
    // What npm has brought states its version.
    let stated = Path::new(folder).join("node_modules").join(name).join("package.json");
    let stated = std::fs::read_to_string(stated).unwrap_or_default();
    if stated.contains(&format!("\"version\": \"{version}\"")) {
        return Ok(());
    }
    std::fs::create_dir_all(folder)?;
    let mut fetch = Command::new("npm");
    fetch.args(["install", "--silent", "--no-audit", "--no-fund", "--prefix", folder]);
    launch::program(fetch.arg(format!("{name}@{version}")).stdout(Stdio::null()))
}
