//! Profiles: a folder in one edition, and what of it is in force on a day.

use super::{Demand, DemandFile, Standards, Value};
use crate::codes::{Known, Origin};
use crate::nearest::nearest;
use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use toml::value::Datetime;

/// A named set of demands: a document in one edition, or a place.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Profile {
    /// Short name for machines.
    pub id: String,
    /// The document with its number and year, or the place.
    pub title: String,
    pub(super) folder: String,
    pub(super) edition: Option<String>,
}

/// Where a value stands, for people who want to read it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Citation {
    /// Title of the profile; empty for an order.
    pub profile: String,
    /// The document or page, or who gave the order.
    pub source: String,
    /// Clause, section or heading, or the order's own reference.
    pub clause: String,
    /// Year of the text.
    pub year: Option<i16>,
    /// How it is known to us.
    pub known: Known,
    /// Where the demand comes from.
    pub from: Origin,
    /// When an order was given; a code has no such time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub given: Option<Timestamp>,
}

/// A value that is in force.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InForce<'a> {
    /// The file it stands in.
    pub file: &'a DemandFile,
    /// The value.
    pub value: &'a Value,
    /// The profile that brought it in.
    pub profile: &'a Profile,
}

impl InForce<'_> {
    /// What it is about.
    pub fn demand(&self) -> Demand {
        self.file.demand
    }

    /// A number of the value in seconds.
    pub fn seconds(&self, number: Option<i64>) -> Option<i64> {
        number?.checked_mul(self.file.unit?.seconds()?)
    }

    /// Where it stands.
    pub fn citation(&self) -> Citation {
        Citation { profile: self.profile.title.clone(), ..self.file.citation(self.value) }
    }
}

impl DemandFile {
    /// Where a value of this file stands, whatever the edition.
    pub fn citation(&self, value: &Value) -> Citation {
        Citation {
            profile: self.profile.clone(),
            source: value.source.clone(),
            clause: value.clause.clone(),
            year: value.year,
            known: value.known,
            from: self.origin,
            given: None,
        }
    }
}

/// No profile has this name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnknownProfile {
    /// What was asked for.
    pub asked: String,
    /// The title that was most likely meant.
    pub nearest: String,
}

impl Standards {
    /// Every profile, by title.
    pub fn profiles(&self) -> Vec<Profile> {
        let mut profiles: Vec<Profile> = Vec::new();
        for file in &self.files {
            for edition in self.editions(&file.folder) {
                profiles.push(Profile::new(file, edition));
            }
        }
        profiles.sort_by(|a, b| a.title.cmp(&b.title));
        profiles.dedup();
        profiles
    }

    /// The profile with this id or title, whatever the case of its letters.
    pub fn find(&self, name: &str) -> Result<Profile, UnknownProfile> {
        let asked = name.trim().to_lowercase();
        let profiles = self.profiles();
        let found = profiles.iter().find(|p| p.id == asked || p.title.to_lowercase() == asked);
        found.cloned().ok_or_else(|| {
            let titles = profiles.iter().map(|profile| profile.title.as_str());
            UnknownProfile {
                asked: name.into(),
                nearest: nearest(name, titles).unwrap_or_default().into(),
            }
        })
    }

    /// The profiles asked for and those that they adopt, each once.
    pub fn with_adopted(&self, asked: &[Profile]) -> Vec<Profile> {
        let mut all: Vec<Profile> = Vec::new();
        let mut open: Vec<Profile> = asked.iter().rev().cloned().collect();
        while let Some(profile) = open.pop() {
            if all.contains(&profile) {
                continue;
            }
            let adopted = self.values(&profile).filter(|(_, value)| value.left_out.is_none());
            open.extend(adopted.filter_map(|(_, value)| self.find(value.adopts.as_deref()?).ok()));
            all.push(profile);
        }
        all
    }

    /// What these profiles state for a day; values that are left out stand apart.
    pub fn in_force<'a>(&'a self, profiles: &'a [Profile], on: Date) -> Vec<InForce<'a>> {
        let all = profiles.iter().flat_map(|profile| {
            self.values(profile).map(move |(file, value)| InForce { file, value, profile })
        });
        all.filter(|found| in_force_on(found.value, on)).collect()
    }

    fn values<'a>(
        &'a self,
        profile: &'a Profile,
    ) -> impl Iterator<Item = (&'a DemandFile, &'a Value)> {
        let files = self.files.iter().filter(|file| file.folder == profile.folder);
        files.flat_map(|file| file.value.iter().map(move |value| (file, value))).filter(
            |(_, value)| {
                value.editions.is_empty()
                    || profile
                        .edition
                        .as_ref()
                        .is_some_and(|edition| value.editions.contains(edition))
            },
        )
    }

    fn editions(&self, folder: &str) -> Vec<Option<&str>> {
        let files = self.files.iter().filter(|file| file.folder == folder);
        let named = files.flat_map(|file| &file.value).flat_map(|value| &value.editions);
        let mut editions: Vec<Option<&str>> = named.map(|edition| Some(edition.as_str())).collect();
        editions.sort_unstable();
        editions.dedup();
        if editions.is_empty() { vec![None] } else { editions }
    }
}

impl Profile {
    fn new(file: &DemandFile, edition: Option<&str>) -> Self {
        let (id, title) = match edition {
            Some(edition) => (
                format!("{}-{}", file.folder, edition.to_lowercase().replace(' ', "-")),
                format!("{} {edition}", file.profile),
            ),
            None => (file.folder.clone(), file.profile.clone()),
        };
        Self { id, title, folder: file.folder.clone(), edition: edition.map(String::from) }
    }
}

fn in_force_on(value: &Value, on: Date) -> bool {
    let begun = value.from.as_ref().and_then(date).is_none_or(|from| from <= on);
    let running = value.until.as_ref().and_then(date).is_none_or(|until| on <= until);
    begun && running
}

fn date(written: &Datetime) -> Option<Date> {
    let date = written.date?;
    Date::new(
        i16::try_from(date.year).ok()?,
        i8::try_from(date.month).ok()?,
        i8::try_from(date.day).ok()?,
    )
    .ok()
}
