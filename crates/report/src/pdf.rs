//! From a template and plain data to the bytes of a PDF/A-2a and PDF/UA-1 file.

use crate::engine::Desk;
use crate::printable::{make_printable, mark_uncovered};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use thiserror::Error;
use typst::foundations::{Datetime, Smart};
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};
use words::Lang;

/// The size of the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Paper {
    /// 210 mm x 297 mm.
    #[default]
    #[serde(rename = "a4")]
    A4,
    /// 8.5 in x 11 in.
    #[serde(rename = "us-letter")]
    Letter,
}

/// Why no PDF could be made. Each is a fault of ours, since all input is plain data.
#[derive(Debug, Error)]
pub enum PdfFault {
    /// The data could not be written down.
    #[error("the report's data could not be written: {0}")]
    Data(#[from] serde_json::Error),
    /// The typesetter refused.
    #[error("the page could not be set: {0}")]
    Setting(String),
    /// The instant lies outside what a PDF can name.
    #[error("the report's date is not a date")]
    Date,
}

/// What belongs to a document beside its data.
pub(crate) struct Document<'a, T> {
    /// The typst source.
    pub(crate) template: &'a str,
    /// Read by the template as `data.json`.
    pub(crate) data: &'a T,
    /// Pictures by file name.
    pub(crate) pictures: BTreeMap<String, Vec<u8>>,
    /// Names the document; equal input gives an equal name.
    pub(crate) ident: String,
    /// When the document was issued, ms UTC: an argument, never the clock.
    pub(crate) issued_ms: i64,
    /// Whether it carries the tags that both standards ask for. Without them it is PDF/A-2b only.
    pub(crate) tagged: bool,
}

/// Sets a document as PDF/A-2a, which keeps, and PDF/UA-1, which those who do not see it can read.
pub(crate) fn set<T: Serialize>(document: Document<'_, T>) -> Result<Vec<u8>, PdfFault> {
    let mut files = document.pictures;
    let mut data = serde_json::to_value(document.data)?;
    let mut marked = make_printable(&mut data);
    for (_, bytes) in files.iter_mut().filter(|(name, _)| name.ends_with(".svg")) {
        let mut svg = String::from_utf8_lossy(bytes).into_owned();
        if mark_uncovered(&mut svg) {
            marked = true;
            *bytes = svg.into_bytes();
        }
    }
    let lang = Lang::from_tag(data["lang"].as_str().unwrap_or_default());
    let uncovered = marked.then(|| words::papers::uncovered(lang));
    data["uncovered"] = serde_json::to_value(uncovered)?;
    files.insert("data.json".to_owned(), serde_json::to_vec(&data)?);
    let desk = Desk::new(document.template, files);
    let pages = typst::compile::<typst_layout::PagedDocument>(&desk)
        .output
        .map_err(|faults| PdfFault::Setting(says(&faults)))?;
    let wanted: &[PdfStandard] = match document.tagged {
        true => &[PdfStandard::A_2a, PdfStandard::Ua_1],
        false => &[PdfStandard::A_2b],
    };
    let standards = PdfStandards::new(wanted)
        .map_err(|fault| PdfFault::Setting(fault.message().to_string()))?;
    let options = PdfOptions {
        ident: Smart::Custom(document.ident),
        timestamp: Some(Timestamp::new_utc(datetime(document.issued_ms).ok_or(PdfFault::Date)?)),
        standards,
        tagged: document.tagged,
        ..PdfOptions::default()
    };
    let bytes =
        typst_pdf::pdf(&pages, &options).map_err(|faults| PdfFault::Setting(says(&faults)))?;
    // A server sets many reports; what the typesetter remembers is bounded.
    typst::comemo::evict(5);
    Ok(bytes)
}

fn says(faults: &[typst::diag::SourceDiagnostic]) -> String {
    faults.iter().map(|fault| fault.message.to_string()).collect::<Vec<_>>().join("; ")
}

/// Civil date and time of an instant, UTC.
fn datetime(at_ms: i64) -> Option<Datetime> {
    let utc =
        jiff::Timestamp::from_millisecond(at_ms).ok()?.to_zoned_datetime(jiff::tz::TimeZone::UTC);
    let small = |number: i8| u8::try_from(number).ok();
    Datetime::from_ymd_hms(
        i32::from(utc.year()),
        small(utc.month())?,
        small(utc.day())?,
        small(utc.hour())?,
        small(utc.minute())?,
        small(utc.second())?,
    )
}
