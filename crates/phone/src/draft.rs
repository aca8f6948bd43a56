//! What was begun and not yet said: kept at every touch, so that a camera that kills the page or a
//! battery that dies takes nothing with it.

use crate::hot_work::PermitDraft;
use crate::tap::Field;
use ledger::order::{Map, Set};
use ledger::{Digest, LineId};
use record::{CheckedItem, Means, PaperWhy, Party, WhatDone};
use serde::{Deserialize, Serialize};

/// Everything half-typed or half-chosen.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Draft {
    /// Text by field.
    #[serde(default)]
    pub text: Map<Field, String>,
    /// What was done about the open observation.
    #[serde(default)]
    pub done: Set<WhatDone>,
    /// Equipment that was looked at and is there.
    #[serde(default)]
    pub items: Set<CheckedItem>,
    /// Who is being told.
    #[serde(default)]
    pub telling: Option<Telling>,
    /// The observation on the screen.
    #[serde(default)]
    pub observation: Option<LineId>,
    /// The permit that is being read.
    #[serde(default)]
    pub permit: PermitDraft,
    /// Why paper takes over.
    #[serde(default)]
    pub paper_why: Option<PaperWhy>,
    /// The signature drawn.
    #[serde(default)]
    pub signature: Option<Digest>,
}

/// A communication under way.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Telling {
    /// What they are.
    pub party: Party,
    /// Their name.
    pub name: String,
    /// Their number.
    #[serde(default)]
    pub number: Option<String>,
    /// By which means.
    pub means: Means,
    /// About which observation.
    #[serde(default)]
    pub of: Option<LineId>,
}

impl Draft {
    /// Text typed into a field, trimmed; none if there is nothing.
    pub fn typed(&self, field: Field) -> Option<&str> {
        self.text.get(&field).map(|text| text.trim()).filter(|text| !text.is_empty())
    }
}
