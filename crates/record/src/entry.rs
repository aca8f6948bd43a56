//! The table from kind to body, and the way from a verified line to its [`Entry`](crate::Entry).

use std::fmt;

/// Why a body is not what its kind asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EntryFault {
    /// The kind.
    pub kind: String,
    /// What is missing or wrong.
    pub says: String,
}

impl fmt::Display for EntryFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the body is not that of a {:?} line: {}", self.kind, self.says)
    }
}

impl std::error::Error for EntryFault {}

/// Makes [`Entry`](crate::Entry) from the table in `kinds.rs`.
macro_rules! kinds {
    ($($body:ident = $kind:literal,)*) => {
        /// What a line states.
        #[derive(Debug, Clone, PartialEq, Eq)]
        pub enum Entry {
            $(
                #[doc = concat!("`", $kind, "`")]
                $body($body),
            )*
            /// A kind that this program does not know: kept, shown as such, changing nothing else.
            Unknown {
                /// The kind.
                kind: String,
                /// Its body, as it stands.
                body: serde_json::Map<String, serde_json::Value>,
            },
        }

        impl Entry {
            /// Every kind that this program knows.
            pub const KINDS: &'static [&'static str] = &[$($kind),*];

            /// Reads the body of a kind. An unknown kind is no fault.
            pub fn from_body(
                kind: &str,
                body: &serde_json::Map<String, serde_json::Value>,
            ) -> Result<Entry, crate::EntryFault> {
                match kind {
                    $($kind => ledger::json::of_object(body)
                        .map(Entry::$body)
                        .map_err(|error| crate::EntryFault { kind: kind.to_owned(), says: error.to_string() }),)*
                    _ => Ok(Entry::Unknown { kind: kind.to_owned(), body: body.clone() }),
                }
            }

            /// The kind's name in the line.
            pub fn kind(&self) -> &str {
                match self {
                    $(Entry::$body(_) => $kind,)*
                    Entry::Unknown { kind, .. } => kind,
                }
            }

            /// The body as it goes into the line.
            pub fn to_body(&self) -> serde_json::Map<String, serde_json::Value> {
                let value = match self {
                    $(Entry::$body(body) => serde_json::to_value(body),)*
                    Entry::Unknown { body, .. } => return body.clone(),
                };
                match value {
                    Ok(serde_json::Value::Object(map)) => map,
                    _ => unreachable!("every body is a struct of serialisable fields"),
                }
            }
        }

        $(
            impl From<$body> for Entry {
                fn from(body: $body) -> Entry {
                    Entry::$body(body)
                }
            }
        )*
    };
}

impl crate::Entry {
    /// Reads what a line states.
    pub fn of(line: &ledger::Line) -> Result<crate::Entry, EntryFault> {
        crate::Entry::from_body(&line.kind, &line.body)
    }

    /// When it happened, if the entry states another time than that of its writing, ms UTC.
    pub fn stated_ms(&self) -> Option<i64> {
        use crate::Entry::*;
        match self {
            Observed(body) => body.at_ms,
            Acted(body) => body.at_ms,
            Communication(body) => body.at_ms,
            Emergency(body) => body.at_ms,
            Notified(body) => body.at_ms,
            LastSpark(body) => body.at_ms,
            OrderReceived(body) => Some(body.at_ms),
            WatchReleased(body) => Some(body.at_ms),
            ImpairmentFound(body) => Some(body.from_ms),
            ImpairmentRestored(body) => Some(body.at_ms),
            Transcribed(body) => Some(body.at_ms),
            PhonedIn(body) => Some(body.at_ms),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::Entry;
    use serde_json::{Map, json};

    #[test]
    fn an_unknown_kind_is_kept_as_it_stands() {
        let mut body = Map::new();
        body.insert("a".into(), json!([1, 2]));
        let entry = Entry::from_body("of_next_year", &body).unwrap();
        assert_eq!((entry.kind(), entry.to_body()), ("of_next_year", body));
    }

    #[test]
    fn a_known_kind_with_a_strange_body_is_a_fault_that_names_the_field() {
        let mut body = Map::new();
        body.insert("rounds".into(), json!(1));
        let fault = Entry::from_body("round_began", &body).unwrap_err();
        assert!(fault.says.contains("rounds"), "{fault}");
    }
}
