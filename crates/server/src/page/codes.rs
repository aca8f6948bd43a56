//! The record's codes in forms: the same spelling as in a line.

/// A code as it stands in a form.
pub(crate) fn value<T: serde::Serialize>(code: T) -> String {
    match serde_json::to_value(code) {
        Ok(serde_json::Value::String(text)) => text,
        _ => unreachable!("codes are written as text"),
    }
}

/// Reads a code as a form sends it.
pub(crate) fn read<T: serde::de::DeserializeOwned>(text: &str) -> Option<T> {
    serde_json::from_value(text.into()).ok()
}
