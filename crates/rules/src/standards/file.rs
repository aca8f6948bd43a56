//! One file: one demand of one document or place, with all its values.

use super::{Demand, When};
use crate::codes::{
    Alternative, Known, LogItem, Medium, Origin, Party, Records, Requirement, Step,
};
use serde::Deserialize;
use toml::value::Datetime;

/// One demand of one document or place. Written as `standards/<folder>/<demand>.toml`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DemandFile {
    /// The folder, which is the profile's id before its edition.
    #[serde(skip)]
    pub folder: String,
    /// The document, or the place; with an edition it becomes the profile's title.
    pub profile: String,
    /// What it is about; the file has the same name.
    pub demand: Demand,
    /// Where it holds: ISO 3166 code of the country or part, or `any` for a document that others adopt.
    pub jurisdiction: String,
    /// Whose demand it is: a code's, save for our own defaults.
    #[serde(default = "code")]
    pub origin: Origin,
    /// The unit of the numbers in it.
    #[serde(default)]
    pub unit: Option<Unit>,
    /// The values, one for each edition, date or condition.
    pub value: Vec<Value>,
}

/// One value, with what it depends on and where it stands.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Value {
    /// Editions that state it; empty for all editions of the folder.
    #[serde(default)]
    pub editions: Vec<String>,
    /// First day it is in force.
    pub from: Option<Datetime>,
    /// Last day it is in force.
    pub until: Option<Datetime>,
    /// Facts it depends on.
    #[serde(default)]
    pub when: When,
    /// It holds where no other value of the file does.
    #[serde(default)]
    pub otherwise: bool,

    /// Upper bound.
    pub at_most: Option<i64>,
    /// Lower bound.
    pub at_least: Option<i64>,
    /// Bound that must be passed, strictly.
    pub more_than: Option<i64>,
    /// The rolling stretch in which `more_than` is counted, or the time allowed to do something.
    pub within: Option<i64>,
    /// Spacing of checks.
    pub every: Option<i64>,
    /// One for each so many persons.
    pub per: Option<i64>,
    /// The source speaks of it and states no number.
    #[serde(default)]
    pub no_number: bool,
    /// Who decides where the source states no number.
    pub decides: Option<Party>,
    /// Whether a watch is owed, or the decision is somebody's.
    pub owed: Option<Owed>,
    /// It counts the expected length of the outage, not the hours gone by.
    #[serde(default)]
    pub expected: bool,
    /// It holds in non-working hours.
    #[serde(default)]
    pub non_working: bool,
    /// What the source accepts in place of a watch.
    #[serde(default)]
    pub instead: Vec<Alternative>,
    /// Whether it is allowed.
    pub allowed: Option<bool>,
    /// Who is told, or may act.
    #[serde(default)]
    pub parties: Vec<Party>,
    /// When.
    pub timing: Option<Timing>,
    /// Time of day, as `08:00`.
    pub at_time: Option<String>,
    /// What the log shows.
    #[serde(default)]
    pub write: Vec<LogItem>,
    /// What the log is kept on.
    pub on: Option<Medium>,
    /// What people on watch must have or be.
    #[serde(default)]
    pub need: Vec<Requirement>,
    /// Steps in their order.
    #[serde(default)]
    pub steps: Vec<Step>,
    /// The records that a length of keeping speaks of; else the record of the watch.
    pub records: Option<Records>,
    /// Profile whose demands hold too.
    pub adopts: Option<String>,
    /// A class or rating that the number belongs to.
    pub class: Option<String>,

    /// The document, or the page.
    pub source: String,
    /// Clause, section, or heading.
    pub clause: String,
    /// Year of the text, where the source tells one.
    pub year: Option<i16>,
    /// How it is known.
    pub known: Known,
    /// Why it stays out of the terms, for a value that nobody should rely on.
    pub left_out: Option<String>,
}

/// Whether a watch is owed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Owed {
    /// A watch or a listed alternative.
    Yes,
    /// Where the authority requires it.
    Authority,
    /// Where the person answerable finds it needed.
    Judgement,
}

impl Owed {
    /// The source gives the decision to somebody.
    pub fn leaves_it_open(self) -> bool {
        self != Self::Yes
    }
}

/// When something is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Timing {
    /// As soon as the loss is known.
    AtOnce,
    /// At once when an alarm or a fire comes during the watch; nothing is owed before.
    OnAlarm,
    /// Before planned work, by so many days.
    Before,
    /// At the start of the watch.
    AtStart,
    /// When the system is back.
    AtRestoration,
    /// Within so long.
    Within,
    /// Each day.
    Daily,
    /// When the official asks.
    OnRequest,
    /// Always on the site.
    OnSite,
}

/// Unit of the numbers of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unit {
    /// Seconds.
    S,
    /// Minutes.
    Min,
    /// Hours.
    H,
    /// Days of 24 hours.
    Day,
    /// Working days of the authority.
    BusinessDay,
    /// Years, counted as 366 days so that a bound in years is never short.
    Year,
    /// Feet.
    Ft,
    /// Metres.
    M,
    /// Square feet.
    Ft2,
    /// People.
    Persons,
}

impl Unit {
    /// Seconds in one, for the units of time that have a fixed length.
    pub fn seconds(self) -> Option<i64> {
        match self {
            Self::S => Some(1),
            Self::Min => Some(60),
            Self::H => Some(3_600),
            Self::Day => Some(86_400),
            Self::Year => Some(366 * 86_400),
            Self::BusinessDay | Self::Ft | Self::M | Self::Ft2 | Self::Persons => None,
        }
    }
}

fn code() -> Origin {
    Origin::Code
}

impl DemandFile {
    pub(super) fn read(folder: &str, stem: &str, text: &str) -> Result<Self, Vec<FileFault>> {
        let mut file: Self = toml::from_str(text).map_err(|fault| {
            vec![FileFault {
                file: format!("{folder}/{stem}.toml"),
                value: 0,
                key: String::new(),
                wrong: fault.to_string(),
            }]
        })?;
        file.folder = folder.into();
        let faults = file.faults(stem);
        if faults.is_empty() { Ok(file) } else { Err(faults) }
    }

    fn faults(&self, stem: &str) -> Vec<FileFault> {
        let mut faults = Vec::new();
        let mut refuse =
            |value, key: &str, wrong: &str| faults.push(FileFault::new(self, value, key, wrong));
        if self.demand.as_str() != stem {
            refuse(0, "demand", "is not the name of the file");
        }
        if self.profile.trim().is_empty() {
            refuse(0, "profile", "is empty");
        }
        if self.jurisdiction.trim().is_empty() {
            refuse(0, "jurisdiction", "is empty");
        }
        if self.value.is_empty() {
            refuse(0, "value", "is missing: a demand states at least one");
        }
        for (at, value) in self.value.iter().enumerate() {
            for (key, text) in [("source", &value.source), ("clause", &value.clause)] {
                if text.trim().is_empty() {
                    refuse(at + 1, key, "is empty: no value without its source and clause");
                }
            }
            if value.has_numbers() && self.unit.is_none() {
                refuse(at + 1, "unit", "is missing: a number needs its unit");
            }
            if value.negative() {
                refuse(at + 1, "value", "has a number below zero");
            }
            if let Some(lacking) = self.demand.lacks(value) {
                refuse(at + 1, lacking, "is missing: this demand must state it");
            }
            if value
                .at_time
                .as_deref()
                .is_some_and(|time| time.parse::<jiff::civil::Time>().is_err())
            {
                refuse(at + 1, "at_time", "is no time of day such as 08:00");
            }
        }
        faults
    }
}

impl Value {
    fn numbers(&self) -> [Option<i64>; 6] {
        [self.at_most, self.at_least, self.more_than, self.within, self.every, self.per]
    }

    fn has_numbers(&self) -> bool {
        self.numbers().iter().any(Option::is_some)
    }

    fn negative(&self) -> bool {
        self.numbers().iter().flatten().any(|number| *number < 0)
    }
}

/// Why a file of `standards/` is refused. For the people who write such files.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct FileFault {
    /// Folder and name.
    pub file: String,
    /// Which `[[value]]`, counted from 1; 0 for the head of the file.
    pub value: usize,
    /// The key.
    pub key: String,
    /// What is wrong with it.
    pub wrong: String,
}

impl FileFault {
    pub(super) fn new(file: &DemandFile, value: usize, key: &str, wrong: &str) -> Self {
        let path = format!("{}/{}.toml", file.folder, file.demand.as_str());
        Self { file: path, value, key: key.into(), wrong: wrong.into() }
    }
}

impl std::fmt::Display for FileFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "standards/{}", self.file)?;
        if self.value > 0 {
            write!(f, ", value {}", self.value)?;
        }
        if !self.key.is_empty() {
            write!(f, ": {}", self.key)?;
        }
        write!(f, " {}", self.wrong)
    }
}
