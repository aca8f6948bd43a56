//! What our own program prints, in this process.

use anyhow::{Context, Result, anyhow};
use report::{Copy, Folded, Issue, LogSheet, Paper, Request, from_bundle};
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

/// The request for a whole watch, English, A4, for the own house.
pub(crate) fn request(folded: &Folded) -> Result<Request<'_>> {
    let about_ms = folded.last_rx_ms.context("the night has no line")?;
    Ok(Request {
        watch: &folded.watch,
        about_ms,
        stretch: None,
        documents: &folded.documents,
        head: folded.head.clone(),
        unaltered: folded.unaltered,
        copy: Copy::House,
        issue: Issue::first(about_ms),
        amends: None,
        lang: Lang::En,
        paper: Paper::A4,
        bundle: None,
    })
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
