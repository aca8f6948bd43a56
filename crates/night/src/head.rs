//! The head of a night: place, day, zones with their gaps, people and their phones.

use crate::clock::span_s;
use crate::fault::NightFault;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use ledger::WatchId;
use record::documents::Contact;
use record::{DemandFrom, StopId, System, ZoneId};
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;

/// What stands above the story.
#[derive(Debug)]
pub(crate) struct Head {
    pub(crate) site: String,
    pub(crate) address: String,
    pub(crate) town: String,
    pub(crate) watch: WatchId,
    pub(crate) date: Date,
    pub(crate) tz: String,
    pub(crate) from: String,
    pub(crate) until: Option<String>,
    pub(crate) gaps: BTreeMap<ZoneId, u32>,
    pub(crate) stops: BTreeMap<StopId, ZoneId>,
    pub(crate) names: BTreeMap<String, String>,
    pub(crate) legs_s: Vec<u32>,
    pub(crate) route: Vec<StopId>,
    pub(crate) source: (DemandFrom, String),
    pub(crate) demands: Vec<(String, DemandFrom, String)>,
    pub(crate) owed: record::documents::Owed,
    pub(crate) first_round_s: Option<u32>,
    pub(crate) people_at_least: u16,
    pub(crate) other_duties: bool,
    pub(crate) guards: Vec<String>,
    /// What whoever sits at the desk is called.
    pub(crate) desk: String,
    pub(crate) out: Vec<System>,
    pub(crate) demo: bool,
    pub(crate) test: bool,
    pub(crate) seed: u8,
    pub(crate) phones: Vec<(usize, String, String)>,
    pub(crate) instructions: Vec<String>,
    pub(crate) contacts: Vec<Contact>,
}

impl Head {
    fn empty() -> Head {
        Head {
            site: "Gannet Quay".to_owned(),
            address: "1 Quay Street".to_owned(),
            town: "Gannet".to_owned(),
            watch: WatchId::new("w-night").expect("an id"),
            date: Date::constant(2026, 2, 10),
            tz: "UTC".to_owned(),
            from: "20:00".to_owned(),
            until: None,
            gaps: BTreeMap::new(),
            stops: BTreeMap::new(),
            names: BTreeMap::new(),
            legs_s: Vec::new(),
            route: Vec::new(),
            source: (DemandFrom::House, "house rule".to_owned()),
            demands: Vec::new(),
            owed: record::documents::Owed::default(),
            first_round_s: None,
            people_at_least: 1,
            other_duties: false,
            guards: Vec::new(),
            desk: "Desk".to_owned(),
            out: vec![System::FireAlarm],
            demo: true,
            test: false,
            seed: 1,
            phones: Vec::new(),
            instructions: vec!["Walk every zone. Any sign of fire: call first.".to_owned()],
            contacts: Vec::new(),
        }
    }

    /// Reads the lines of the head; `people` that are not named there are found in the story.
    pub(crate) fn read(lines: &[(usize, &str)]) -> Result<Head, NightFault> {
        let mut head = Head::empty();
        for (number, line) in lines {
            head.line(*number, line).map_err(|says| NightFault {
                line: *number,
                text: (*line).to_owned(),
                says,
                nearest: crate::form::nearest(KEYS.iter().copied(), line),
            })?;
        }
        let zones: Vec<ZoneId> = head.gaps.keys().cloned().collect();
        for zone in zones {
            if head.stops.values().all(|of| *of != zone) {
                let stop = StopId::new(format!("{zone}-1")).map_err(|e| fault(e.to_string()))?;
                head.stops.insert(stop, zone);
            }
        }
        Ok(head)
    }

    fn line(&mut self, number: usize, line: &str) -> Result<(), String> {
        let (key, value) = line.split_once(':').ok_or("above the story a line is `key: value`")?;
        let (key, value) = (key.trim(), value.trim());
        let words: Vec<&str> = key.split_whitespace().collect();
        match words.as_slice() {
            ["site"] => self.place(value),
            ["watch"] => {
                let (from, until) =
                    value.split_once(" to ").map_or((value, None), |(f, u)| (f, Some(u)));
                (self.from, self.until) = (from.to_owned(), until.map(str::to_owned));
            }
            ["id"] => self.watch = WatchId::new(value).map_err(|error| error.to_string())?,
            ["date"] => self.date = date(value)?,
            ["time", "zone"] => {
                TimeZone::get(value).map_err(|error| error.to_string())?;
                self.tz = value.to_owned();
            }
            ["gap", zone] => {
                self.gaps.insert(id(zone)?, span_s(value)?);
            }
            ["name", id] => {
                self.names.insert((*id).to_owned(), value.to_owned());
            }
            ["stop", stop] => {
                self.stops.insert(id(stop)?, id(value)?);
            }
            ["route"] => self.route = list(value).map(id).collect::<Result<_, _>>()?,
            ["legs"] => self.legs_s = list(value).map(span_s).collect::<Result<_, _>>()?,
            ["source"] => self.source = sourced(value)?,
            ["demand", what] => {
                let (from, title) = sourced(value)?;
                self.demands.push(((*what).to_owned(), from, title));
            }
            ["first", "round"] => self.first_round_s = Some(span_s(value)?),
            ["people", "at", "least"] => self.people_at_least = number_of(value)?,
            ["other", "duties"] => self.other_duties = yes(value)?,
            ["people"] => self.guards = list(value).map(str::to_owned).collect(),
            ["desk"] => self.desk = value.to_owned(),
            ["out"] => self.out = list(value).map(code).collect::<Result<_, _>>()?,
            ["demo"] => self.demo = yes(value)?,
            ["test"] => self.test = yes(value)?,
            ["seed"] => self.seed = number_of(value)?,
            ["instruction"] => self.instructions.push(value.to_owned()),
            ["phone", "of", name] => {
                self.phones.push((number, (*name).to_owned(), value.to_owned()))
            }
            ["contact", party] => self.contact(party, value)?,
            ["owed", ..] => self.owed(&key["owed".len()..], value)?,
            _ => return Err(format!("{key:?} is no key of the head")),
        }
        Ok(())
    }

    fn place(&mut self, value: &str) {
        let parts: Vec<&str> = list(value).collect();
        self.site = parts.first().unwrap_or(&"").to_string();
        self.address = parts.get(1).unwrap_or(&"").to_string();
        self.town = parts.get(2).unwrap_or(&"").to_string();
    }

    /// Somebody on the site's card: name, number.
    fn contact(&mut self, party: &str, value: &str) -> Result<(), String> {
        let (name, number) = value.rsplit_once(',').ok_or("a contact is `NAME, NUMBER`")?;
        self.contacts.push(Contact {
            id: format!("{party}-{}", self.contacts.len() + 1),
            party: code(party)?,
            name: name.trim().to_owned(),
            number: number.trim().to_owned(),
        });
        Ok(())
    }

    fn owed(&mut self, what: &str, value: &str) -> Result<(), String> {
        match what.trim() {
            "signature" => self.owed.signature = yes(value)?,
            "review" => self.owed.review = yes(value)?,
            "instructions" => self.owed.instructions_read = yes(value)?,
            "structures" => self.owed.structure_entries = yes(value)?,
            "relief" => self.owed.relief = yes(value)?,
            "release by" => {
                self.owed.release_by = list(value).map(code).collect::<Result<_, _>>()?
            }
            "delivery" => self.owed.deliver_within_s = Some(span_s(value)?),
            "tail" => self.owed.tail_s = Some(span_s(value)?),
            "notice" => {
                let (party, within) =
                    value.split_once(" within ").map_or((value, None), |(p, w)| (p, Some(w)));
                let within_s = within.map(span_s).transpose()?;
                self.owed
                    .notify
                    .push(record::documents::NoticeOwed { party: code(party)?, within_s });
            }
            other => return Err(format!("{other:?} is nothing that the head can say is owed")),
        }
        Ok(())
    }
}

/// The keys, as they are shown when one is mistyped.
const KEYS: &[&str] = &[
    "site: NAME, ADDRESS, TOWN",
    "id: w-ID",
    "watch: 20:00 to 06:00",
    "date: 2026-02-10",
    "time zone: Europe/Madrid",
    "gap ZONE: 15 min",
    "stop STOP: ZONE",
    "name ZONE: Stair B",
    "route: STOP, STOP",
    "legs: 60 s, 90 s",
    "source: code TITLE",
    "demand WHAT: code TITLE",
    "first round: 15 min",
    "people: Ines, Omar",
    "people at least: 2",
    "desk: NAME",
    "other duties: no",
    "out: fire-alarm",
    "instruction: TEXT",
    "contact PARTY: NAME, NUMBER",
    "demo: yes",
    "test: no",
    "seed: 1",
    "phone of NAME: offline 22:10 to 03:00",
    "owed WHAT: yes",
];

fn fault(says: String) -> NightFault {
    NightFault { line: 0, text: String::new(), says, nearest: None }
}

fn list(value: &str) -> impl Iterator<Item = &str> {
    value.split(',').map(str::trim).filter(|part| !part.is_empty())
}

fn sourced(value: &str) -> Result<(DemandFrom, String), String> {
    let (from, title) = value.split_once(' ').ok_or("a source is `code TITLE`, `house TITLE` …")?;
    Ok((code(from)?, title.to_owned()))
}

fn date(value: &str) -> Result<Date, String> {
    value.parse().map_err(|_| format!("{value:?} is no date: write 2026-02-10"))
}

fn yes(value: &str) -> Result<bool, String> {
    match value {
        "yes" => Ok(true),
        "no" => Ok(false),
        _ => Err(format!("{value:?} is neither yes nor no")),
    }
}

fn number_of<N: std::str::FromStr>(value: &str) -> Result<N, String> {
    value.parse().map_err(|_| format!("{value:?} is no number that fits here"))
}

/// An id of a place.
pub(crate) fn id<I: std::str::FromStr<Err = ledger::ids::NotAnId>>(
    text: &str,
) -> Result<I, String> {
    text.parse().map_err(|error: ledger::ids::NotAnId| error.to_string())
}

/// A code of the record, written with hyphens or spaces; an unknown one is answered with the list.
pub(crate) fn code<C: DeserializeOwned>(text: &str) -> Result<C, String> {
    let written = text.trim().replace(['-', ' '], "_");
    serde_json::from_value(serde_json::Value::String(written)).map_err(|error| error.to_string())
}
