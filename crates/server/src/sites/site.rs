//! A site as the settings keep it: everything that a watch there begins with.

use crate::settings::{Kept, SITES};
use ledger::Digest;
use record::Party;
use record::documents::{Contact, Lifts, People, SiteCard};
use serde::{Deserialize, Serialize};

/// A site that watches are opened at.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub(crate) struct Site {
    pub(crate) name: String,
    pub(crate) address: String,
    pub(crate) town: String,
    pub(crate) tz: String,
    /// Further buildings: name and address in one line each.
    pub(crate) buildings: Vec<String>,
    pub(crate) cross_street: String,
    /// What the guard dials; empty on demonstration and test sites.
    pub(crate) emergency: String,
    pub(crate) practice: Practice,
    /// Where somebody meets the engine.
    pub(crate) meet: String,
    pub(crate) people_about: u32,
    pub(crate) asleep: bool,
    /// The client, as invoices and hours name them.
    pub(crate) client: String,
    pub(crate) contacts: Vec<SiteContact>,
    pub(crate) call_spots: Vec<String>,
    /// Keys, extinguishers, panel, valves: what is where.
    pub(crate) equipment: Vec<String>,
    /// The newest version of each language.
    pub(crate) instructions: Vec<Sheet>,
    pub(crate) plan: Option<Digest>,
    /// Titles of the published demands that hold there.
    pub(crate) profiles: Vec<String>,
}

/// Whether numbers can be dialled there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Practice {
    #[default]
    Earnest,
    Demo,
    Test,
}

impl Practice {
    pub(crate) const fn value(self) -> &'static str {
        match self {
            Practice::Earnest => "",
            Practice::Demo => "demo",
            Practice::Test => "test",
        }
    }

    pub(crate) fn read(text: &str) -> Practice {
        match text {
            "demo" => Practice::Demo,
            "test" => Practice::Test,
            _ => Practice::Earnest,
        }
    }
}

/// Somebody to call there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct SiteContact {
    pub(crate) party: Party,
    pub(crate) name: String,
    pub(crate) number: String,
    /// The account under which a monitoring company knows the site.
    #[serde(default)]
    pub(crate) account: String,
}

/// Instructions in one language.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Sheet {
    /// BCP 47 tag.
    pub(crate) language: String,
    pub(crate) version: u32,
    pub(crate) lines: Vec<String>,
}

impl Kept for Site {
    const COLLECTION: &'static str = SITES;
}

impl Site {
    /// The card of a watch there; nothing can be dialled unless it is in earnest.
    pub(crate) fn card(&self, callback: Option<String>) -> SiteCard {
        let some = |text: &str| Some(text.to_owned()).filter(|text| !text.is_empty());
        let mut card = SiteCard::plain(&self.name, &self.address, &self.town);
        card.cross_street = some(&self.cross_street);
        card.emergency_number =
            some(&self.emergency).filter(|_| self.practice == Practice::Earnest);
        card.callback = callback;
        card.meet = some(&self.meet);
        card.people = (self.asleep || self.people_about > 0)
            .then_some(People { about: self.people_about, asleep: self.asleep });
        card.lifts = match self.emergency.as_str() {
            "999" | "112" => Lifts::Lifts,
            _ => Lifts::Elevators,
        };
        card.contacts = self
            .contacts
            .iter()
            .enumerate()
            .map(|(i, contact)| Contact {
                id: format!("site-{}", i + 1),
                party: contact.party,
                name: contact.called(),
                number: contact.number.clone(),
            })
            .collect();
        card.call_spots = self.call_spots.clone();
        card
    }

    /// The instructions in a language, else the newest in another.
    pub(crate) fn sheet(&self, language: &str) -> Option<&Sheet> {
        let own = self.instructions.iter().find(|sheet| sheet.language == language);
        own.or_else(|| self.instructions.first())
    }
}

impl SiteContact {
    /// The name with the account that must be told with it.
    pub(crate) fn called(&self) -> String {
        match self.account.is_empty() {
            true => self.name.clone(),
            false => format!("{} ({})", self.name, self.account),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_site_kept_by_an_older_server_is_read_and_a_practice_site_dials_nothing() {
        let old = r#"{"name":"Gannet Hotel","address":"4 Quay Street","town":"Port Gannet","tz":"America/Chicago"}"#;
        let mut site: Site = serde_json::from_str(old).unwrap();
        site.emergency = "911".to_owned();
        assert_eq!(site.card(None).emergency_number.as_deref(), Some("911"));
        site.practice = Practice::Test;
        assert_eq!(site.card(None).emergency_number, None);
    }
}
