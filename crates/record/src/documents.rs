//! Documents that a line names by digest: the site card, the instructions, the terms, the route.
//!
//! Each is a JSON file of its own, kept as a blob; the line holds only its SHA-256. Fields that this
//! version does not know are left aside, so that a newer document can still be read.

mod instructions;
mod route;
mod site_card;
mod terms;

pub use instructions::Instructions;
pub use route::{Leg, Piece, Route};
pub use site_card::{Contact, Lifts, People, SiteCard};
pub use terms::{Demand, NoticeOwed, Owed, Terms};

use ledger::Digest;
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::fmt;

/// The version that this code writes.
pub const VERSION: u32 = 1;

/// A document that a line can name.
pub trait Document: Serialize + DeserializeOwned {
    /// What it is called in an error.
    const NAME: &'static str;

    /// Its format version.
    fn version(&self) -> u32;

    /// The bytes to keep as a blob: keys in order, no space between, as in RFC 8785.
    fn to_bytes(&self) -> Vec<u8> {
        let mut value =
            serde_json::to_value(self).expect("documents hold only text, numbers and lists");
        value.sort_all_objects();
        value.to_string().into_bytes()
    }

    /// The digest by which a line names it.
    fn digest(&self) -> Digest {
        Digest::of(&self.to_bytes())
    }

    /// Reads a blob.
    fn parse(bytes: &[u8]) -> Result<Self, DocumentFault> {
        let document: Self = ledger::json::parse(bytes)
            .map_err(|error| DocumentFault { name: Self::NAME, says: error.to_string() })?;
        if document.version() != VERSION {
            let says = format!(
                "format version {}, this program knows {VERSION}: use a newer one",
                document.version()
            );
            return Err(DocumentFault { name: Self::NAME, says });
        }
        Ok(document)
    }
}

/// Why a blob is not the document that it should be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DocumentFault {
    /// Which document was expected.
    pub name: &'static str,
    /// What is missing or wrong.
    pub says: String,
}

impl fmt::Display for DocumentFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the blob is no {}: {}", self.name, self.says)
    }
}

impl std::error::Error for DocumentFault {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_have_one_order_and_come_back() {
        let terms = Terms {
            v: VERSION,
            demands: vec![Demand {
                of: "stair-b".into(),
                gap_s: Some(900),
                source: "the house".into(),
                from: crate::DemandFrom::House,
                text: "Every 15 minutes.".into(),
            }],
            owed: Owed::default(),
        };
        let bytes = terms.to_bytes();
        assert_eq!(
            String::from_utf8(bytes.clone()).unwrap(),
            r#"{"demands":[{"for":"stair-b","from":"house","gap_s":900,"source":"the house","text":"Every 15 minutes."}],"v":1}"#
        );
        assert_eq!(Terms::parse(&bytes), Ok(terms));
    }

    #[test]
    fn a_card_without_a_number_says_so_with_null() {
        let card = SiteCard::plain("Gannet Hotel", "1 Quay Street", "Gannet Quay");
        let text = String::from_utf8(card.to_bytes()).unwrap();
        assert!(text.contains(r#""emergency_number":null"#), "{text}");
        assert_eq!(SiteCard::parse(text.as_bytes()), Ok(card));
    }

    #[test]
    fn another_blob_is_refused_by_name() {
        let fault = Instructions::parse(b"{\"v\":1}").unwrap_err();
        assert!(fault.to_string().contains("no instructions sheet"), "{fault}");
        let newer = br#"{"v":2,"language":"en","lines":[]}"#;
        assert!(Instructions::parse(newer).unwrap_err().says.contains("newer"));
    }
}
