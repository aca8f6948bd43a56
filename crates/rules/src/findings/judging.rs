//! What a rule may look at: the state, the watch's lines, and the terms with their sources.

use super::{Facts, Finding, Verdict};
use ledger::LineId;
use record::documents::{Demand, Owed, Terms};
use record::{DemandFrom, ZoneId};
use serde::Serialize;
use watch::{Doubt, State, Watch, Written};

/// A watch on the judge's table.
pub struct Judging<'a> {
    /// The watch, for its lines and words.
    pub watch: &'a Watch,
    /// Its state about the instant of judging.
    pub state: &'a State,
    /// The terms in force with their sources, if the document is held.
    pub terms: Option<&'a Terms>,
}

/// Where a demand comes from.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// A demand of the terms.
    Demand {
        /// Title, clause and year, or the order's number.
        title: String,
        /// From whom.
        from: DemandFrom,
    },
    /// The line that set the terms; the document with its sources is not held.
    Terms,
    /// Nobody demands it: our own default.
    Ours,
}

impl Judging<'_> {
    /// The source of the longest gap allowed in a zone: the demand for that zone, else one that
    /// states the same number for everything.
    pub(crate) fn gap_source(&self, zone: &ZoneId, allowed_s: u32) -> Source {
        let demands = || self.terms.into_iter().flat_map(|terms| &terms.demands);
        let same = |demand: &&Demand| demand.gap_s == Some(allowed_s);
        let own = demands().filter(same).find(|demand| demand.of == zone.as_str());
        own.or_else(|| demands().find(same)).map_or(Source::Terms, Source::of)
    }

    /// The source of a demand that is named by what it is about.
    pub(crate) fn source(&self, of: &str) -> Option<Source> {
        let mut demands = self.terms.into_iter().flat_map(|terms| &terms.demands);
        demands.find(|demand| demand.of == of).map(Source::of)
    }

    /// What else the terms say is owed.
    pub(crate) fn owed(&self) -> Option<&Owed> {
        self.terms.map(|terms| &terms.owed)
    }

    /// Why the times of these lines, which begin and end shifts, may not be judged by. A break is written on the phone of its
    /// shift and shares its doubt.
    pub(crate) fn doubt_of_shifts(&self, lines: &[LineId]) -> Option<Doubt> {
        let shifts = self.state.shifts.iter();
        shifts
            .flat_map(|shift| {
                let paused = shift.breaks.iter().any(|pause| lines.contains(&pause.line));
                let ends = [Some(&shift.began), shift.ended.as_ref()].into_iter().flatten();
                ends.filter(move |end| paused || lines.contains(&end.line))
            })
            .find_map(|written| written.when.doubt)
    }

    /// Whether looks are owed no longer.
    pub(crate) fn is_over(&self) -> bool {
        self.state.due.is_empty() && self.state.cover.until_ms < self.state.about_ms
            || self.state.released().is_some()
    }

    /// Whether every phone that was on duty at an instant has told of later times, or the watch is
    /// over: until then a line that is still on a phone could fill a gap.
    pub(crate) fn has_passed(&self, at_ms: i64) -> bool {
        self.unheard(at_ms).is_none()
    }

    /// The newest time of a phone on duty at `at_ms` that may still tell of it: none once all have told of later times, or
    /// the watch is over.
    pub(crate) fn unheard(&self, at_ms: i64) -> Option<i64> {
        self.behind(at_ms).filter(|_| !self.is_over())
    }

    /// The newest time of a phone on duty at `at_ms` that has not told of later times.
    fn behind(&self, at_ms: i64) -> Option<i64> {
        self.state
            .shifts
            .iter()
            .filter(|shift| shift.from_ms <= at_ms && shift.until_ms.is_none_or(|end| end > at_ms))
            .filter_map(|shift| self.state.devices.iter().find(|device| device.dev == shift.dev))
            .map(|device| device.last_recorded_ms)
            .filter(|last_ms| *last_ms < at_ms)
            .min()
    }
}

impl Source {
    fn of(demand: &Demand) -> Source {
        Source::Demand { title: demand.source.clone(), from: demand.from }
    }
}

impl Finding {
    /// A finding without place or time.
    pub(crate) fn new(verdict: Verdict, facts: Facts, source: Source) -> Finding {
        Finding {
            facts,
            verdict,
            zone: None,
            from_ms: None,
            to_ms: None,
            sealed_after_s: None,
            lines: Vec::new(),
            source,
        }
    }

    pub(crate) fn in_zone(self, zone: &ZoneId) -> Finding {
        Finding { zone: Some(zone.clone()), ..self }
    }

    pub(crate) fn between(self, from_ms: i64, to_ms: i64) -> Finding {
        Finding { from_ms: Some(from_ms), to_ms: Some(to_ms), ..self }
    }

    /// Rests on these lines; they were sealed when the last of them was.
    pub(crate) fn resting_on<'w>(self, lines: impl IntoIterator<Item = &'w Written>) -> Finding {
        let mut all: Vec<LineId> = Vec::new();
        let mut sealed_after_ms = Some(0);
        for written in lines {
            all.push(written.line);
            sealed_after_ms = sealed_after_ms
                .and_then(|most: i64| Some(most.max(written.when.sealed_after_ms()?)));
        }
        let sealed_after_s =
            if all.is_empty() { None } else { sealed_after_ms.map(|ms| ms / 1000) };
        Finding { lines: all, sealed_after_s, ..self }
    }
}
