//! A person as the settings keep them. The record knows only the id.

use crate::settings::{Kept, PEOPLE};
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
}

impl Kept for Person {
    const COLLECTION: &'static str = PEOPLE;
}
