//! The night report: from a fold and its findings to the [`NightSheet`] that the template places.
//!
//! One file per part of the page, in the page's order.

mod dial;
mod goes_on;
mod happened;
mod integrity;
mod log;
mod owed;
mod rounds;
pub(crate) mod times;
mod verdict;

use crate::pdf::Paper;
use crate::sheets::{NightSheet, Section};
use ledger::HeadRef;
use picture::{DialSpan, WatchDial, watch_dial};
use record::documents::{SiteCard, Terms};
use rules::findings::{Finding, Judging, judge};
use rules::say::{Names, Reader};
use std::collections::BTreeMap;
use times::Local;
use watch::{State, Watch};
use words::{Lang, report};

/// What the record's documents say: read from its blobs by whoever holds them.
#[derive(Debug, Clone, Default)]
pub struct Documents {
    /// The site's card.
    pub card: Option<SiteCard>,
    /// Its plan.
    pub plan: Option<floorplan::Plan>,
    /// The terms with their sources.
    pub terms: Option<Terms>,
    /// Pictures by digest.
    pub pictures: BTreeMap<ledger::Digest, Vec<u8>>,
}

/// Whether the lines are as they were signed and sealed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unaltered {
    /// The bundle verified.
    Checked,
    /// It did not: said on every page.
    Faults(u64),
}

/// Who reads it. Findings that only ask somebody to look stay off a client's paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Copy {
    /// The own house.
    House,
    /// Client, authority, insurer.
    #[default]
    Client,
}

/// Which report this is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Issue {
    /// 1, 2, 3 …
    pub number: u32,
    /// When it is issued, ms UTC.
    pub issued_ms: i64,
    /// What an amendment changes, in the reader's language.
    pub changes: Vec<String>,
}

/// Everything that a night report rests on.
pub struct Night<'a> {
    /// The watch.
    pub watch: &'a Watch,
    /// The instant that it is about, ms UTC.
    pub about_ms: i64,
    /// The stretch to report; the whole watch if none is given.
    pub span_ms: Option<(i64, i64)>,
    /// The documents of the record.
    pub documents: &'a Documents,
    /// The head that the record was checked against.
    pub head: Option<HeadRef>,
    /// Whether it held.
    pub unaltered: Unaltered,
    /// Who reads it.
    pub copy: Copy,
    /// Which report this is.
    pub issue: Issue,
    /// The language.
    pub lang: Lang,
    /// The sheet.
    pub paper: Paper,
}

/// What the parts of the page share.
struct Page<'a> {
    night: &'a Night<'a>,
    state: State,
    findings: Vec<Finding>,
    names: Names,
    local: Local,
    from_ms: i64,
    until_ms: i64,
    running: bool,
    dial: WatchDial,
}

/// Composes the report.
pub fn compose(night: &Night<'_>) -> NightSheet {
    Page::of(night).sheet()
}

impl<'a> Page<'a> {
    fn of(night: &'a Night<'a>) -> Page<'a> {
        let state = night.watch.about(night.about_ms);
        let terms = night.documents.terms.as_ref();
        let mut findings = judge(&Judging { watch: night.watch, state: &state, terms });
        let local = Local::of(state.opening.as_ref().map(|opening| opening.tz.as_str()));
        let (from_ms, until_ms, running) = span(night, &state);
        findings.retain(|finding| overlaps(finding, from_ms, until_ms));
        let tz_min = local.offset_min(from_ms);
        let now_ms = running.then_some(night.about_ms);
        let dial = watch_dial(&state, &findings, DialSpan { from_ms, until_ms, now_ms, tz_min });
        let plan = night.documents.plan.as_ref();
        let names = plan.map(Names::of_plan).unwrap_or_default().with_people(night.watch);
        Page { night, state, findings, names, local, from_ms, until_ms, running, dial }
    }

    fn lang(&self) -> Lang {
        self.night.lang
    }

    fn reader(&self) -> Reader<'_> {
        let tz_min = self.local.offset_min(self.from_ms);
        Reader { lang: self.lang(), names: &self.names, tz_min }
    }

    fn clock(&self, at_ms: i64) -> String {
        self.local.clock(at_ms)
    }

    fn within(&self, at_ms: i64) -> bool {
        (self.from_ms..=self.until_ms).contains(&at_ms)
    }

    fn sheet(&self) -> NightSheet {
        let lang = self.lang();
        NightSheet {
            lang: lang.tag().to_owned(),
            paper: self.night.paper,
            title: self.title(),
            subtitle: self.subtitle(),
            warning: self.warning(),
            issue: self.issue(),
            verdict: self.verdict(),
            rounds: self.rounds(),
            dial_svg: self.dial_svg(),
            dial_says: report::dial_alternative(lang, self.verdict()),
            zone_head: [
                report::head_zone(lang),
                report::head_longest(lang),
                report::head_allowed(lang),
                report::head_sealed(lang),
            ]
            .map(str::to_owned),
            zones: self.zone_rows(),
            zone_notes: self.zone_notes(),
            owed: self.owed(),
            happened: self.happened(),
            goes_on: self.goes_on(),
            head_svg: self.head_svg(),
            head_says: self.head_says(),
            unaltered: self.unaltered(),
            integrity: self.integrity(),
            findings: self.finding_rows(),
            log_head: [
                report::log_happened(lang),
                report::log_written(lang),
                report::log_who(lang),
                report::log_what(lang),
            ]
            .map(str::to_owned),
            log: self.log(),
            signatures: self.signatures(),
            photos: self.photos(),
            page_words: [
                report::page(lang).to_owned(),
                report::page_of(lang).to_owned(),
                String::new(),
            ],
        }
    }

    fn title(&self) -> String {
        let card = self.night.documents.card.as_ref().map(|card| card.name.clone());
        let site = self.state.opening.as_ref().map(|opening| opening.site.to_string());
        card.or(site).unwrap_or_else(|| self.night.watch.id().to_string())
    }

    fn subtitle(&self) -> String {
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

    fn meets(&self, shift: &watch::Shift) -> bool {
        shift.from_ms <= self.until_ms && shift.until_ms.is_none_or(|until| until >= self.from_ms)
    }

    /// What must be said on every page.
    fn warning(&self) -> Option<String> {
        let lang = self.lang();
        if let Unaltered::Faults(n) = self.night.unaltered {
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

    fn issue(&self) -> Vec<String> {
        let lang = self.lang();
        let Issue { number, issued_ms, changes } = &self.night.issue;
        let issued =
            report::issued(lang, self.local.date(lang, *issued_ms), self.clock(*issued_ms));
        let first = format!("{}, {issued}", report::report_number(lang, number));
        if changes.is_empty() {
            return vec![first];
        }
        let before = number.saturating_sub(1);
        vec![first, report::amendment(lang, before, changes.join("; "), number)]
    }

    fn finding_rows(&self) -> Section<crate::sheets::OwedRow> {
        owed::findings(self)
    }
}

/// The stretch to report and whether the watch still runs at its end.
fn span(night: &Night<'_>, state: &State) -> (i64, i64, bool) {
    if let Some((from_ms, until_ms)) = night.span_ms {
        return (from_ms, until_ms.max(from_ms + 1), night.about_ms < until_ms);
    }
    let first = state.cover.from_ms.or(state.opening.as_ref().map(|opening| opening.from_ms));
    let from_ms = first.unwrap_or(night.about_ms);
    let released = state.released().map(|release| release.at_ms);
    let planned = state.opening.as_ref().and_then(|opening| opening.until_ms);
    match released {
        Some(until_ms) => (from_ms, until_ms.max(from_ms + 1), false),
        None => {
            let until_ms = planned.unwrap_or(night.about_ms).max(from_ms + 1);
            (from_ms, until_ms, planned.is_none() || night.about_ms < until_ms)
        }
    }
}

fn overlaps(finding: &Finding, from_ms: i64, until_ms: i64) -> bool {
    finding.from_ms.is_none_or(|from| from <= until_ms)
        && finding.to_ms.is_none_or(|to| to >= from_ms)
}
