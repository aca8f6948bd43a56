//! What must be said to the fire service, and whom else to call.

use super::{Document, VERSION};
use crate::Party;
use serde::{Deserialize, Serialize};

/// The site's name, address, numbers and contacts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SiteCard {
    /// Format version.
    pub v: u32,
    /// The site's name.
    pub name: String,
    /// Street and number.
    pub address: String,
    /// Town or city.
    pub town: String,
    /// The nearest crossing street.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cross_street: Option<String>,
    /// The number of the fire service; none on a demonstration or test site, which can dial nothing.
    pub emergency_number: Option<String>,
    /// The number on which the guard can be called back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub callback: Option<String>,
    /// Where somebody meets the engine.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub meet: Option<String>,
    /// Who is in the building.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub people: Option<People>,
    /// What the lifts are called here.
    #[serde(default)]
    pub lifts: Lifts,
    /// Whom else to call.
    #[serde(default)]
    pub contacts: Vec<Contact>,
    /// Where a call can be made when there is no signal.
    #[serde(default)]
    pub call_spots: Vec<String>,
}

/// The people in the building.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct People {
    /// About how many.
    pub about: u32,
    /// Whether they sleep there.
    pub asleep: bool,
}

/// The local word for them, as it should be said on the telephone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Lifts {
    /// American usage.
    #[default]
    Elevators,
    /// British usage.
    Lifts,
}

/// Somebody to call.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Contact {
    /// Its id on this card.
    pub id: String,
    /// What they are.
    pub party: Party,
    /// Their name.
    pub name: String,
    /// Their number.
    pub number: String,
}

impl SiteCard {
    /// A card with a place and nothing to dial.
    pub fn plain(name: &str, address: &str, town: &str) -> SiteCard {
        SiteCard {
            v: VERSION,
            name: name.to_owned(),
            address: address.to_owned(),
            town: town.to_owned(),
            cross_street: None,
            emergency_number: None,
            callback: None,
            meet: None,
            people: None,
            lifts: Lifts::default(),
            contacts: Vec::new(),
            call_spots: Vec::new(),
        }
    }
}

impl Document for SiteCard {
    const NAME: &'static str = "site card";

    fn version(&self) -> u32 {
        self.v
    }
}
