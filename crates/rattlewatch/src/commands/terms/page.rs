//! The terms as a page that a fire marshal reads: each number with its clause.

use rules::say::Say;
use rules::standards::{Citation, Timing};
use rules::terms::say::Speech;
use rules::terms::{Deliver, Notify};
use rules::{Required, Terms};
use std::fmt::Write as _;
use words::{Lang, terms as said, terms_of_trade};

pub(super) fn terms(terms: &Terms, speech: &Speech) -> String {
    let titles = terms.profiles.join("; ");
    let mut page = Page { out: String::new(), speech, sources: &terms.sources };
    let lang = speech.lang;
    page.line(&said::title(lang, speech.time(terms.at), &terms.zone));
    page.line(&said::sources_in_force(lang, &titles));
    // *Notify now* stands above any countdown.
    page.notify(terms);
    page.required(terms, &titles);
    page.why(terms);
    page.gaps(terms);
    page.people(terms);
    page.after_work(terms);
    page.log(terms);
    page.deliver(terms);
    page.ends(terms);
    page.steps(terms);
    page.gave_way(terms);
    page.left_out(terms);
    page.heading(said::heading_sources(lang), !terms.sources.is_empty());
    for (at, source) in terms.sources.iter().enumerate() {
        page.line(&format!("[{}] {}", at + 1, speech.source(source)));
    }
    page.line("");
    page.line(terms_of_trade::local_codes_decide(lang));
    page.out
}

struct Page<'a> {
    out: String,
    speech: &'a Speech,
    sources: &'a [Citation],
}

impl Page<'_> {
    fn lang(&self) -> Lang {
        self.speech.lang
    }

    fn line(&mut self, text: &str) {
        writeln!(self.out, "{text}").expect("writing to a string");
    }

    fn heading(&mut self, text: &str, shown: bool) {
        if shown {
            self.line("");
            self.line(&text.to_uppercase());
        }
    }

    /// A statement with the numbers of the sources that it rests on.
    fn item(&mut self, text: &str, sources: &[&Citation]) {
        let mut numbers: Vec<usize> = sources
            .iter()
            .filter_map(|source| self.sources.iter().position(|held| held == *source))
            .collect();
        numbers.sort_unstable();
        numbers.dedup();
        let marks: Vec<String> = numbers.iter().map(|at| format!("[{}]", at + 1)).collect();
        self.line(format!("- {text} {}", marks.join(" ")).trim_end());
    }

    fn notify(&mut self, terms: &Terms) {
        let lang = self.lang();
        self.heading(said::heading_notify(lang), !terms.notify.is_empty());
        let mut notify: Vec<&Notify> = terms.notify.iter().collect();
        notify.sort_by_key(|notify| (notify.by.is_none_or(|by| by > terms.at), notify.timing));
        for notify in notify {
            let party = capital(notify.party.say(lang));
            let text = match (notify.timing, notify.by, notify.days_ahead) {
                (Timing::AtOnce, ..) => said::notify_now(lang, notify.party.say(lang)),
                (_, Some(by), _) if by <= terms.at => {
                    said::notify_now(lang, notify.party.say(lang))
                }
                (_, Some(by), _) => said::notify_by(lang, self.speech.time(by), party),
                (_, None, Some(days)) if notify.working_days => {
                    said::notify_working_days(lang, days, party)
                }
                (_, None, Some(days)) => said::notify_days(lang, days, party),
                (timing, None, None) => said::notify_when(lang, party, timing.say(lang)),
            };
            self.item(&text, &[&notify.source]);
        }
    }

    fn required(&mut self, terms: &Terms, titles: &str) {
        let lang = self.lang();
        self.heading(said::heading_required(lang), true);
        let text = match (terms.required, terms.since) {
            (Required::NoneFound, _) => said::required_none(lang, titles),
            (Required::Authority, _) => said::required_authority(lang).into(),
            (Required::Yes, None) => said::required_yes(lang).into(),
            (Required::Yes, Some(since)) if since > terms.at => {
                said::required_yes_recurs(lang, self.speech.time(since))
            }
            (Required::Yes, Some(since)) => said::required_yes_since(lang, self.speech.time(since)),
        };
        self.line(&text);
        if let Some(until) = terms.until {
            self.line(&said::until(lang, self.speech.time(until)));
        }
        if !terms.instead.is_empty() {
            let list: Vec<&str> = terms.instead.iter().map(|other| other.say(lang)).collect();
            self.line(&said::instead(lang, list.join("; ")));
        }
        if let Some(at) = terms.owed_from {
            self.line(&said::owed_from(lang, self.speech.time(at)));
        }
        if !terms.stretches.is_empty() {
            self.line(said::stretches(lang));
            for stretch in &terms.stretches {
                let text = said::stretch(
                    lang,
                    self.speech.time(stretch.from),
                    self.speech.time(stretch.to),
                );
                self.item(&text, &[]);
            }
        }
    }

    fn why(&mut self, terms: &Terms) {
        self.heading(said::heading_why(self.lang()), !terms.because.is_empty());
        for because in &terms.because {
            let sources: Vec<&Citation> = because.source().into_iter().collect();
            self.item(&self.speech.because(because), &sources);
        }
    }

    fn gaps(&mut self, terms: &Terms) {
        let lang = self.lang();
        self.heading(said::heading_gaps(lang), true);
        for gap in &terms.gaps {
            let text = said::gap(lang, self.speech.length(gap.gap_s), gap.zones.say(lang));
            self.item(&text, &[&gap.source]);
        }
        if terms.gaps.is_empty() {
            self.line(said::no_gap(lang));
        }
        if let Some(first) = &terms.first_round {
            self.item(&said::first_round(lang, self.speech.length(first.value)), &[&first.source]);
        }
    }

    fn people(&mut self, terms: &Terms) {
        let lang = self.lang();
        self.heading(said::heading_people(lang), true);
        match &terms.people {
            Some(people) => self.item(&said::people(lang, people.value), &[&people.source]),
            None => self.line(said::no_people(lang)),
        }
        if let Some(managers) = &terms.crowd_managers {
            self.item(&said::crowd_managers(lang, managers.value), &[&managers.source]);
        }
        if let Some(duties) = &terms.other_duties {
            let text = if duties.allowed {
                said::duties_allowed(lang)
            } else {
                said::duties_not_allowed(lang)
            };
            self.item(text, &[&duties.source]);
        }
        for need in &terms.need {
            self.item(&capital(need.need.say(lang)), &[&need.source]);
        }
    }

    fn after_work(&mut self, terms: &Terms) {
        let (lang, after) = (self.lang(), &terms.after_work);
        let sources: Vec<&Citation> = after.sources.iter().collect();
        self.heading(said::heading_after_work(lang), !sources.is_empty());
        if sources.is_empty() {
            return;
        }
        match (after.watch_until, after.at_least_until) {
            (Some(until), _) => {
                self.item(&said::watch_until(lang, self.speech.time(until)), &sources)
            }
            (None, Some(until)) => {
                self.item(&said::at_least_until(lang, self.speech.time(until)), &sources)
            }
            (None, None) => {
                // The work runs: its end is not known, the length of its tail may be.
                if let Some(length) = after.watch_s {
                    self.item(&said::watch_after(lang, self.speech.length(length)), &sources);
                }
                if terms.tail_is_uncertain() {
                    self.item(said::tail_uncertain(lang), &sources);
                }
            }
        }
        let clocks: Vec<String> = after.checks_at.iter().map(|at| self.speech.clock(*at)).collect();
        let text = match (after.checks_every_s, after.checks_until) {
            (Some(every), Some(until)) if !clocks.is_empty() => said::checks(
                lang,
                self.speech.length(every),
                clocks.join(", "),
                self.speech.time(until),
            ),
            (_, Some(until)) => said::checks_until(lang, self.speech.time(until)),
            (Some(every), None) => said::checks_every(lang, self.speech.length(every)),
            (None, None) => return,
        };
        self.item(&text, &sources);
    }

    fn log(&mut self, terms: &Terms) {
        let lang = self.lang();
        self.heading(said::heading_write(lang), !terms.write.is_empty() || terms.on.is_some());
        for write in &terms.write {
            self.item(&capital(write.item.say(lang)), &[&write.source]);
        }
        if let Some(on) = &terms.on {
            self.item(&said::log_on(lang, on.on.say(lang)), &[&on.source]);
        }
    }

    fn deliver(&mut self, terms: &Terms) {
        let lang = self.lang();
        let shown =
            !terms.deliver.is_empty() || terms.retain.is_some() || !terms.other_records.is_empty();
        self.heading(said::heading_deliver(lang), shown);
        for deliver in &terms.deliver {
            let text = self.delivery(deliver);
            self.item(&text, &[&deliver.source]);
        }
        if let Some(retain) = &terms.retain {
            self.item(&said::retain(lang, self.speech.length(retain.value)), &[&retain.source]);
        }
        for other in &terms.other_records {
            self.item(&said::retain_other(lang, self.speech.length(other.value)), &[&other.source]);
        }
    }

    fn delivery(&self, deliver: &Deliver) -> String {
        let lang = self.lang();
        let parties: Vec<&str> = deliver.to.iter().map(|party| party.say(lang)).collect();
        let to = if parties.is_empty() {
            said::nobody_named(lang).to_owned()
        } else {
            parties.join(", ")
        };
        match deliver.by {
            Some(by) => said::deliver_by(lang, self.speech.time(by), to, deliver.timing.say(lang)),
            None => said::deliver(lang, to, deliver.timing.say(lang)),
        }
    }

    fn ends(&mut self, terms: &Terms) {
        let lang = self.lang();
        self.heading(said::heading_ends(lang), !terms.ended_by.is_empty());
        for ended in &terms.ended_by {
            let parties: Vec<&str> = ended.parties.iter().map(|party| party.say(lang)).collect();
            let joined = parties.join(&format!(" {} ", said::alternatively(lang)));
            self.item(&capital(&said::ended_by(lang, joined)), &[&ended.source]);
        }
    }

    fn steps(&mut self, terms: &Terms) {
        let lang = self.lang();
        self.heading(said::heading_steps(lang), !terms.steps.is_empty());
        for owed in &terms.steps {
            let step = owed.step.say(lang);
            let text = if owed.at_restoration {
                said::step_restoration(lang, step)
            } else {
                capital(step)
            };
            self.item(&text, &[&owed.source]);
        }
    }

    fn gave_way(&mut self, terms: &Terms) {
        self.heading(said::heading_gave_way(self.lang()), !terms.gave_way.is_empty());
        for gave_way in &terms.gave_way {
            let text = format!(
                "{} {}",
                capital(&self.speech.gave_way(gave_way)),
                self.speech.source(&gave_way.source)
            );
            self.item(&text, &[]);
        }
    }

    fn left_out(&mut self, terms: &Terms) {
        let lang = self.lang();
        self.heading(said::heading_left_out(lang), !terms.left_out.is_empty());
        for left_out in &terms.left_out {
            let said = said::left_out(lang, left_out.demand.say(lang), &left_out.reason);
            let text = format!("{} {}", capital(&said), self.speech.source(&left_out.source));
            self.item(&text, &[]);
        }
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
