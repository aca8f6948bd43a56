//! What happened, in the order of time, each with what was done about it.

use crate::page::Page;
use crate::sheets::{HappenedRow, Section};
use record::EmergencyStage;
use rules::say::Say;
use watch::{Emergency, Observation};
use words::report;

impl Page<'_> {
    pub(crate) fn happened(&self) -> Section<HappenedRow> {
        let lang = self.lang();
        let mut rows: Vec<(i64, HappenedRow)> = Vec::new();
        for observation in &self.state.observations {
            rows.push((observation.written.when.at_ms, self.observation(observation)));
        }
        rows.extend(self.state.emergencies.iter().filter_map(|e| self.emergency(e)));
        for refused in self.state.zones.iter().flat_map(|zone| &zone.refused) {
            let at_ms = refused.written.when.at_ms;
            let (stop, why) = (self.names.stop(&refused.stop), refused.why.say(lang));
            let what = words::entries::access_refused(lang, stop, why);
            rows.push((at_ms, self.row(at_ms, what, String::new(), false)));
        }
        rows.retain(|(at_ms, row)| self.within(*at_ms) || row.still_open);
        rows.sort_by_key(|(at_ms, _)| *at_ms);
        Section {
            title: report::happened(lang).to_owned(),
            rows: rows.into_iter().map(|(_, row)| row).collect(),
            none: report::happened_none(lang).to_owned(),
        }
    }

    fn row(&self, at_ms: i64, what: String, state: String, bold: bool) -> HappenedRow {
        HappenedRow { time: self.clock(at_ms), what, state, bold, still_open: false }
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
        if let Some(words) = self.request.watch.words(observation.written.line)
            && !words.words.is_empty()
        {
            said += &format!(": {}", words.words.join(" "));
        }
        let mut parts = vec![said];
        let actions = observation.actions.iter().chain(&observation.closed);
        parts.extend(actions.map(|action| self.action(action)));
        let parties: Vec<_> = observation.told.iter().filter_map(|line| self.told(*line)).collect();
        if !parties.is_empty() {
            parts.push(report::told(lang, parties.join(", ")));
        }
        let at_ms = observation.written.when.at_ms;
        let closed_ms = observation.closed.as_ref().map(|closed| closed.written.when.at_ms);
        // What was open when the stretch began belongs to it, whenever it was found.
        let before = at_ms < self.from_ms && closed_ms.is_none_or(|closed| closed >= self.from_ms);
        let state = match closed_ms {
            Some(closed_ms) => report::closed_at(lang, self.clock(closed_ms)),
            None if before => report::open_since(lang, self.local.date(lang, at_ms)),
            None => report::open(lang).to_owned(),
        };
        let row = self.row(at_ms, sentence(&parts.join("; ")), state, false);
        HappenedRow { still_open: before, ..row }
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
                let time = self.clock(stamp.written.when.at_ms);
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
