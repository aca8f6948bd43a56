//! What is handwritten: rows to type it, and what they state.

use super::Paper;
use crate::page::{Reader, codes, time};
use crate::scribe::Statement;
use ledger::{Digest, PersonId};
use maud::{Markup, html};
use record::{
    Communication, Entry, HazardClass, HowSeen, Means, Note, Observed, Party, Seen, StopId,
    Transcribed, Words, ZoneId,
};
use rules::say::Say;
use std::collections::BTreeMap;
use words::{Lang, paper_in as says};

/// Rows to type on one page; more are typed by sending twice.
const ROWS: usize = 8;

/// The fields as the form sends them: each name with its values in order.
pub(super) type Fields = BTreeMap<String, Vec<String>>;

pub(super) fn fields(reader: &Reader, paper: &Paper) -> Markup {
    let lang = reader.lang;
    let zones: Vec<(String, String)> = paper
        .seen
        .state
        .zones
        .iter()
        .map(|zone| (zone.id.to_string(), paper.seen.live.documents.zone(&zone.id).to_owned()))
        .collect();
    let whats = [
        ("", "—"),
        ("seen", says::says_seen(lang)),
        ("observed", says::says_observed(lang)),
        ("told", says::says_told(lang)),
        ("note", says::says_note(lang)),
    ];
    let from = time::to_field(paper.seen.live.standing.from_ms, &paper.seen.tz());
    html! {
        h2 { (says::lines(lang)) }
        p.soft { (says::lines_why(lang)) }
        @for n in 1..=ROWS {
            fieldset.sheetrow {
                legend { (says::line(lang, n as i64)) }
                div.cells {
                    (select(&format!("what-{n}"), says::line_what(lang), &whats))
                    div {
                        label for={ "time-" (n) } { (says::line_time(lang)) }
                        input type="datetime-local" id={ "time-" (n) } name={ "time-" (n) } value=(from);
                    }
                    (choice(&format!("zone-{n}"), says::line_zone(lang), says::no_zone(lang), &zones))
                    (choice(&format!("class-{n}"), says::line_class(lang), says::no_zone(lang), &classes(lang)))
                    (choice(&format!("party-{n}"), says::line_party(lang), says::no_zone(lang), &parties(lang)))
                    (choice(&format!("means-{n}"), says::line_means(lang), says::no_zone(lang), &means(lang)))
                    div.wide {
                        label for={ "words-" (n) } { (says::line_words(lang)) }
                        input type="text" id={ "words-" (n) } name={ "words-" (n) } maxlength="1000" autocomplete="off";
                    }
                }
            }
        }
    }
}

fn classes(lang: Lang) -> Vec<(String, String)> {
    HazardClass::ALL.map(|class| (codes::value(class), class.say(lang).to_owned())).to_vec()
}

fn parties(lang: Lang) -> Vec<(String, String)> {
    Party::ALL.map(|party| (codes::value(party), party.say(lang).to_owned())).to_vec()
}

fn means(lang: Lang) -> Vec<(String, String)> {
    Means::ALL.map(|means| (codes::value(means), means.say(lang).to_owned())).to_vec()
}

fn select(name: &str, label: &str, options: &[(&str, &str)]) -> Markup {
    html! {
        div {
            label for=(name) { (label) }
            select id=(name) name=(name) {
                @for (value, word) in options { option value=(value) { (word) } }
            }
        }
    }
}

fn choice(name: &str, label: &str, none: &str, options: &[(String, String)]) -> Markup {
    let all: Vec<(&str, &str)> = std::iter::once(("", none))
        .chain(options.iter().map(|(value, word)| (value.as_str(), word.as_str())))
        .collect();
    select(name, label, &all)
}

/// What the page states, ready to be written: who wrote it, from which picture.
pub(super) struct Typing<'a> {
    pub(super) paper: &'a Paper,
    pub(super) writer: PersonId,
    pub(super) lang: Lang,
    pub(super) now_ms: i64,
}

impl Typing<'_> {
    /// The rows of ticks that were marked as right.
    pub(super) fn ticks(&self, fields: &Fields) -> Result<Vec<Statement>, String> {
        let mut statements = Vec::new();
        for row in super::compare::rows(self.paper) {
            let n = row.number.to_string();
            if !fields.get("right").is_some_and(|right| right.contains(&n)) {
                continue;
            }
            let name = says::row(self.lang, &row.says);
            let ticked = fields.get(&format!("tick-{n}")).cloned().unwrap_or_default();
            for cell in row.cells.iter().filter(|cell| ticked.contains(&cell.zone.to_string())) {
                let at_ms = self.time(fields, &format!("began-{n}"), &name)?;
                let entry = self.seen(&cell.zone, row.number as u32 + 1);
                statements.push(self.transcribed(at_ms, entry, ""));
            }
        }
        Ok(statements)
    }

    /// The lines that were typed.
    pub(super) fn lines(&self, fields: &Fields) -> Result<Vec<Statement>, String> {
        let mut statements = Vec::new();
        for n in 1..=ROWS {
            let field = |name: &str| first(fields, &format!("{name}-{n}"));
            let what = field("what");
            if what.is_empty() {
                continue;
            }
            let name = says::line(self.lang, n as i64);
            let at_ms = self.time(fields, &format!("time-{n}"), &name)?;
            let zone = ZoneId::new(field("zone")).ok().filter(|zone| self.knows(zone));
            let words = field("words");
            let entry = match what {
                "seen" => self.seen(&zone.ok_or_else(|| says::needs_zone(self.lang, &name))?, 0),
                "observed" => {
                    let class = codes::read(field("class"));
                    observed(class.ok_or_else(|| says::needs_class(self.lang, &name))?, zone)
                }
                "told" => {
                    let party = codes::read(field("party"));
                    let means = codes::read(field("means"));
                    let both = party.zip(means);
                    let (party, means) = both.ok_or_else(|| says::needs_party(self.lang, &name))?;
                    told(party, means)
                }
                _ => Note { of: None }.into(),
            };
            if words.trim().is_empty() && what != "seen" {
                return Err(says::no_words(self.lang, &name));
            }
            statements.push(self.transcribed(at_ms, entry, words));
        }
        Ok(statements)
    }

    fn time(&self, fields: &Fields, name: &str, row: &str) -> Result<i64, String> {
        let at_ms = time::from_field(first(fields, name), &self.paper.seen.tz())
            .ok_or_else(|| says::no_time(self.lang, row))?;
        match at_ms > self.now_ms {
            true => Err(says::ahead(self.lang, row)),
            false => Ok(at_ms),
        }
    }

    fn knows(&self, zone: &ZoneId) -> bool {
        self.paper.seen.state.zone(zone).is_some()
    }

    /// A tick says that the zone was seen, by hand; its first stop stands for it.
    fn seen(&self, zone: &ZoneId, round: u32) -> Entry {
        let stops = self.paper.seen.state.zone(zone).map(|zone| zone.stops.clone());
        let stop = stops.and_then(|stops| stops.into_iter().next());
        let stop = stop.or_else(|| StopId::new(zone.as_str()).ok());
        let stop = stop.expect("a zone's id is an id");
        Seen { stop, zone: zone.clone(), how: HowSeen::Hand, tag: None, round, fix: false }.into()
    }

    fn transcribed(&self, at_ms: i64, entry: Entry, words: &str) -> Statement {
        let sheet: Option<Digest> = Some(self.paper.digest);
        let (states, body) = (entry.kind().to_owned(), entry.to_body());
        let writer = self.writer.clone();
        Statement::with(Transcribed { sheet, writer, at_ms, states, body }, Words::from_text(words))
    }
}

fn first<'f>(fields: &'f Fields, name: &str) -> &'f str {
    fields.get(name).and_then(|values| values.first()).map_or("", String::as_str)
}

fn observed(class: HazardClass, zone: Option<ZoneId>) -> Entry {
    let severity = class.default_severity();
    Observed { class, severity, zone, stop: None, place: None, at_ms: None, again: None }.into()
}

fn told(party: Party, means: Means) -> Entry {
    Communication { party, means, of: None, at_ms: None, reached: true }.into()
}
