//! What our own program prints, in this process.

use anyhow::{Context, Result, anyhow};
use report::{Folded, LogSheet, Paper, from_bundle};
use words::Lang;

/// The bundle of a told night.
pub(crate) fn bundle_of(night: &str) -> Result<Vec<u8>> {
    let told = night::tell(night).map_err(|fault| anyhow!("{fault}"))?;
    told.bundle().map_err(|fault| anyhow!("{fault}"))
}

/// A bundle, verified and folded.
pub(crate) fn fold(bundle: &[u8]) -> Result<Folded> {
    Ok(from_bundle(bundle::open(bundle))?)
}

/// The log sheets of a night, to be filled in by hand.
pub(crate) fn log_sheet(night: &str) -> Result<Vec<u8>> {
    let folded = fold(&bundle_of(night)?)?;
    let log_sheet = LogSheet {
        watch: &folded.watch,
        about_ms: folded.last_rx_ms.context("the night has no line")?,
        span_ms: None,
        documents: &folded.documents,
        unaltered: folded.unaltered,
        filled: false,
        columns: &sheet::Columns::default(),
        lang: Lang::En,
        paper: Paper::A4,
    };
    Ok(log_sheet.to_pdf("bench")?)
}
