//! Every demand of a watch with its source.

use super::Document;
use crate::DemandFrom;
use serde::{Deserialize, Serialize};

/// What the watch must satisfy, in words and numbers, each with its source.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Terms {
    /// Format version.
    pub v: u32,
    /// The demands.
    pub demands: Vec<Demand>,
}

/// One demand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Demand {
    /// The id of the zone that it is about, or what else.
    #[serde(rename = "for")]
    pub of: String,
    /// Longest gap, s, if it sets one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gap_s: Option<u32>,
    /// Title, clause and year, or the order's number.
    pub source: String,
    /// Where it comes from.
    pub from: DemandFrom,
    /// The demand in words.
    pub text: String,
}

impl Document for Terms {
    const NAME: &'static str = "terms";

    fn version(&self) -> u32 {
        self.v
    }
}
