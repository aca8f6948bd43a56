//! `cargo x pictures`: the pictures of the guides are screens that the browser tests saw.

use anyhow::{Context, Result, ensure};
use std::fs;
use std::path::Path;

const SCREENS: &str = "target/screens";
const PICTURES: &str = "docs/pictures";

/// A screen and the name of its picture.
const TAKEN: &[(&str, &str)] = &[
    ("late", "phone"),
    ("en-day-100-write", "phone-write"),
    ("night-card", "phone-card"),
    ("night-tail-over", "phone-hot-work"),
    ("es-night-100-round", "phone-round-es"),
    ("draw-three-levels", "desk-drawing"),
];

/// Copies them.
pub(crate) fn run() -> Result<()> {
    fs::create_dir_all(PICTURES)?;
    for (screen, picture) in TAKEN {
        let (from, to) = (format!("{SCREENS}/{screen}.png"), format!("{PICTURES}/{picture}.png"));
        ensure!(Path::new(&from).exists(), "{from} is not there: run `cargo x test browser` first");
        fs::copy(&from, &to).with_context(|| to.clone())?;
        println!("{to}");
    }
    Ok(())
}

/// Pictures that a guide could not have come by.
pub(crate) fn strangers() -> Result<Vec<String>> {
    let mut found = Vec::new();
    for file in fs::read_dir(PICTURES)? {
        let name = file?.file_name().to_string_lossy().into_owned();
        if !TAKEN.iter().any(|(_, picture)| format!("{picture}.png") == name) {
            found.push(format!("{PICTURES}/{name}: no screen of the browser tests is named so"));
        }
    }
    Ok(found)
}
