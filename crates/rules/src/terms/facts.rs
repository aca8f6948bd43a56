//! What is known about a site: the facts that terms are made from.

pub mod fault;
mod read;
mod reader;
mod time;

pub use fault::{Fault, Kind, Wrong};
pub use read::{EXAMPLE, read};

use super::hours::Week;
use crate::codes::{LogItem, Medium, Origin, Party, Stage, System, ZoneKind};
use crate::standards::Profile;
use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};

/// Everything stated about a site at one instant. What is not stated is `None`, never a guess.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// The sets of demands in force there.
    pub profiles: Vec<Profile>,
    /// Time zone of the site.
    pub zone: TimeZone,
    /// The instant asked about.
    pub at: Timestamp,
    /// The building.
    pub building: Building,
    /// Systems out of service.
    pub outages: Vec<Outage>,
    /// Hot work.
    pub hot_work: Vec<HotWork>,
    /// A building site, if there is one.
    pub construction: Option<Construction>,
    /// Written orders.
    pub orders: Vec<Order>,
}

/// The building and who is in it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Building {
    /// Occupancy groups by the letters of the model codes (`R-1`, `A-2`, `S-1`).
    pub occupancy: Vec<String>,
    /// People sleep there.
    pub sleeping: Option<bool>,
    /// Storeys above ground.
    pub storeys: Option<i64>,
    /// Height.
    pub height: Option<Length>,
    /// Floor area.
    pub area: Option<Area>,
    /// People in a gathering.
    pub crowd: Option<i64>,
    /// When people are in.
    pub open: Option<Open>,
    /// The gathering is out of doors.
    pub outdoor: Option<bool>,
    /// It is a place of worship.
    pub worship: Option<bool>,
    /// Sprinklers protect it.
    pub sprinklered: Option<bool>,
    /// Repeated false alarms are the reason for asking.
    pub nuisance_alarms: Option<bool>,
}

/// When people are in a building.
#[derive(Debug, Clone, PartialEq)]
pub enum Open {
    /// Now, or not now.
    Now(bool),
    /// In these hours.
    Hours(Week),
}

/// One system out of service.
#[derive(Debug, Clone, PartialEq)]
pub struct Outage {
    /// Which.
    pub system: System,
    /// Since when.
    pub from: Timestamp,
    /// Until when; `None` while it lasts.
    pub to: Option<Timestamp>,
    /// When it is expected back.
    pub expected_until: Option<Timestamp>,
}

/// One piece of hot work at one place.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct HotWork {
    /// When it began.
    pub began: Option<Timestamp>,
    /// The last spark; `None` while it runs.
    pub last_spark: Option<Timestamp>,
    /// The place was surveyed after the work and no further hazard found.
    pub surveyed: Option<bool>,
    /// Sprinklers are out where it is done.
    pub impaired: Option<bool>,
    /// Distance to the nearest thing that burns.
    pub combustibles: Option<Length>,
    /// Something farther that sparks light easily.
    pub easily_ignited: Option<bool>,
    /// Distance to the nearest opening.
    pub openings: Option<Length>,
    /// Heat can pass a metal wall to something that burns.
    pub metal_partition: Option<bool>,
    /// One person can see every exposure.
    pub one_sees_all: Option<bool>,
    /// Torch-applied roofing.
    pub torch_roofing: Option<bool>,
}

/// A building site.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Construction {
    /// Height above the lowest ground beside it.
    pub height: Option<Length>,
    /// Floor area of one storey.
    pub storey_area: Option<Area>,
    /// Stage.
    pub stage: Option<Stage>,
    /// Working hours.
    pub hours: Option<Week>,
    /// Days on which nobody works.
    pub holidays: Vec<Date>,
    /// Temporary heating, hot work or another hazard of the works.
    pub hazardous: Option<bool>,
}

/// A written order, and what it sets. It counts as given in writing.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// Whose.
    pub from: Origin,
    /// Name of the person who gave it.
    pub by: Option<String>,
    /// When it was given.
    pub at: Option<Timestamp>,
    /// When it ceases.
    pub until: Option<Timestamp>,
    /// Its own number or title.
    pub reference: Option<String>,
    /// A watch is, or is not, required.
    pub watch: Option<bool>,
    /// The watch was released at this instant.
    pub released: Option<Timestamp>,
    /// The kind of zone that `gap_s` speaks of.
    pub zone_kind: ZoneKind,
    /// Longest gap.
    pub gap_s: Option<i64>,
    /// First round at the latest so long after the start.
    pub first_round_s: Option<i64>,
    /// People on watch at one time.
    pub people_at_least: Option<i64>,
    /// Other duties allowed.
    pub other_duties: Option<bool>,
    /// Watch until.
    pub watch_until: Option<Timestamp>,
    /// Then check so often.
    pub checks_every_s: Option<i64>,
    /// Until.
    pub checks_until: Option<Timestamp>,
    /// Tell these.
    pub notify: Vec<Party>,
    /// The log shows these.
    pub write: Vec<LogItem>,
    /// The log is kept on this.
    pub on: Option<Medium>,
    /// The log goes out daily at this time.
    pub deliver: Option<Time>,
    /// The record is kept so long.
    pub retain_s: Option<i64>,
}

/// A length in tenths of a millimetre: feet and metres are both whole in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Length(i64);

impl Length {
    /// From metres, to the nearest tenth of a millimetre.
    pub fn from_m(metres: f64) -> Self {
        Self((metres * 10_000.0).round() as i64)
    }

    /// From feet of 0.3048 m.
    pub fn from_ft(feet: i64) -> Self {
        Self(feet.saturating_mul(3_048))
    }

    /// From tenths of a foot.
    pub fn from_tenths_ft(tenths: i64) -> Self {
        Self(tenths.saturating_mul(3_048) / 10)
    }

    /// In millimetres, rounded down.
    pub fn mm(self) -> i64 {
        self.0.div_euclid(10)
    }
}

/// An area in square millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Area(i64);

impl Area {
    /// From square metres, to the nearest square millimetre.
    pub fn from_m2(square_metres: f64) -> Self {
        Self((square_metres * 1_000_000.0).round() as i64)
    }

    /// From square feet of 0.092 903 04 m².
    pub fn from_ft2(square_feet: i64) -> Self {
        Self(i64::try_from(i128::from(square_feet) * 9_290_304 / 100).unwrap_or(i64::MAX))
    }
}

impl Order {
    /// It sets a gap, people, a first round, or times of watching.
    pub fn sets_how_a_watch_is_kept(&self) -> bool {
        self.released.is_none()
            && (self.gap_s.is_some()
                || self.people_at_least.is_some()
                || self.first_round_s.is_some()
                || self.watch_until.is_some()
                || self.checks_every_s.is_some())
    }
}

impl Facts {
    /// The instant asked about on the wall clock of the site.
    pub fn local(&self) -> ZonedDateTime {
        self.at.to_zoned_datetime(self.zone.clone())
    }

    /// Whether people sleep there: as stated, else as the occupancy group says by its definition.
    pub fn sleeping(&self) -> Option<bool> {
        self.building.sleeping.or_else(|| {
            let groups = &self.building.occupancy;
            let sleeps = groups.iter().any(|group| group.starts_with(['R', 'I']));
            (!groups.is_empty()).then_some(sleeps)
        })
    }

    /// Whether people are in the building at the instant asked about.
    pub fn occupied(&self) -> Option<bool> {
        let open = match &self.building.open {
            Some(Open::Now(open)) => Some(*open),
            Some(Open::Hours(week)) => Some(week.holds(&self.local())),
            None => None,
        };
        let crowd = self.building.crowd.is_some_and(|crowd| crowd > 0);
        open.or(crowd.then_some(true))
    }
}
