//! Every demand of a watch with its source.

use super::Document;
use crate::{DemandFrom, Party, ReleasedBy};
use serde::{Deserialize, Serialize};

/// What the watch must satisfy, in words and numbers, each with its source.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Terms {
    /// Format version.
    pub v: u32,
    /// The demands.
    pub demands: Vec<Demand>,
    /// What else is owed, beside gaps, so that it can be judged.
    #[serde(default, skip_serializing_if = "Owed::is_empty")]
    pub owed: Owed,
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

/// What is owed beside gaps, first rounds and people. The source of each is the demand whose `for`
/// is the name of the field.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Owed {
    /// Each shift is signed.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub signature: bool,
    /// Each shift begins with the instructions read.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub instructions_read: bool,
    /// Each shift or day is reviewed by somebody of the house.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub review: bool,
    /// The guard may not leave before somebody takes over.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub relief: bool,
    /// Each structure entered and inspected is an entry of its own.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub structure_entries: bool,
    /// Who may end the watch; empty if no source says.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub release_by: Vec<ReleasedBy>,
    /// Who must be told of an impairment.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub notify: Vec<NoticeOwed>,
    /// The report is out so long after the watch or the day ended, s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub deliver_within_s: Option<u32>,
    /// The watch after the last spark, s, where it is longer than the permit's.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tail_s: Option<u32>,
}

/// A party that must be told.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NoticeOwed {
    /// Who.
    pub party: Party,
    /// Within how long, s; none means at once, without a number in any source.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub within_s: Option<u32>,
}

impl Owed {
    /// Whether nothing is said.
    pub fn is_empty(&self) -> bool {
        *self == Owed::default()
    }
}

impl Document for Terms {
    const NAME: &'static str = "terms";

    fn version(&self) -> u32 {
        self.v
    }
}
