//! Who was told, when and how, in one sentence; and how the systems stand.

use crate::page::Page;
use record::{Means, Party, System};
use rules::say::{Say, system as system_noun};
use words::{happened, papers};

/// So many parties stand on page one; the log has every one.
const PARTIES_MAX: usize = 7;

/// One telling, or several of the same kind.
struct Told {
    party: Party,
    means: Means,
    reached: bool,
    restored: bool,
    first_ms: i64,
    more: usize,
}

impl Page<'_> {
    /// Tellings of one party by one means stand together, by the first of them.
    pub(crate) fn told_line(&self) -> String {
        let lang = self.lang();
        let told = self.tellings();
        if told.is_empty() {
            return happened::told_nobody(lang).to_owned();
        }
        let more = told.len().saturating_sub(PARTIES_MAX);
        let list: Vec<String> =
            told.iter().take(PARTIES_MAX).map(|told| self.telling(told)).collect();
        let list = match more {
            0 => list.join("; "),
            more => happened::told_parties(lang, list.join("; "), more as i64),
        };
        happened::told(lang, list)
    }

    /// Notifications count from before the stretch too: a fire service that was told at the beginning
    /// still knows.
    fn tellings(&self) -> Vec<Told> {
        let communications = self
            .state
            .communications
            .iter()
            .map(|told| (told.written.when.at_ms, told.party, told.means, told.reached, false));
        let communications = communications.filter(|(at_ms, ..)| self.within(*at_ms));
        let notifications = self
            .state
            .notifications
            .iter()
            .map(|told| (told.written.when.at_ms, told.party, told.means, true, told.restored));
        let notifications = notifications.filter(|(at_ms, ..)| *at_ms <= self.until_ms);
        let mut all: Vec<_> = communications.chain(notifications).collect();
        all.sort_by_key(|(at_ms, ..)| *at_ms);
        let mut told: Vec<Told> = Vec::new();
        for (first_ms, party, means, reached, restored) in all {
            let same = |t: &&mut Told| {
                (t.party, t.means, t.reached, t.restored) == (party, means, reached, restored)
            };
            match told.iter_mut().find(same) {
                Some(known) => known.more += 1,
                None => told.push(Told { party, means, reached, restored, first_ms, more: 0 }),
            }
        }
        told
    }

    fn telling(&self, told: &Told) -> String {
        let lang = self.lang();
        let (party, means) = (told.party.say(lang), told.means.say(lang));
        let time = self.moment_in_span(told.first_ms);
        match (told.reached, told.restored, told.more) {
            (false, ..) => happened::told_not_reached(lang, means, party, time),
            (_, true, _) => happened::told_restored(lang, means, party, time),
            (_, _, 0) => happened::told_by(lang, means, party, time),
            (_, _, more) => happened::told_more(lang, means, more as i64, party, time),
        }
    }

    /// The time of day; with its date outside the days of the stretch.
    pub(crate) fn moment_in_span(&self, at_ms: i64) -> String {
        let lang = self.lang();
        let day = self.local.day(at_ms);
        match day >= self.local.day(self.from_ms) && day <= self.local.day(self.until_ms) {
            true => self.clock(at_ms),
            false => papers::on(lang, self.local.date(lang, at_ms), self.clock(at_ms)),
        }
    }

    /// The systems that were out in the stretch, as nouns.
    pub(crate) fn systems_out_named(&self) -> String {
        let overlap = |i: &&watch::Impairment| {
            i.from_ms <= self.until_ms && i.until_ms.is_none_or(|until| until >= self.from_ms)
        };
        let mut systems: Vec<System> =
            self.state.impairments.iter().filter(overlap).map(|i| i.system).collect();
        if systems.is_empty() {
            systems.extend(self.state.opening.iter().flat_map(|opening| &opening.out));
        }
        let mut named: Vec<&str> = Vec::new();
        for system in systems.into_iter().filter(|system| *system != System::None) {
            let noun = system_noun(self.lang(), system);
            if !named.contains(&noun) {
                named.push(noun);
            }
        }
        named.join(", ")
    }

    /// Since when each system is out, and since when it is back or when it is expected.
    pub(crate) fn systems(&self) -> Vec<String> {
        let lang = self.lang();
        let out = self.state.impairments.iter().filter(|i| i.system != System::None);
        out.map(|impairment| {
            let system = system_noun(lang, impairment.system);
            let when =
                |at_ms: i64| papers::on(lang, self.local.date(lang, at_ms), self.clock(at_ms));
            let from = when(impairment.from_ms);
            match (impairment.until_ms, impairment.expected_ms) {
                (Some(until_ms), _) => happened::system_back(lang, from, system, when(until_ms)),
                (None, Some(expected_ms)) => {
                    happened::system_expected(lang, when(expected_ms), from, system)
                }
                (None, None) => happened::system_out(lang, from, system),
            }
        })
        .collect()
    }
}
