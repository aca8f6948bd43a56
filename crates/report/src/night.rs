//! The night report: from a fold and its findings to the [`NightSheet`] that the template places.
//!
//! One file per part of the page, in the page's order.

mod changes;
mod dial;
pub(crate) mod fonts;
mod goes_on;
mod happened;
mod integrity;
mod log;
mod owed;
mod photos;
mod print_size;
mod rounds;
mod told;
mod verdict;

use crate::page::Page;
use crate::request::Request;
use crate::sheets::{Cut, NightSheet};
use changes::Changes;
use words::{Lang, amendment, happened as page_one, report};

/// Composes the report.
pub fn compose(request: &Request<'_>) -> NightSheet {
    Page::of(request).sheet()
}

impl Page<'_> {
    pub(crate) fn sheet(&self) -> NightSheet {
        let lang = self.lang();
        let changes = Changes::of(self);
        NightSheet {
            lang: lang.tag().to_owned(),
            paper: self.request.paper,
            title: self.title(),
            address: self.address(),
            subtitle: self.subtitle(),
            warning: self.warning(),
            covers: self.covers(),
            issue: self.issue(),
            changes: changes.as_ref().map(|changes| changes.summary(self)),
            verdict: self.verdict(),
            rounds: self.rounds(),
            dial_svg: self.dial_svg(),
            dial_says: report::dial_alternative(lang, self.verdict()),
            zone_head: [
                report::head_zone(lang),
                report::head_longest(lang),
                report::head_allowed(lang),
                report::head_judged(lang),
                report::head_sealed(lang),
            ]
            .map(str::to_owned),
            owed_head: [report::head_demand(lang), report::head_source(lang)].map(str::to_owned),
            happened_head: [
                words::papers::time(lang),
                words::papers::what(lang),
                report::head_state(lang),
            ]
            .map(str::to_owned),
            zones: self.zone_rows(),
            zone_notes: self.zone_notes(),
            owed: self.owed(),
            happened: self.happened(),
            told: self.told_line(),
            goes_on: self.goes_on(),
            head_svg: self.head_svg(),
            head_says: self.head_says(),
            unaltered: self.unaltered(),
            integrity: self.integrity(),
            changed_head: [
                report::log_happened(lang),
                report::log_written(lang),
                amendment::head_received(lang),
                report::log_who(lang),
                report::log_what(lang),
            ]
            .map(str::to_owned),
            changed: changes.as_ref().map(|changes| changes.rows(self)).unwrap_or_default(),
            changed_findings: changes.as_ref().map(|c| c.findings(self)).unwrap_or_default(),
            findings: owed::findings(self),
            log_head: [
                report::log_happened(lang),
                report::log_written(lang),
                report::log_who(lang),
                report::log_what(lang),
            ]
            .map(str::to_owned),
            log: self.log(),
            signatures: self.signatures(),
            directory: self.directory(),
            to_sign: self.to_sign(),
            keep: report::keep(lang).to_owned(),
            paper_pages: self.pages_of_paper(),
            photos: self.photos(),
            photos_note: report::photos_note(lang).to_owned(),
            page_words: [
                report::page(lang).to_owned(),
                report::page_of(lang).to_owned(),
                String::new(),
            ],
            cut: cut(lang),
        }
    }
}

fn cut(lang: Lang) -> Cut {
    Cut {
        happened: page_one::more(lang).to_owned(),
        owed: page_one::more_owed(lang).to_owned(),
        zones: page_one::more_zones(lang).to_owned(),
        owed_all: page_one::owed_all(lang).to_owned(),
        happened_all: page_one::happened_all(lang).to_owned(),
        zones_all: page_one::zones_all(lang).to_owned(),
    }
}
