//! Names of places and people: the record holds ids, the plan and the private lines hold names.

use ledger::PersonId;
use record::{PlaceId, StopId, ZoneId};
use std::collections::BTreeMap;
use watch::Watch;

/// Who and what the ids of one watch are called. An id without a name is shown as it stands.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Names {
    zones: BTreeMap<String, String>,
    stops: BTreeMap<String, String>,
    places: BTreeMap<String, String>,
    people: BTreeMap<PersonId, String>,
}

impl Names {
    /// The names on a plan.
    pub fn of_plan(plan: &floorplan::Plan) -> Names {
        let zones = plan
            .zones
            .iter()
            .map(|zone| (zone.id.as_str().to_owned(), zone.name.clone()))
            .collect();
        let stops = plan
            .stops
            .iter()
            .map(|stop| (stop.id.as_str().to_owned(), stop.name.clone()))
            .collect();
        Names { zones, stops, places: BTreeMap::new(), people: BTreeMap::new() }
    }

    /// Adds the people of a watch: their lines' private words name them (`guard`; `who` at the desk), as does the
    /// server when it plans their shifts (`person`).
    #[must_use]
    pub fn with_people(mut self, watch: &Watch) -> Names {
        for line in watch.lines() {
            let Some(words) = &line.words else { continue };
            // Whoever comes by a link stands there as the house wrote the name into the link.
            if let record::Entry::Viewed(body) = &line.said
                && body.by == line.who
                && !words.text().is_empty()
            {
                self.people.entry(body.by.clone()).or_insert_with(|| words.text());
            }
            if let Some(name) = words.names.get(record::WHO) {
                self.people.insert(line.by.clone(), name.clone());
            }
            if let Some(name) = words.names.get("guard") {
                self.people.insert(line.who.clone(), name.clone());
            }
            if let (record::Entry::Scheduled(body), Some(name)) =
                (&line.said, words.names.get("person"))
            {
                self.people.entry(body.person.clone()).or_insert_with(|| name.clone());
            }
        }
        self
    }

    /// Adds one person, over what the record says.
    pub fn name_person(&mut self, id: PersonId, name: impl Into<String>) {
        self.people.insert(id, name.into());
    }

    /// A zone's name.
    pub fn zone<'a>(&'a self, id: &'a ZoneId) -> &'a str {
        self.zones.get(id.as_str()).map_or(id.as_str(), String::as_str)
    }

    /// A stop's name.
    pub fn stop<'a>(&'a self, id: &'a StopId) -> &'a str {
        self.stops.get(id.as_str()).map_or(id.as_str(), String::as_str)
    }

    /// The name of a place from the site's list.
    pub fn place<'a>(&'a self, id: &'a PlaceId) -> &'a str {
        self.places.get(id.as_str()).map_or(id.as_str(), String::as_str)
    }

    /// A person's name.
    pub fn person<'a>(&'a self, id: &'a PersonId) -> &'a str {
        self.people.get(id).map_or(id.as_str(), String::as_str)
    }
}
