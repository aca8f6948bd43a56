//! Normalization form C as the browser knows it (feature `browser`): its tables are there already, ours would be a
//! twentieth of what every phone fetches. The form of a letter that Unicode has assigned never changes (UAX 15,
//! section 3), so both say the same of every letter that both know.

/// The form of a text.
pub(super) fn nfc(text: &str) -> String {
    js_sys::JsString::from(text).normalize("NFC").into()
}
