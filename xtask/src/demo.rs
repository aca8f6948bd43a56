//! `cargo x demo`: Gannet Quay, from nothing to three links.

use crate::{launch, web};
use anyhow::Result;

/// Builds the web parts, then lets the program seed and serve.
pub(crate) fn run(arguments: &[String]) -> Result<()> {
    web::build()?;
    let arguments: Vec<String> =
        ["demo".to_owned()].into_iter().chain(arguments.iter().cloned()).collect();
    launch::cargo_run("rattlewatch", false, &arguments)
}
