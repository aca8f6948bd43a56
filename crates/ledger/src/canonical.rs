//! The one byte form of a value: RFC 8785 JSON, narrowed until `jq -cS .` prints the same bytes.
//!
//! Narrower than RFC 8785: integers only with |n| < 2^53, ASCII keys, text in NFC without
//! U+0000 to U+001F and U+007F, at most [`LINE_BYTES_MAX`] bytes. The reasons are two bugs of the
//! public tools (jq 1.6 escapes U+007F and rounds larger integers) and one of people
//! (two spellings of the same letter look alike and hash apart).

#[cfg(all(target_arch = "wasm32", feature = "browser"))]
#[path = "canonical/browser.rs"]
mod nfc;
#[cfg(not(all(target_arch = "wasm32", feature = "browser")))]
mod nfc;

use serde::Serialize;
use serde_json::Value;
use std::fmt;

/// The longest line, in bytes without its newline.
pub const LINE_BYTES_MAX: usize = 8 * 1024;

/// The first integer that is too large: 2^53, where doubles stop being exact.
pub const INTEGER_END: i64 = 1 << 53;

/// Why bytes or a value are not canonical.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// Longer than [`LINE_BYTES_MAX`].
    TooLong {
        /// The length found.
        bytes: usize,
    },
    /// Not JSON at all.
    NotJson {
        /// What the parser said.
        says: String,
    },
    /// JSON, but spelled differently from the one form: order, spaces, escapes, duplicates.
    NotCanonical,
    /// A number that is not an integer with |n| < 2^53.
    Number,
    /// A key with a character outside ASCII, or a control character.
    Key,
    /// Text that is not NFC or holds a control character.
    Text,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Fault::TooLong { bytes } => {
                write!(
                    f,
                    "the line has {bytes} bytes, {LINE_BYTES_MAX} are allowed: move the long part into a blob"
                )
            }
            Fault::NotJson { says } => write!(f, "not JSON: {says}"),
            Fault::NotCanonical => {
                write!(f, "not in canonical form: compare with the output of `jq -cS .`")
            }
            Fault::Number => write!(f, "a number is not an integer below 2^53"),
            Fault::Key => write!(f, "a key is not plain ASCII"),
            Fault::Text => write!(f, "a text is not in NFC or holds a control character"),
        }
    }
}

impl std::error::Error for Fault {}

/// Reads canonical bytes. Any other spelling of the same value is refused.
pub fn parse(bytes: &[u8]) -> Result<Value, Fault> {
    if bytes.len() > LINE_BYTES_MAX {
        return Err(Fault::TooLong { bytes: bytes.len() });
    }
    let value: Value = serde_json::from_slice(bytes)
        .map_err(|error| Fault::NotJson { says: error.to_string() })?;
    // Writing it again is the check for order, spaces, escapes and duplicate keys at once.
    if write(&value)? == bytes { Ok(value) } else { Err(Fault::NotCanonical) }
}

/// Writes a value in its one form.
pub fn to_bytes<T: Serialize + ?Sized>(value: &T) -> Result<Vec<u8>, Fault> {
    let value =
        serde_json::to_value(value).map_err(|error| Fault::NotJson { says: error.to_string() })?;
    let bytes = write(&value)?;
    if bytes.len() > LINE_BYTES_MAX {
        return Err(Fault::TooLong { bytes: bytes.len() });
    }
    Ok(bytes)
}

/// The NFC form of a text, which is the only one that lines hold.
pub fn nfc(text: &str) -> String {
    nfc::nfc(text)
}

fn write(value: &Value) -> Result<Vec<u8>, Fault> {
    let mut out = Vec::with_capacity(512);
    write_value(value, &mut out)?;
    Ok(out)
}

fn write_value(value: &Value, out: &mut Vec<u8>) -> Result<(), Fault> {
    match value {
        Value::Null => out.extend(b"null"),
        Value::Bool(true) => out.extend(b"true"),
        Value::Bool(false) => out.extend(b"false"),
        Value::Number(number) => match number.as_i64() {
            Some(n) if n.unsigned_abs() < INTEGER_END as u64 => {
                out.extend(n.to_string().as_bytes())
            }
            _ => return Err(Fault::Number),
        },
        Value::String(text) => write_text(text, out)?,
        Value::Array(items) => write_all(b"[]", items, out, write_value)?,
        Value::Object(map) => {
            // For ASCII keys byte order is RFC 8785's order. The map may keep another one, if
            // anything in the build asks serde_json to preserve the order of reading.
            let mut members: Vec<(&String, &Value)> = map.iter().collect();
            crate::order::sort_by_key(&mut members, |(key, _)| *key);
            write_all(b"{}", &members, out, |(key, item), out| {
                if !key.bytes().all(|b| (0x20..0x7f).contains(&b)) {
                    return Err(Fault::Key);
                }
                write_text(key, out)?;
                out.push(b':');
                write_value(item, out)
            })?;
        }
    }
    Ok(())
}

fn write_all<T>(
    brackets: &[u8; 2],
    items: &[T],
    out: &mut Vec<u8>,
    write_one: impl Fn(&T, &mut Vec<u8>) -> Result<(), Fault>,
) -> Result<(), Fault> {
    out.push(brackets[0]);
    for (place, item) in items.iter().enumerate() {
        if place > 0 {
            out.push(b',');
        }
        write_one(item, out)?;
    }
    out.push(brackets[1]);
    Ok(())
}

fn write_text(text: &str, out: &mut Vec<u8>) -> Result<(), Fault> {
    let clean =
        text.bytes().all(|b| b >= 0x20 && b != 0x7f) && (text.is_ascii() || nfc(text) == text);
    if !clean {
        return Err(Fault::Text);
    }
    out.push(b'"');
    for byte in text.bytes() {
        // Without control characters these are the only two that JSON must escape.
        if matches!(byte, b'"' | b'\\') {
            out.push(b'\\');
        }
        out.push(byte);
    }
    out.push(b'"');
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check_refused(text: &str, expected: Fault) {
        assert_eq!(parse(text.as_bytes()), Err(expected), "{text}");
    }

    #[test]
    fn only_one_spelling_is_read() {
        assert!(parse(br#"{"a":1,"b":["x",true]}"#).is_ok());
        check_refused(r#"{"b":1,"a":2}"#, Fault::NotCanonical);
        check_refused(r#"{"a": 1}"#, Fault::NotCanonical);
        check_refused(r#"{"a":1,"a":1}"#, Fault::NotCanonical);
        check_refused(r#"{"a":"\u0041"}"#, Fault::NotCanonical);
        check_refused("{\"a\":1}\n", Fault::NotCanonical);
        check_refused(r#"{"a":-0}"#, Fault::Number);
    }

    #[test]
    fn numbers_stay_exact_in_every_tool() {
        assert!(parse(b"9007199254740991").is_ok());
        assert!(parse(b"-9007199254740991").is_ok());
        check_refused("9007199254740992", Fault::Number);
        check_refused("-9223372036854775808", Fault::Number);
        check_refused("1.5", Fault::Number);
        check_refused("1e3", Fault::Number);
    }

    #[test]
    fn text_has_one_form_and_no_controls() {
        check_refused("\"e\u{301}\"", Fault::Text);
        assert!(parse("\"é\"".as_bytes()).is_ok());
        check_refused("\"\u{7f}\"", Fault::Text);
        check_refused(r#""\n""#, Fault::Text);
        check_refused("{\"é\":1}", Fault::Key);
    }

    #[test]
    fn a_long_line_says_how_long() {
        let long = format!("\"{}\"", "a".repeat(LINE_BYTES_MAX));
        check_refused(&long, Fault::TooLong { bytes: LINE_BYTES_MAX + 2 });
    }
}
