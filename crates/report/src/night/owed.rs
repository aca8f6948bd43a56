//! What was owed and by which source, and what the rules found.

use crate::page::Page;
use crate::request::Copy;
use crate::sheets::{OwedRow, Section};
use record::documents::Demand;
use record::{DemandFrom, ZoneId};
use rules::findings::Verdict;
use rules::say::Say;
use words::{duration_words, report};

impl Page<'_> {
    pub(crate) fn owed(&self) -> Section<OwedRow> {
        let lang = self.lang();
        let mut rows = Vec::new();
        rows.extend(self.the_watch_itself());
        if let Some(terms) = &self.request.documents.terms {
            rows.extend(self.gaps_owed(&terms.demands));
            let others = terms.demands.iter().filter(|demand| self.zone_of(demand).is_none());
            rows.extend(others.filter_map(|demand| self.demand(demand)));
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
        let what = match self.systems_out_named() {
            out if out.is_empty() => report::owed_watch_plain(lang, from),
            out => report::owed_watch(lang, from, out),
        };
        Some(OwedRow { what, source: self.orders() })
    }

    /// The orders of the record, oldest first.
    fn orders(&self) -> String {
        let lang = self.lang();
        let mut said: Vec<String> = Vec::new();
        for order in &self.state.orders {
            let from = order.from.say(lang);
            let order = match &order.number {
                Some(number) => words::entries::order_received_number(lang, from, number),
                None => words::entries::order_received(lang, from),
            };
            if !said.contains(&order) {
                said.push(order);
            }
        }
        match said.is_empty() {
            true => report::owed_no_order(lang).to_owned(),
            false => said.join("; "),
        }
    }

    /// Zones that are owed the same gap by the same source stand in one row; the shortest gap first.
    fn gaps_owed(&self, demands: &[Demand]) -> Vec<OwedRow> {
        let lang = self.lang();
        let mut owed: Vec<((u32, String), Vec<ZoneId>)> = Vec::new();
        for demand in demands {
            let Some((zone, gap_s)) = self.zone_of(demand) else { continue };
            let key = (gap_s, source(lang, demand));
            match owed.iter_mut().find(|(known, _)| *known == key) {
                Some((_, zones)) => zones.push(zone),
                None => owed.push((key, vec![zone])),
            }
        }
        owed.sort_by_key(|((gap_s, _), _)| *gap_s);
        let row = |((gap_s, source), zones): ((u32, String), Vec<ZoneId>)| {
            let names: Vec<&str> = zones.iter().map(|zone| self.names.zone(zone)).collect();
            let gap = duration_words(i64::from(gap_s));
            let what = report::owed_gap(lang, gap, names.join(", "));
            OwedRow { what, source }
        };
        owed.into_iter().map(row).collect()
    }

    /// The zone whose gap a demand names.
    fn zone_of(&self, demand: &Demand) -> Option<(ZoneId, u32)> {
        let zone = ZoneId::new(demand.of.clone()).ok()?;
        self.state.zone(&zone)?;
        Some((zone, demand.gap_s?))
    }

    /// None for a demand that this version cannot put into words.
    fn demand(&self, demand: &Demand) -> Option<OwedRow> {
        let what = demand.text.clone();
        (!what.is_empty()).then(|| OwedRow { what, source: source(self.lang(), demand) })
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
