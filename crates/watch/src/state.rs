//! What is so, as far as the lines held here tell.

use crate::aspects::gaps::Stopped;
use crate::aspects::*;
use crate::{Correction, Due, Written};
use ledger::{LineId, PersonId, WatchId};
use record::{ImpairmentStep, Party};
use serde::Serialize;
use std::collections::BTreeSet;

const DAY_MS: i64 = 24 * 60 * 60 * 1_000;

/// The state of a watch about an instant. It can be serialised so that two folds can be compared
/// byte by byte; it is not a file format.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct State {
    /// The watch.
    pub watch: WatchId,
    /// The instant that it is about, ms UTC.
    pub about_ms: i64,
    /// The time of the last line that counts, ms UTC.
    pub last_ms: Option<i64>,
    /// How many lines count.
    pub lines: u64,
    /// Site, card, zone of time, window: from the newest opening line.
    pub opening: Option<opening::Opening>,
    /// The plan in force.
    pub plan: Option<opening::InForce<record::PlanSet>>,
    /// The routes in force: everybody's and each guard's.
    pub routes: Vec<opening::InForce<record::RouteSet>>,
    /// The terms in force.
    pub terms: Option<opening::Terms>,
    /// Every set of terms, oldest first.
    pub terms_history: Vec<opening::Terms>,
    /// The instructions in force.
    pub instructions: Option<opening::InForce<record::InstructionsSet>>,
    /// Orders, oldest first.
    pub orders: Vec<communications::Order>,
    /// A drill is going on.
    pub drill: bool,
    /// Shifts by their beginning.
    pub shifts: Vec<shifts::Shift>,
    /// Who is on duty now.
    pub on_duty: Vec<shifts::Duty>,
    /// Who was planned when.
    pub scheduled: Vec<shifts::Scheduled>,
    /// Stretches with named guards, and the holes between them.
    pub cover: cover::Cover,
    /// Every zone, by id.
    pub zones: Vec<zones::Zone>,
    /// What is due next in each zone, soonest first.
    pub due: Vec<Due>,
    /// Rounds by their beginning.
    pub rounds: Vec<rounds::Round>,
    /// Structures that were entered and inspected.
    pub structures: Vec<rounds::StructureEntered>,
    /// Observations, oldest first.
    pub observations: Vec<observations::Observation>,
    /// Who was told what, oldest first.
    pub communications: Vec<communications::Communication>,
    /// Notes, oldest first.
    pub notes: Vec<communications::Note>,
    /// Pictures and sounds, oldest first.
    pub pictures: Vec<observations::Picture>,
    /// Emergencies, oldest first.
    pub emergencies: Vec<emergencies::Emergency>,
    /// Holds on erasure, oldest first.
    pub holds: Vec<holds::Hold>,
    /// Hot work, oldest first.
    pub hot_work: Vec<hot_work::HotWork>,
    /// Systems that are or were out.
    pub impairments: Vec<impairments::Impairment>,
    /// Who was told of impairments.
    pub notifications: Vec<communications::Notification>,
    /// Questions, oldest first.
    pub questions: Vec<questions::Question>,
    /// Alerts, oldest first.
    pub alerts: Vec<alerts::Alert>,
    /// Times at which a device had not been heard from.
    pub unheard: Vec<alerts::Unheard>,
    /// Paper that took over, and where its sheets are.
    pub paper: paper::Paper,
    /// Corrections, oldest first.
    pub corrections: Vec<Correction>,
    /// Lines that were taken back.
    pub taken_back: Vec<Written>,
    /// Devices that wrote on this watch.
    pub devices: Vec<devices::Device>,
    /// Releases; the newest counts.
    pub releases: Vec<release::Release>,
    /// Reports that went out.
    pub deliveries: Vec<deliveries::Delivery>,
    /// Who read the record.
    pub reviews: Vec<deliveries::Review>,
    /// Who came by.
    pub visits: Vec<deliveries::Visit>,
    /// Private lines and blobs that were erased.
    pub erased: Vec<deliveries::Erasure>,
    /// The server's newest statement of how many lines each chain has.
    pub sealed_chains: Option<deliveries::SealedChains>,
    /// Kinds that this program does not know, and bodies that it could not read.
    pub unknown: Vec<unknown::Unknown>,
}

impl State {
    /// One zone.
    pub fn zone(&self, id: &record::ZoneId) -> Option<&zones::Zone> {
        self.zones.iter().find(|zone| zone.id == *id)
    }

    /// The route that somebody walks: their own, else everybody's.
    pub fn route_of(
        &self,
        guard: Option<&PersonId>,
    ) -> Option<&opening::InForce<record::RouteSet>> {
        let of = |who: Option<&PersonId>| {
            self.routes.iter().find(|route| route.set.guard.as_ref() == who)
        };
        guard.and_then(|who| of(Some(who))).or_else(|| of(None))
    }

    /// Observations that are open.
    pub fn open_observations(&self) -> impl Iterator<Item = &observations::Observation> {
        self.observations.iter().filter(|observation| observation.closed.is_none())
    }

    /// Notes that were written about a line, oldest first: on a phone one's own words follow what was
    /// seen, as lines of their own.
    pub fn notes_of(&self, line: LineId) -> impl Iterator<Item = &communications::Note> {
        self.notes.iter().filter(move |note| note.of == Some(line))
    }

    /// Steps at the beginning of an outage that were stated; that the fire service was told (IFC 2018 901.7.4, item 4)
    /// also where the record shows it. The others ask for more than that somebody was told: recommendations made
    /// (item 3), every other authority (item 5).
    pub fn steps_of(&self, impairment: &impairments::Impairment) -> BTreeSet<ImpairmentStep> {
        let told = self.notifications.iter().any(|n| {
            n.party == Party::FireService
                && !n.restored
                && impairment.told.contains(&n.written.line)
        });
        let shown = told.then_some(ImpairmentStep::FireServiceTold);
        impairment.steps.iter().copied().chain(shown).collect()
    }

    /// A day of the watch, from 1: 24 hours from the beginning of its cover, so that a night over
    /// midnight is one. It ends with the watch.
    pub fn day_ms(&self, day: u32) -> Option<(i64, i64)> {
        let from_ms = self.cover.from_ms? + i64::from(day.checked_sub(1)?) * DAY_MS;
        let released = self.released().map(|release| release.at_ms);
        let until_ms = released.map_or(from_ms + DAY_MS, |at_ms| at_ms.min(from_ms + DAY_MS));
        (until_ms > from_ms).then_some((from_ms, until_ms))
    }

    /// The instant at which `within_s` have passed since `from_ms`, ms UTC. Time in which an emergency
    /// stopped the rounds does not count.
    pub fn due_ms(&self, from_ms: i64, within_s: u32) -> i64 {
        Stopped::of(&self.emergencies, self.cover.until_ms).after(from_ms, within_s)
    }

    /// The release in force, if the watch is over.
    pub fn released(&self) -> Option<&release::Release> {
        self.releases.last()
    }

    /// The emergency that is going on, if one is.
    pub fn emergency(&self) -> Option<&emergencies::Emergency> {
        self.emergencies.iter().rfind(|emergency| emergency.is_open())
    }

    /// Whether something forbids erasure.
    pub fn is_held(&self) -> bool {
        self.holds.iter().any(|hold| hold.lifted.is_none())
    }
}
