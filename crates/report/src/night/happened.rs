//! What happened, in the order of time, each with what was done about it.

use crate::page::Page;
use crate::sheets::{HappenedRow, Section};
use record::{EmergencyStage, Severity};
use rules::say::Say;
use watch::{Emergency, HotWork, Observation};
use words::{happened, report};

/// Where page one has no room for all, what weighs least gives way first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Weight {
    Emergency,
    Open(Severity),
    WorkOpen,
    Refused,
    WorkOver,
    Closed(Severity),
}

impl Page<'_> {
    pub(crate) fn happened(&self) -> Section<HappenedRow> {
        let lang = self.lang();
        let mut rows: Vec<(i64, Weight, HappenedRow)> = Vec::new();
        for observation in &self.state.observations {
            let weight = match observation.closed {
                None => Weight::Open(observation.severity),
                Some(_) => Weight::Closed(observation.severity),
            };
            let row = self.observation(observation);
            rows.push((observation.written.when.at_ms, weight, row));
        }
        let emergencies = self.state.emergencies.iter().filter_map(|e| self.emergency(e));
        rows.extend(emergencies.map(|(at_ms, row)| (at_ms, Weight::Emergency, row)));
        rows.extend(self.state.hot_work.iter().map(|work| self.hot_work(work)));
        for refused in self.state.zones.iter().flat_map(|zone| &zone.refused) {
            let at_ms = refused.written.when.at_ms;
            let (stop, why) = (self.names.stop(&refused.stop), refused.why.say(lang));
            let what = words::entries::access_refused(lang, stop, why);
            rows.push((at_ms, Weight::Refused, self.row(at_ms, what, String::new(), false)));
        }
        rows.retain(|(at_ms, _, row)| self.within(*at_ms) || row.still_open);
        rows.sort_by_key(|(at_ms, weight, _)| (*at_ms, *weight));
        let mut by_weight: Vec<usize> = (0..rows.len()).collect();
        by_weight.sort_by_key(|row| rows[*row].1);
        for (place, row) in by_weight.into_iter().enumerate() {
            rows[row].2.place = place;
        }
        Section {
            title: report::happened(lang).to_owned(),
            rows: rows.into_iter().map(|(.., row)| row).collect(),
            none: report::happened_none(lang).to_owned(),
        }
    }

    fn row(&self, at_ms: i64, what: String, state: String, bold: bool) -> HappenedRow {
        let time = self.time(at_ms);
        HappenedRow { time, what, state, bold, open: false, still_open: false, place: 0 }
    }

    /// One piece of work in one row: its last spark, until when it was watched, whether it is signed off.
    fn hot_work(&self, work: &HotWork) -> (i64, Weight, HappenedRow) {
        let lang = self.lang();
        let at_ms = work.began.when.at_ms;
        let mut parts = vec![record::HazardClass::HotWork.say(lang).to_owned()];
        parts.extend(self.reader().place(work.place.as_ref(), None, work.zone.as_ref()));
        let mut said = vec![parts.join(", ")];
        said.push(match &work.last_spark {
            Some(spark) => happened::last_spark(lang, self.time(spark.when.at_ms)),
            None => happened::no_last_spark(lang).to_owned(),
        });
        said.extend(work.watch_until_ms.map(|at_ms| happened::watch_until(lang, self.time(at_ms))));
        said.extend(work.looks_until_ms.map(|at_ms| happened::looks_until(lang, self.time(at_ms))));
        let closed_ms = work.closed.as_ref().map(|closed| closed.when.at_ms);
        let state = match closed_ms {
            Some(closed_ms) => happened::signed_off(lang, self.time(closed_ms)),
            None => happened::not_signed_off(lang).to_owned(),
        };
        let weight = match closed_ms {
            Some(_) => Weight::WorkOver,
            None => Weight::WorkOpen,
        };
        let before = at_ms < self.from_ms && closed_ms.is_none_or(|closed| closed >= self.from_ms);
        let row = self.row(at_ms, sentence(&said.join("; ")), state, false);
        let row = HappenedRow { open: closed_ms.is_none(), still_open: before, ..row };
        (at_ms, weight, row)
    }

    /// Class and place, the writer's own words, what was done, who was told.
    fn observation(&self, observation: &Observation) -> HappenedRow {
        let lang = self.lang();
        let reader = self.reader();
        let (place, stop, zone) =
            (observation.place.as_ref(), observation.stop.as_ref(), observation.zone.as_ref());
        let class = observation.class.say(lang);
        let mut said = match reader.place(place, stop, zone) {
            Some(place) => format!("{class}, {place}"),
            None => class.to_owned(),
        };
        // A phone writes the words after the observation, as notes about it.
        let line = observation.written.line;
        let lines =
            std::iter::once(line).chain(self.state.notes_of(line).map(|note| note.written.line));
        let own: Vec<String> = lines
            .filter_map(|line| self.request.watch.words(line))
            .filter(|words| !words.words.is_empty())
            .map(|words| words.words.join(" "))
            .collect();
        if !own.is_empty() {
            said += &format!(": {}", own.join(". "));
        }
        let mut parts = vec![said];
        let actions = observation.actions.iter().chain(&observation.closed);
        // Who says only that it is put right has said what was done before.
        parts.extend(actions.map(|action| self.action(action)).filter(|said| !said.is_empty()));
        let parties: Vec<_> = observation.told.iter().filter_map(|line| self.told(*line)).collect();
        if !parties.is_empty() {
            parts.push(report::told(lang, parties.join(", ")));
        }
        let at_ms = observation.written.when.at_ms;
        let closed_ms = observation.closed.as_ref().map(|closed| closed.written.when.at_ms);
        // What was open when the stretch began belongs to it, whenever it was found.
        let before = at_ms < self.from_ms && closed_ms.is_none_or(|closed| closed >= self.from_ms);
        let state = match closed_ms {
            Some(closed_ms) => report::closed_at(lang, self.time(closed_ms)),
            None if before => report::open_since(lang, self.local.date(lang, at_ms)),
            None => report::open(lang).to_owned(),
        };
        let row = self.row(at_ms, sentence(&parts.join("; ")), state, false);
        HappenedRow { open: closed_ms.is_none(), still_open: before, ..row }
    }

    fn action(&self, action: &watch::Action) -> String {
        let done = self.reader().list(&action.done);
        match self.request.watch.words(action.written.line) {
            Some(words) if !words.words.is_empty() => {
                let own = words.words.join(" ");
                if done.is_empty() { own } else { format!("{done} ({own})") }
            }
            _ => done,
        }
    }

    fn told(&self, line: ledger::LineId) -> Option<String> {
        let told = self.state.communications.iter().find(|c| c.written.line == line)?;
        told.reached.then(|| told.party.say(self.lang()).to_owned())
    }

    /// All stamps of one emergency in one row.
    fn emergency(&self, emergency: &Emergency) -> Option<(i64, HappenedRow)> {
        let lang = self.lang();
        let stamps: Vec<_> =
            emergency.stamps.iter().filter(|stamp| stamp.stage != EmergencyStage::Opened).collect();
        let first = stamps.first().copied().or(emergency.stamps.first())?;
        let at_ms = first.written.when.at_ms;
        let named = match emergency.drill {
            true => words::terms_of_trade::drill(lang),
            false => record::HazardClass::Fire.say(lang),
        };
        let place = emergency.zone.as_ref().map(|zone| format!(", {}", self.names.zone(zone)));
        let times: Vec<String> = stamps
            .iter()
            .map(|stamp| {
                let time = self.time(stamp.written.when.at_ms);
                format!("{}{}{time}", stamp.stage.say(lang), words::NBSP)
            })
            .collect();
        let times = match times.is_empty() {
            true => EmergencyStage::Opened.say(lang).to_owned(),
            false => times.join(", "),
        };
        let what = format!("{named}{}: {times}.", place.unwrap_or_default());
        Some((at_ms, self.row(at_ms, what, String::new(), true)))
    }
}

/// Ends like a sentence.
fn sentence(text: &str) -> String {
    match text.ends_with(['.', '!', '?']) {
        true => text.to_owned(),
        false => format!("{text}."),
    }
}
