//! Who goes on, and who signed.

use crate::page::Page;
use crate::sheets::{Lines, Section};
use record::Party;
use rules::say::Say;
use words::report;

impl Page<'_> {
    pub(crate) fn goes_on(&self) -> Lines {
        let lang = self.lang();
        let mut rows = Vec::new();
        if let Some(release) = self.state.released() {
            let time = self.time(release.at_ms);
            rows.push(report::goes_on_released(lang, release.by.say(lang), time));
        } else {
            let people: Vec<&str> =
                self.state.on_duty.iter().map(|duty| self.names.person(&duty.who)).collect();
            rows.push(match people.is_empty() {
                true => report::goes_on_nobody(lang).to_owned(),
                false => report::goes_on_duty(lang, people.join(", ")),
            });
            let next = self.state.scheduled.iter().find(|s| s.from_ms > self.about_ms);
            rows.extend(next.map(|next| {
                let time = self.time(next.from_ms);
                report::goes_on_next(lang, self.names.person(&next.person), time)
            }));
        }
        rows.extend(self.to_ring());
        rows.extend(self.systems());
        Section { title: report::goes_on(lang).to_owned(), rows, none: String::new() }
    }

    /// Whom to ring about the watch, by the site's card.
    fn to_ring(&self) -> Option<String> {
        let parties = [Party::Coordinator, Party::Dispatcher, Party::Supervisor, Party::Owner];
        let card = self.request.documents.card.as_ref()?;
        let contact = parties
            .iter()
            .find_map(|party| card.contacts.iter().find(|contact| contact.party == *party))?;
        let role = contact.party.say(self.lang());
        Some(report::to_ring(self.lang(), &contact.name, &contact.number, role))
    }

    /// The site's numbers, so that whoever holds the log can ring.
    pub(crate) fn directory(&self) -> Lines {
        let lang = self.lang();
        let card = self.request.documents.card.as_ref();
        let emergency = card.and_then(|card| card.emergency_number.as_ref());
        let mut rows: Vec<String> =
            emergency.map(|number| report::directory_emergency(lang, number)).into_iter().collect();
        for contact in card.iter().flat_map(|card| &card.contacts) {
            let role = contact.party.say(lang);
            rows.push(report::directory_row(lang, &contact.name, &contact.number, role));
        }
        let spots = card.iter().flat_map(|card| &card.call_spots);
        rows.extend(spots.map(|spot| report::directory_spot(lang, spot)));
        Section {
            title: report::directory(lang).to_owned(),
            rows,
            none: report::directory_none(lang).to_owned(),
        }
    }

    /// What is signed with a pen.
    pub(crate) fn to_sign(&self) -> Lines {
        let lang = self.lang();
        let rows = [report::sign_guard(lang), report::sign_supervisor(lang)];
        Section {
            title: report::to_sign(lang).to_owned(),
            rows: rows.map(str::to_owned).to_vec(),
            none: String::new(),
        }
    }

    pub(crate) fn signatures(&self) -> Lines {
        let lang = self.lang();
        let signed = |who: &ledger::PersonId, at_ms: i64| {
            report::signed(lang, self.time(at_ms), self.names.person(who))
        };
        let shifts = self.state.shifts.iter().filter(|shift| self.meets(shift));
        let ends = shifts.filter_map(|shift| {
            let ended = shift.ended.as_ref()?;
            Some((ended.when.at_ms, signed(&shift.who, ended.when.at_ms)))
        });
        let reviews = self.state.reviews.iter().map(|review| {
            let what = match review.countersigned {
                true => words::entries::countersigned(lang, review.of.say(lang)),
                false => words::entries::reviewed(lang, review.of.say(lang)),
            };
            let at_ms = review.written.when.at_ms;
            (at_ms, format!("{} ({what})", signed(&review.written.who, at_ms)))
        });
        let mut rows: Vec<(i64, String)> = ends.chain(reviews).collect();
        rows.sort();
        Section {
            title: report::signatures(lang).to_owned(),
            rows: rows.into_iter().map(|(_, row)| row).collect(),
            none: report::signatures_none(lang).to_owned(),
        }
    }
}
