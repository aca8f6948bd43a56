//! What was owed and by which source, and what the rules found.

use crate::page::Page;
use crate::request::Copy;
use crate::sheets::{OwedRow, Section};
use record::DemandFrom;
use record::documents::Demand;
use rules::findings::Verdict;
use rules::say::Say;
use words::{duration_words, report};

impl Page<'_> {
    pub(crate) fn owed(&self) -> Section<OwedRow> {
        let lang = self.lang();
        let mut rows = Vec::new();
        rows.extend(self.the_watch_itself());
        if let Some(terms) = &self.request.documents.terms {
            rows.extend(terms.demands.iter().filter_map(|demand| self.demand(demand)));
        }
        Section {
            title: report::owed(lang).to_owned(),
            rows,
            none: report::owed_none(lang).to_owned(),
        }
    }

    fn the_watch_itself(&self) -> Option<OwedRow> {
        let lang = self.lang();
        let opening = self.state.opening.as_ref()?;
        let from =
            format!("{}, {}", self.local.date(lang, opening.from_ms), self.clock(opening.from_ms));
        let what = match opening.out.is_empty() {
            true => report::owed_watch_plain(lang, from),
            false => report::owed_watch(lang, from, self.reader().list(&opening.out)),
        };
        let order = self.state.orders.first();
        let source = order.map(|order| {
            let from = order.from.say(lang);
            match &order.number {
                Some(number) => words::entries::order_received_number(lang, from, number),
                None => words::entries::order_received(lang, from),
            }
        });
        Some(OwedRow { what, source: source.unwrap_or_default() })
    }

    /// None for a demand that this version cannot put into words.
    fn demand(&self, demand: &Demand) -> Option<OwedRow> {
        let lang = self.lang();
        let zone = record::ZoneId::new(demand.of.clone()).ok();
        let named = zone.as_ref().filter(|id| self.state.zone(id).is_some());
        let what = match (named, demand.gap_s) {
            (Some(zone), Some(gap_s)) => {
                report::owed_gap(lang, duration_words(i64::from(gap_s)), self.names.zone(zone))
            }
            _ => demand.text.clone(),
        };
        (!what.is_empty()).then(|| OwedRow { what, source: source(lang, demand) })
    }
}

fn source(lang: words::Lang, demand: &Demand) -> String {
    match demand.from {
        DemandFrom::House if demand.source.is_empty() => report::owed_ours(lang).to_owned(),
        from => format!("{} ({})", demand.source, from.say(lang)),
    }
}

/// Findings as rows. What only asks somebody to look is for the own house.
pub(crate) fn findings(page: &Page<'_>) -> Section<OwedRow> {
    let lang = page.lang();
    Section {
        title: report::findings(lang).to_owned(),
        rows: page.findings_shown(),
        none: report::findings_none(lang).to_owned(),
    }
}

impl Page<'_> {
    pub(crate) fn findings_shown(&self) -> Vec<OwedRow> {
        let shown = |verdict: Verdict| match verdict {
            Verdict::Broken | Verdict::Unclear => true,
            Verdict::Look => self.request.copy == Copy::House,
            Verdict::Kept => false,
        };
        let reader = self.reader();
        let findings = self.findings.iter().filter(|finding| shown(finding.verdict));
        findings
            .map(|finding| OwedRow {
                what: reader.finding(finding),
                source: reader.source(&finding.source),
            })
            .collect()
    }
}
