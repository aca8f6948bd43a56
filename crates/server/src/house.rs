//! The house itself: its name and the desk's time zone.

use crate::settings::{HOUSE, Kept};
use serde::{Deserialize, Serialize};
use words::Lang;

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
    /// In which language the house writes to whoever has not chosen one.
    #[serde(default)]
    pub(crate) lang: Lang,
}

impl Default for House {
    fn default() -> House {
        let (name, tz) = ("Rattlewatch".to_owned(), "UTC".to_owned());
        House { name, tz, report_to: Vec::new(), lang: Lang::default() }
    }
}

impl Kept for House {
    const COLLECTION: &'static str = HOUSE;
}
