//! A person as the settings keep them. The record knows only the id.

use super::qualification::Qualification;
use crate::settings::{Kept, PEOPLE};
use jiff::civil::Date;
use record::{Role, SiteId};
use serde::{Deserialize, Serialize};
use words::Lang;

/// Somebody who works for the house or for a client.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Person {
    pub(crate) name: String,
    /// A telephone number to ring.
    #[serde(default)]
    pub(crate) number: String,
    #[serde(default)]
    pub(crate) language: Lang,
    pub(crate) role: Role,
    /// The sites that a client may see.
    #[serde(default)]
    pub(crate) sites: Vec<SiteId>,
    /// No longer here: may not sign in.
    #[serde(default)]
    pub(crate) left: bool,
    /// What they speak with the people in a building, as typed.
    #[serde(default)]
    pub(crate) languages: String,
    #[serde(default)]
    pub(crate) qualifications: Vec<Qualification>,
}

impl Person {
    /// Whether something they were qualified for has run out by a day.
    pub(crate) fn has_lapsed(&self, on: Date) -> bool {
        self.qualifications.iter().any(|qualification| !qualification.holds(on))
    }
}

impl Kept for Person {
    const COLLECTION: &'static str = PEOPLE;
}
