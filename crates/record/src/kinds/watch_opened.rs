//! `watch_opened`: A watch begins to be owed.

use crate::codes::System;
use crate::ids::SiteId;
use ledger::Digest;
use serde::{Deserialize, Serialize};

/// A watch begins to be owed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WatchOpened {
    /// The site.
    pub site: SiteId,
    /// The blob with the site's name, address, numbers and contacts.
    pub card: Digest,
    /// IANA time zone of the site.
    pub tz: String,
    /// From when, ms UTC.
    pub from_ms: i64,
    /// Until when, if known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until_ms: Option<i64>,
    /// Systems that are out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub out: Vec<System>,
    /// A demonstration: no number can be dialled.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub demo: bool,
    /// A test site: no number can be dialled.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub test: bool,
}
