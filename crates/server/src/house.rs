//! The house itself: its name and the desk's time zone.

use crate::settings::{HOUSE, Kept};
use serde::{Deserialize, Serialize};

/// The key of the one house in the settings.
pub(crate) const KEY: &str = "house";

/// What the house is called and by which clock its desk works.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct House {
    pub(crate) name: String,
    /// IANA name.
    pub(crate) tz: String,
    /// Where night reports go if a watch names no address.
    #[serde(default)]
    pub(crate) report_to: Vec<String>,
}

impl Default for House {
    fn default() -> House {
        House { name: "Rattlewatch".to_owned(), tz: "UTC".to_owned(), report_to: Vec::new() }
    }
}

impl Kept for House {
    const COLLECTION: &'static str = HOUSE;
}
