//! Facts to terms: which watch is owed, since when, and what it must satisfy, each with its source.
//!
//! Read in this order: [`facts`] (what is known), [`clock`] (the rolling 24 hours), [`owed`](self) and its neighbours
//! (one file per part of the terms), [`because`] (the reasons, typed), [`house`] (a watch opened from a phone call),
//! [`issue`] (the document and the line that a watch carries).

pub mod because;
pub mod clock;
pub mod facts;
pub mod hours;
pub mod house;
pub mod issue;
pub mod say;

mod after_work;
mod duties;
mod owed;
mod situation;
mod strictest;

pub use because::{Because, GaveWay, GaveWayTo, LeftOut, TermName, TermValue};
pub use facts::{Facts, Fault};
pub use issue::Issued;

use crate::codes::{
    Alternative, LogItem, Medium, Origin, Party, Records, Requirement, Step, System, ZoneKind,
};
use crate::standards::{Citation, Demand, InForce, Standards, Timing};
use jiff::Timestamp;
use jiff::civil::Time;
use serde::{Deserialize, Serialize};

/// Whether a watch is owed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Required {
    /// Nothing in the sources in force calls for one, and none of them leaves it open.
    NoneFound,
    /// A source leaves it to the authority, or a fact or a number is missing.
    Authority,
    /// A watch, or an alternative that the source lists.
    Yes,
}

/// What a watch must satisfy.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Terms {
    /// The instant that the terms are about.
    pub at: Timestamp,
    /// IANA name of the site's zone.
    pub zone: String,
    /// Titles of the profiles in force, adopted ones too.
    pub profiles: Vec<String>,
    /// Whether a watch is owed at that instant.
    pub required: Required,
    /// What a source accepts in place of a watch.
    pub instead: Vec<Alternative>,
    /// Since when it is owed; for a recurring watch, when the next stretch begins.
    pub since: Option<Timestamp>,
    /// Until when, where a source or an order states an instant.
    pub until: Option<Timestamp>,
    /// When one will be owed, if what is out stays out: the countdown.
    pub owed_from: Option<Timestamp>,
    /// The next stretches of a recurring watch.
    pub stretches: Vec<Stretch>,
    /// Longest time unseen, for each kind of zone that a source in force speaks of.
    pub gaps: Vec<Gap>,
    /// First round at the latest so long after the shift began.
    pub first_round: Option<Bound>,
    /// People on watch at one time.
    pub people: Option<Bound>,
    /// Crowd managers, where a gathering needs them.
    pub crowd_managers: Option<Bound>,
    /// Whether a person on watch may have other duties.
    pub other_duties: Option<OtherDuties>,
    /// Watching after hot work.
    pub after_work: AfterWork,
    /// Whom to tell and by when.
    pub notify: Vec<Notify>,
    /// What the log must show.
    pub write: Vec<Write>,
    /// What the log is kept on.
    pub on: Option<WriteOn>,
    /// When the log goes out.
    pub deliver: Vec<Deliver>,
    /// How long the record of the watch is kept at least.
    pub retain: Option<Bound>,
    /// How long records of other kinds are kept.
    pub other_records: Vec<Bound>,
    /// Who may end the watch.
    pub ended_by: Vec<EndedBy>,
    /// What people on watch must have or be.
    pub need: Vec<Need>,
    /// Steps of the impairment, in order.
    pub steps: Vec<StepOwed>,
    /// Everything that the terms rest on.
    pub sources: Vec<Citation>,
    /// The reasons.
    pub because: Vec<Because>,
    /// What the sources know and nobody should rely on, and facts that were missing.
    pub left_out: Vec<LeftOut>,
    /// What did not hold because something stricter, or the authority, did.
    pub gave_way: Vec<GaveWay>,
}

/// Longest time that zones of a kind may stay unseen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Gap {
    /// Which zones.
    pub zones: ZoneKind,
    /// How long.
    pub gap_s: i64,
    /// From where.
    pub source: Citation,
}

/// A number with its source.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bound {
    /// Seconds, or people.
    pub value: i64,
    /// From where.
    pub source: Citation,
    /// Which records a length of keeping speaks of, if not the record of the watch.
    pub records: Option<Records>,
}

/// A stretch of time in which a recurring watch is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stretch {
    /// Beginning.
    pub from: Timestamp,
    /// End.
    pub to: Timestamp,
}

/// Other duties of a person on watch.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OtherDuties {
    /// Whether they are allowed.
    pub allowed: bool,
    /// From where.
    pub source: Citation,
}

/// Watching after the last spark.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct AfterWork {
    /// Continuous watch for so long after the last spark, the longest that a source in force states.
    pub watch_s: Option<i64>,
    /// Continuous watch until; `None` where no number exists, or where a source in force states none: a shorter known
    /// tail never hides a longer uncertain one.
    pub watch_until: Option<Timestamp>,
    /// The longest tail that is known, when the end is uncertain.
    pub at_least_until: Option<Timestamp>,
    /// Then checks, this far apart at most.
    pub checks_every_s: Option<i64>,
    /// Until, at least.
    pub checks_until: Option<Timestamp>,
    /// The latest instants of those checks.
    pub checks_at: Vec<Timestamp>,
    /// From where the continuous watch.
    pub sources: Vec<Citation>,
    /// From where the checks.
    pub check_sources: Vec<Citation>,
}

/// Somebody to tell.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Notify {
    /// Whom.
    pub party: Party,
    /// When.
    pub timing: Timing,
    /// By this instant, where it can be computed.
    pub by: Option<Timestamp>,
    /// Days ahead, for planned work.
    pub days_ahead: Option<i64>,
    /// Those days are working days of the authority.
    pub working_days: bool,
    /// From where.
    pub source: Citation,
}

/// Something that the log must show.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Write {
    /// What.
    pub item: LogItem,
    /// From where.
    pub source: Citation,
}

/// What the log is kept on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WriteOn {
    /// Phone, paper or both.
    pub on: Medium,
    /// From where.
    pub source: Citation,
}

/// When the log goes to whom.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Deliver {
    /// To whom; nobody named where the log only stays at hand.
    pub to: Vec<Party>,
    /// When.
    pub timing: Timing,
    /// At this time of day.
    pub at_time: Option<Time>,
    /// The next instant at which it is due.
    pub by: Option<Timestamp>,
    /// From where.
    pub source: Citation,
}

/// Who may end the watch.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct EndedBy {
    /// Any of these.
    pub parties: Vec<Party>,
    /// From where.
    pub source: Citation,
}

/// What people on watch must have or be.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Need {
    /// What.
    pub need: Requirement,
    /// From where.
    pub source: Citation,
}

/// A step of the impairment.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StepOwed {
    /// At restoration; else before or at the loss.
    pub at_restoration: bool,
    /// What.
    pub step: Step,
    /// From where.
    pub source: Citation,
}

impl Bound {
    /// A number with its source.
    fn new(value: i64, source: Citation) -> Self {
        Self { value, source, records: None }
    }
}

impl Terms {
    /// The terms that follow from these facts by these standards.
    pub fn of(facts: &Facts, standards: &Standards) -> Self {
        let profiles = standards.with_adopted(&facts.profiles);
        let in_force = standards.in_force(&profiles, facts.local().date());
        let mut terms = Self::blank(facts.at, facts.zone.iana_name().unwrap_or("UTC"));
        let (used, set_aside): (Vec<_>, Vec<_>) =
            in_force.into_iter().partition(|found| found.value.left_out.is_none());
        terms.profiles = profiles.iter().map(|profile| profile.title.clone()).collect();
        terms.left_out = set_aside.iter().map(LeftOut::value).collect();

        let situation = situation::Situation { facts, in_force: &used };
        after_work::judge(&situation, &mut terms);
        owed::judge(&situation, &mut terms);
        strictest::numbers(&situation, &mut terms);
        duties::gather(&situation, &mut terms);
        if terms.required == Required::NoneFound {
            // The list in *none found in these sources*: everything that could have called for a watch.
            let looked_at = used.iter().filter(|found| found.demand().can_call());
            terms.sources.extend(looked_at.map(InForce::citation));
        }
        terms.tidy();
        terms
    }

    /// Terms that state nothing.
    fn blank(at: Timestamp, zone: &str) -> Self {
        Self {
            at,
            zone: zone.into(),
            profiles: Vec::new(),
            required: Required::NoneFound,
            instead: Vec::new(),
            since: None,
            until: None,
            owed_from: None,
            stretches: Vec::new(),
            gaps: Vec::new(),
            first_round: None,
            people: None,
            crowd_managers: None,
            other_duties: None,
            after_work: AfterWork::default(),
            notify: Vec::new(),
            write: Vec::new(),
            on: None,
            deliver: Vec::new(),
            retain: None,
            other_records: Vec::new(),
            ended_by: Vec::new(),
            need: Vec::new(),
            steps: Vec::new(),
            sources: Vec::new(),
            because: Vec::new(),
            left_out: Vec::new(),
            gave_way: Vec::new(),
        }
    }

    /// The longest gap for zones of this kind: their own, else that of every zone.
    pub fn longest_gap(&self, zones: ZoneKind) -> Option<&Gap> {
        let of = |kind| self.gaps.iter().find(move |gap| gap.zones == kind);
        of(zones).or_else(|| of(ZoneKind::All))
    }

    /// Whether the floor of these terms has passed: the record of a watch that ended then may be erased at `now` as far as they
    /// go. Without a stated floor the answer is no.
    pub fn may_erase(&self, ended: Timestamp, now: Timestamp) -> bool {
        self.retain.as_ref().is_some_and(|floor| now.duration_since(ended).as_secs() >= floor.value)
    }

    /// A source in force speaks of the time after hot work and states none.
    pub fn tail_is_uncertain(&self) -> bool {
        let open = |because: &Because| {
            matches!(because, Because::NoNumber { demand: Demand::AfterWork, .. })
        };
        self.after_work.watch_until.is_none() && self.because.iter().any(open)
    }

    /// The systems whose outage the reasons speak of.
    pub fn systems(&self) -> Vec<System> {
        let mut systems: Vec<System> = self.because.iter().filter_map(Because::system).collect();
        systems.sort_unstable();
        systems.dedup();
        systems
    }

    fn tidy(&mut self) {
        let mut sources = std::mem::take(&mut self.sources);
        let bounds = [&self.first_round, &self.people, &self.crowd_managers, &self.retain];
        sources.extend(bounds.into_iter().flatten().map(|bound| bound.source.clone()));
        sources.extend(self.gaps.iter().map(|gap| gap.source.clone()));
        sources.extend(self.because.iter().filter_map(|because| because.source().cloned()));
        let after = &self.after_work;
        sources.extend(after.sources.iter().chain(&after.check_sources).cloned());
        sources.extend(self.other_duties.iter().map(|duties| duties.source.clone()));
        sources.extend(self.notify.iter().map(|notify| notify.source.clone()));
        sources.extend(self.write.iter().map(|write| write.source.clone()));
        sources.extend(self.on.iter().map(|on| on.source.clone()));
        sources.extend(self.deliver.iter().map(|deliver| deliver.source.clone()));
        sources.extend(self.other_records.iter().map(|bound| bound.source.clone()));
        sources.extend(self.ended_by.iter().map(|ended| ended.source.clone()));
        sources.extend(self.need.iter().map(|need| need.source.clone()));
        sources.extend(self.steps.iter().map(|step| step.source.clone()));
        sources.sort();
        sources.dedup();
        // The strictest origin last would read oddly: the codes first, then orders, in the order of `Origin`.
        sources.sort_by_key(|source| source.from != Origin::Code);
        self.sources = sources;
        self.instead.sort_unstable();
        self.instead.dedup();
    }
}

#[cfg(test)]
mod tests;
