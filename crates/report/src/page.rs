//! What the parts of a page share: the state of the watch, what was found, names, local times.

use crate::request::{Request, Unaltered};
use crate::stretch::Stretch;
use crate::times::Local;
use picture::{DialSpan, WatchDial, watch_dial};
use record::ReviewOf;
use rules::findings::{Finding, Judging, judge};
use rules::say::{Names, ONE_NIGHT_MS, Reader};
use watch::State;
use words::{Lang, amendment, report};

/// What the parts of the page share.
pub(crate) struct Page<'a> {
    pub(crate) request: &'a Request<'a>,
    pub(crate) state: State,
    pub(crate) findings: Vec<Finding>,
    pub(crate) names: Names,
    pub(crate) local: Local,
    pub(crate) from_ms: i64,
    pub(crate) until_ms: i64,
    pub(crate) running: bool,
    /// The instant that the page is about: never later than the end of its stretch.
    pub(crate) about_ms: i64,
    pub(crate) dial: WatchDial,
}

impl<'a> Page<'a> {
    pub(crate) fn of(request: &'a Request<'a>) -> Page<'a> {
        let about_ms =
            request.stretch.map_or(request.about_ms, |s| s.until_ms.min(request.about_ms));
        let state = request.watch.about(about_ms);
        let terms = request.documents.terms.as_ref();
        let mut findings = judge(&Judging { watch: request.watch, state: &state, terms });
        let local = Local::of(state.opening.as_ref().map(|opening| opening.tz.as_str()));
        let (from_ms, until_ms, running) = span(request, &state);
        findings.retain(|finding| overlaps(finding, from_ms, until_ms));
        let tz_min = local.offset_min(from_ms);
        let now_ms = running.then_some(about_ms);
        let dial = watch_dial(&state, &findings, DialSpan { from_ms, until_ms, now_ms, tz_min });
        let plan = request.documents.plan.as_ref();
        let names = plan.map(Names::of_plan).unwrap_or_default().with_people(request.watch);
        Page { request, state, findings, names, local, from_ms, until_ms, running, about_ms, dial }
    }

    pub(crate) fn lang(&self) -> Lang {
        self.request.lang
    }

    pub(crate) fn reader(&self) -> Reader<'_> {
        let tz_min = self.local.offset_min(self.from_ms);
        Reader { lang: self.lang(), names: &self.names, tz_min, dated: self.is_over_a_night() }
    }

    pub(crate) fn clock(&self, at_ms: i64) -> String {
        self.local.clock(at_ms)
    }

    fn is_over_a_night(&self) -> bool {
        self.until_ms - self.from_ms > ONE_NIGHT_MS
    }

    /// The time of day; with its day where the report covers more than one night.
    pub(crate) fn time(&self, at_ms: i64) -> String {
        match self.is_over_a_night() {
            true => self.local.day_and_clock(self.lang(), at_ms),
            false => self.clock(at_ms),
        }
    }

    pub(crate) fn within(&self, at_ms: i64) -> bool {
        (self.from_ms..=self.until_ms).contains(&at_ms)
    }

    pub(crate) fn title(&self) -> String {
        let card = self.request.documents.card.as_ref().map(|card| card.name.clone());
        let site = self.state.opening.as_ref().map(|opening| opening.site.to_string());
        card.or(site).unwrap_or_else(|| self.request.watch.id().to_string())
    }

    pub(crate) fn subtitle(&self) -> String {
        let lang = self.lang();
        let mut people: Vec<&str> = Vec::new();
        for shift in self.state.shifts.iter().filter(|shift| self.meets(shift)) {
            let name = self.names.person(&shift.who);
            if !people.contains(&name) {
                people.push(name);
            }
        }
        let people = match people.is_empty() {
            true => report::nobody_named(lang).to_owned(),
            false => people.join(", "),
        };
        let span = self.local.span(lang, self.from_ms, (!self.running).then_some(self.until_ms));
        report::fire_watch(lang, people, span, self.local.name())
    }

    pub(crate) fn meets(&self, shift: &watch::Shift) -> bool {
        shift.from_ms <= self.until_ms && shift.until_ms.is_none_or(|until| until >= self.from_ms)
    }

    /// What must be said on every page.
    pub(crate) fn warning(&self) -> Option<String> {
        let lang = self.lang();
        if let Unaltered::Faults(n) = self.request.unaltered {
            return Some(report::unaltered_faults(lang, n.min(i64::MAX as u64) as i64));
        }
        let opening = self.state.opening.as_ref()?;
        let drilled = self.state.drill || self.state.emergencies.iter().any(|e| e.drill);
        match (drilled, opening.demo, opening.test) {
            (true, ..) => Some(words::terms_of_trade::drill(lang).to_owned()),
            (_, true, _) => Some(report::demo(lang).to_owned()),
            (_, _, true) => Some(report::test_site(lang).to_owned()),
            _ => None,
        }
    }

    /// What a report of a part covers.
    pub(crate) fn covers(&self) -> Option<String> {
        let lang = self.lang();
        let stretch = self.request.stretch?;
        let since = self.state.opening.as_ref().map_or(self.from_ms, |opening| opening.from_ms);
        let since = words::papers::on(lang, self.local.date(lang, since), self.clock(since));
        Some(match stretch.of {
            Some(ReviewOf::Shift) => report::covers_shift(lang, since),
            Some(ReviewOf::Day) => report::covers_day(lang, since),
            Some(ReviewOf::Watch) => return None,
            None => report::covers_part(lang, since),
        })
    }

    /// Which report this is, and when it was issued.
    pub(crate) fn issue(&self) -> String {
        let lang = self.lang();
        let issued_ms = self.request.issue.issued_ms;
        let issued = report::issued(lang, self.local.date(lang, issued_ms), self.clock(issued_ms));
        let named = match self.amendment_title() {
            Some(title) => title,
            None => report::report(lang).to_owned(),
        };
        format!("{named}, {issued}")
    }

    /// `Amendment 2 of the report of …`, if it is one.
    pub(crate) fn amendment_title(&self) -> Option<String> {
        let lang = self.lang();
        let amended = self.request.amends?;
        let first = amended.first_issued_ms;
        let first = words::papers::on(lang, self.local.date(lang, first), self.clock(first));
        Some(amendment::title(lang, first, self.request.issue.number.saturating_sub(1)))
    }
}

/// The stretch to report and whether the watch still runs at its end.
fn span(request: &Request<'_>, state: &State) -> (i64, i64, bool) {
    if let Some(Stretch { from_ms, until_ms, .. }) = request.stretch {
        return (from_ms, until_ms.max(from_ms + 1), request.about_ms < until_ms);
    }
    let first = state.cover.from_ms.or(state.opening.as_ref().map(|opening| opening.from_ms));
    let from_ms = first.unwrap_or(request.about_ms);
    let released = state.released().map(|release| release.at_ms);
    let planned = state.opening.as_ref().and_then(|opening| opening.until_ms);
    match released {
        Some(until_ms) => (from_ms, until_ms.max(from_ms + 1), false),
        None => {
            let until_ms = planned.unwrap_or(request.about_ms).max(from_ms + 1);
            (from_ms, until_ms, planned.is_none() || request.about_ms < until_ms)
        }
    }
}

fn overlaps(finding: &Finding, from_ms: i64, until_ms: i64) -> bool {
    finding.from_ms.is_none_or(|from| from <= until_ms)
        && finding.to_ms.is_none_or(|to| to >= from_ms)
}
