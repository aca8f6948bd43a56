//! The time sheet: who worked when, as paper and as CSV.

use crate::page::Page;
use crate::request::Request;
use crate::sheets::{Block, Form, Table};
use ledger::PersonId;
use std::collections::BTreeMap;
use watch::Shift;
use words::{duration_words, paper_hours as says};

pub(crate) fn compose(page: &Page<'_>) -> Form {
    let lang = page.lang();
    let mut form = page.form(says::title(lang));
    form.blocks.push(page.site_fields(2));
    let shifts = page.shifts_in_span();
    if shifts.is_empty() {
        form.blocks.push(Block::soft(says::none(lang)));
    }
    form.blocks.push(Block::Table(page.shift_rows(&shifts)));
    form.blocks.push(Block::soft(says::worked(lang)));
    form.blocks.push(Block::part(says::holes(lang)));
    let holes: Vec<&watch::Hole> = page
        .state
        .cover
        .holes
        .iter()
        .filter(|hole| hole.from_ms < page.until_ms && hole.until_ms > page.from_ms)
        .collect();
    if holes.is_empty() && !shifts.is_empty() {
        form.blocks.push(Block::says(says::holes_none(lang)));
    }
    for hole in holes {
        let length = duration_words((hole.until_ms - hole.from_ms) / 1000);
        let (from, until) = (page.stamp(hole.from_ms), page.stamp(hole.until_ms));
        form.blocks.push(Block::says(says::hole(lang, from, length, until)));
    }
    let rows = [says::sign_guard(lang), says::sign_supervisor(lang)].map(str::to_owned);
    form.blocks.push(Block::Signatures { rows: rows.to_vec() });
    page.add_sources(&mut form);
    form
}

/// The shifts as CSV (RFC 4180): one row for each, times in RFC 3339 with the site's offset, stretches
/// in seconds. What the record does not hold is empty.
pub fn csv(request: &Request<'_>) -> String {
    let page = Page::of(request);
    let head =
        "person,name,began,ended,planned_until,breaks_s,other_duties_s,worked_s,signed,rounds";
    let mut out = format!("{head}\r\n");
    for shift in page.shifts_in_span() {
        let machine = |at_ms: i64| page.local.machine(at_ms);
        let number = |s: Option<i64>| s.map(|s| s.to_string()).unwrap_or_default();
        let cells = [
            shift.who.to_string(),
            page.names.person(&shift.who).to_owned(),
            machine(shift.from_ms),
            shift.until_ms.map(machine).unwrap_or_default(),
            shift.planned_until_ms.map(machine).unwrap_or_default(),
            (page.breaks_ms(shift) / 1000).to_string(),
            (page.other_ms(shift) / 1000).to_string(),
            number(page.worked_ms(shift).map(|ms| ms / 1000)),
            shift.ended.as_ref().map(|ended| machine(ended.when.at_ms)).unwrap_or_default(),
            number(shift.rounds_stated.map(i64::from)),
        ];
        out += &cells.map(|cell| quoted(&cell)).join(",");
        out += "\r\n";
    }
    out
}

/// A cell in quotes where it needs them. One that a spreadsheet would take for a formula is kept as
/// text by an apostrophe.
fn quoted(cell: &str) -> String {
    let formula = cell.starts_with(['=', '+', '-', '@', '\t']);
    let cell = if formula { format!("'{cell}") } else { cell.to_owned() };
    match cell.contains(['"', ',', '\n', '\r']) {
        true => format!("\"{}\"", cell.replace('"', "\"\"")),
        false => cell,
    }
}

impl Page<'_> {
    fn shifts_in_span(&self) -> Vec<&Shift> {
        let all = self.request.stretch.is_none();
        self.state.shifts.iter().filter(|shift| all || self.meets(shift)).collect()
    }

    fn breaks_ms(&self, shift: &Shift) -> i64 {
        let end_ms = shift.until_ms.unwrap_or(self.about_ms);
        let length = |b: &watch::Break| b.until_ms.unwrap_or(end_ms).min(end_ms) - b.from_ms;
        shift.breaks.iter().map(length).map(|ms| ms.max(0)).sum()
    }

    fn other_ms(&self, shift: &Shift) -> i64 {
        let end_ms = shift.until_ms.unwrap_or(self.about_ms);
        let length = |(from_ms, until_ms): &(i64, Option<i64>)| {
            until_ms.unwrap_or(end_ms).min(end_ms) - from_ms
        };
        shift.other_duties.iter().map(length).map(|ms| ms.max(0)).sum()
    }

    /// From beginning to end without breaks; none while the record holds no end.
    fn worked_ms(&self, shift: &Shift) -> Option<i64> {
        Some((shift.until_ms? - shift.from_ms - self.breaks_ms(shift)).max(0))
    }

    fn shift_rows(&self, shifts: &[&Shift]) -> Table {
        let lang = self.lang();
        let mut rows: Vec<Vec<String>> = shifts.iter().map(|shift| self.shift_row(shift)).collect();
        let mut totals: BTreeMap<&PersonId, i64> = BTreeMap::new();
        for shift in shifts {
            *totals.entry(&shift.who).or_default() += self.worked_ms(shift).unwrap_or(0);
        }
        for (person, worked_ms) in totals {
            let mut row = vec![says::total(lang, self.names.person(person))];
            row.resize(6, String::new());
            row.push(span_words(worked_ms));
            row.push(String::new());
            rows.push(row);
        }
        Table {
            head: [
                says::head_guard(lang),
                says::head_day(lang),
                says::head_began(lang),
                says::head_ended(lang),
                says::head_breaks(lang),
                says::head_other(lang),
                says::head_hours(lang),
                says::head_signed(lang),
            ]
            .map(str::to_owned)
            .to_vec(),
            wide: vec![0, 1, 7],
            widest: None,
            mono: vec![2, 3, 4, 5, 6],
            rows,
            blank: if shifts.is_empty() { 6 } else { 1 },
        }
    }

    fn shift_row(&self, shift: &Shift) -> Vec<String> {
        let lang = self.lang();
        let ended = match (shift.until_ms, &shift.relieved_by) {
            (Some(until_ms), _) => self.clock(until_ms),
            (None, _) => "–".to_owned(),
        };
        let signed = match (&shift.ended, &shift.relieved_by, shift.until_ms) {
            (Some(ended), _, _) => says::signed_at(lang, self.clock(ended.when.at_ms)),
            (None, Some(by), _) => says::relieved(lang, self.names.person(by)),
            (None, None, None) => says::not_ended(lang).to_owned(),
            (None, None, Some(_)) => String::new(),
        };
        vec![
            self.names.person(&shift.who).to_owned(),
            self.local.date(lang, shift.from_ms),
            self.clock(shift.from_ms),
            ended,
            span_words(self.breaks_ms(shift)),
            span_words(self.other_ms(shift)),
            self.worked_ms(shift).map(span_words).unwrap_or_default(),
            signed,
        ]
    }
}

fn span_words(ms: i64) -> String {
    match ms / 1000 {
        0 => "–".to_owned(),
        s => duration_words(s),
    }
}

#[cfg(test)]
mod tests {
    use super::quoted;

    /// RFC 4180, section 2, rules 5 to 7.
    #[test]
    fn cells_are_quoted_and_never_formulas() {
        assert_eq!(quoted("plain"), "plain");
        assert_eq!(quoted("a, b"), "\"a, b\"");
        assert_eq!(quoted("say \"no\""), "\"say \"\"no\"\"\"");
        assert_eq!(quoted("=1+1"), "'=1+1");
    }
}
