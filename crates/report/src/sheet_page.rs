//! The log sheet on paper: [`sheet`] says what stands where, this file fills it from the record and
//! sets it.

use crate::pdf::{Document, Paper, PdfFault, set};
use crate::request::{Documents, Unaltered};
use crate::times::Local;
use record::{Entry, System};
use rules::say::{Names, Say};
use serde::Serialize;
use sheet::{Columns, Filled, Happened, Item, Naming, PageSize, Told, Tonight, modules, pages};
use std::collections::BTreeMap;
use watch::{Observation, State, Watch};
use words::{Lang, card, report};

/// What the sheets of one night rest on.
pub struct LogSheet<'a> {
    /// The watch.
    pub watch: &'a Watch,
    /// The instant that it is about, ms UTC.
    pub about_ms: i64,
    /// The stretch; the watch or the shift about that instant if none is given.
    pub span_ms: Option<(i64, i64)>,
    /// The documents of the record.
    pub documents: &'a Documents,
    /// Whether it held.
    pub unaltered: Unaltered,
    /// Fill the sheet from the record instead of leaving it to a hand.
    pub filled: bool,
    /// The order of the columns.
    pub columns: &'a Columns,
    /// The language.
    pub lang: Lang,
    /// The sheet's size.
    pub paper: Paper,
}

/// What the template places.
#[derive(Serialize)]
struct Sheets<'a> {
    lang: &'static str,
    title: String,
    width: i32,
    height: i32,
    pages: Vec<Vec<Placed<'a>>>,
}

/// One item, and the file of its picture if it is one.
#[derive(Serialize)]
struct Placed<'a> {
    #[serde(flatten)]
    item: &'a Item,
    #[serde(skip_serializing_if = "Option::is_none")]
    file: Option<String>,
}

impl<'a> Placed<'a> {
    fn of(item: &'a Item) -> Placed<'a> {
        let file = match item {
            Item::Code { text, .. } => Some(code_file(text)),
            _ => None,
        };
        Placed { item, file }
    }
}

impl LogSheet<'_> {
    /// The pages of the night.
    pub fn pages(&self) -> Vec<sheet::Page> {
        let size = match self.paper {
            Paper::A4 => PageSize::A4,
            Paper::Letter => PageSize::Letter,
        };
        pages(&self.tonight(), self.columns, size, self.lang)
    }

    /// Sets them. `ident` names the document: equal input gives equal bytes.
    pub fn to_pdf(&self, ident: &str) -> Result<Vec<u8>, PdfFault> {
        let tonight = self.tonight();
        let laid = self.pages();
        let size = laid.first().map_or(PageSize::A4, |page| page.code.size);
        let mut pictures = BTreeMap::new();
        for item in laid.iter().flat_map(|page| &page.items) {
            if let Item::Code { text, .. } = item {
                let code = modules(text).ok_or_else(|| PdfFault::Setting(text.clone()))?;
                pictures.insert(code_file(text), code.to_svg().into_bytes());
            }
        }
        let data = Sheets {
            lang: self.lang.tag(),
            title: format!("{} — {}", tonight.site, words::sheet::title(self.lang, &tonight.span)),
            width: size.extent().0,
            height: size.extent().1,
            pages: laid.iter().map(|page| page.items.iter().map(Placed::of).collect()).collect(),
        };
        set(Document {
            template: include_str!("templates/sheet.typ"),
            data: &data,
            pictures,
            ident: ident.to_owned(),
            issued_ms: self.about_ms,
            tagged: true,
        })
    }

    fn tonight(&self) -> Tonight {
        let state = self.watch.about(self.about_ms);
        let local = Local::of(state.opening.as_ref().map(|opening| opening.tz.as_str()));
        let plan = self.documents.plan.as_ref();
        let names = plan.map(Names::of_plan).unwrap_or_default().with_people(self.watch);
        let naming = Naming {
            zone: &|id| names.zone(id).to_owned(),
            person: &|id| names.person(id).to_owned(),
            offset_min: &|at_ms| local.offset_min(at_ms),
            span: &|from_ms, until_ms| {
                format!("{} ({})", local.span(self.lang, from_ms, Some(until_ms)), local.name())
            },
        };
        let stretch = self.span_ms.unwrap_or_else(|| Tonight::stretch(&state, self.about_ms));
        let card = self.documents.card.clone();
        let mut tonight = Tonight::of(&state, card, stretch, &naming, self.lang);
        tonight.out = self.out(&state);
        tonight.warning = self.warning(&state);
        if self.filled {
            let mut filled = Filled::of(&state, &tonight, &naming);
            let parts = Parts { sheet: self, state: &state, names: &names, naming: &naming };
            (filled.found, filled.told) = parts.found_and_told(stretch);
            tonight.filled = Some(filled);
        }
        tonight
    }

    fn out(&self, state: &State) -> String {
        let open = state.impairments.iter().filter(|found| found.restored.is_none());
        let mut systems: Vec<_> = open.map(|found| found.system).collect();
        systems.extend(state.opening.iter().flat_map(|opening| opening.out.iter().copied()));
        systems.sort();
        systems.dedup();
        let named = systems.into_iter().filter_map(|system| called(system, self.lang));
        named.collect::<Vec<_>>().join(", ")
    }

    fn warning(&self, state: &State) -> Option<String> {
        if let Unaltered::Faults(n) = self.unaltered {
            return Some(report::unaltered_faults(self.lang, n.min(i64::MAX as u64) as i64));
        }
        let opening = state.opening.as_ref()?;
        match (state.drill, opening.demo, opening.test) {
            (true, ..) => Some(words::terms_of_trade::drill(self.lang).to_owned()),
            (_, true, _) => Some(report::demo(self.lang).to_owned()),
            (_, _, true) => Some(report::test_site(self.lang).to_owned()),
            _ => None,
        }
    }
}

/// What a system is called on the emergency card.
fn called(system: System, lang: Lang) -> Option<&'static str> {
    Some(match system {
        System::FireAlarm => card::system_fire_alarm(lang),
        System::Sprinkler => card::system_sprinkler(lang),
        System::Standpipe => card::system_standpipe(lang),
        System::WaterSupply => card::system_water_supply(lang),
        System::SpecialHazard => card::system_special_hazard(lang),
        System::SmokeControl => card::system_smoke_control(lang),
        System::Monitoring => card::system_monitoring(lang),
        System::EmergencyLighting => card::system_emergency_lighting(lang),
        System::None => return None,
    })
}

/// A code's file among the pictures; equal codes share one.
fn code_file(text: &str) -> String {
    format!("code-{}.svg", ledger::Digest::of(text.as_bytes()))
}

/// What the rows of the writing page are made of.
struct Parts<'a> {
    sheet: &'a LogSheet<'a>,
    state: &'a State,
    names: &'a Names,
    naming: &'a Naming<'a>,
}

impl Parts<'_> {
    fn found_and_told(&self, (from_ms, until_ms): (i64, i64)) -> (Vec<Happened>, Vec<Told>) {
        let inside = |at_ms: i64| (from_ms..=until_ms).contains(&at_ms);
        let found = self.state.observations.iter();
        let found = found.filter(|found| inside(found.written.when.at_ms));
        let lang = self.sheet.lang;
        let told = self.state.communications.iter();
        let told = told.filter(|told| inside(told.written.when.at_ms)).map(|told| Told {
            time: self.clock(told.written.when.at_ms),
            whom: told.party.say(lang).to_owned(),
            how: told.means.say(lang).to_owned(),
            what: self.own_words(told.written.line),
        });
        (found.map(|found| self.happened(found)).collect(), told.collect())
    }

    fn happened(&self, found: &Observation) -> Happened {
        let lang = self.sheet.lang;
        let class = record::HazardClass::ALL.iter().position(|class| *class == found.class);
        let done = found.actions.iter().chain(&found.closed).flat_map(|action| &action.done);
        let mut done: Vec<&str> = done.map(|done| done.say(lang)).collect();
        done.dedup();
        Happened {
            time: self.clock(found.written.when.at_ms),
            code: class.map(|place| (place + 1).to_string()).unwrap_or_default(),
            place: found.zone.as_ref().map(|id| self.names.zone(id).to_owned()).unwrap_or_default(),
            what: self.own_words(found.written.line),
            done: done.join(", "),
            who: self.names.person(&found.written.who).to_owned(),
        }
    }

    fn clock(&self, at_ms: i64) -> String {
        words::clock(at_ms, (self.naming.offset_min)(at_ms))
    }

    fn own_words(&self, line: ledger::LineId) -> String {
        let kept = self.sheet.watch.lines().find(|kept| kept.id == line);
        let words = kept.filter(|kept| !matches!(kept.said, Entry::Unknown { .. }));
        words.and_then(|kept| Some(kept.words.as_ref()?.words.join(" "))).unwrap_or_default()
    }
}
