//! The terms as a page that a fire marshal reads: each number with its clause.

use rules::codes::Party;
use rules::say::Say;
use rules::standards::{Citation, Demand, Timing};
use rules::terms::say::Speech;
use rules::terms::{Because, Deliver, Notify};
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
        let marks = self.marks(sources);
        self.line(format!("- {text} {marks}").trim_end());
    }

    fn marks(&self, sources: &[&Citation]) -> String {
        let mut numbers: Vec<usize> = sources
            .iter()
            .filter_map(|source| self.sources.iter().position(|held| held == *source))
            .collect();
        numbers.sort_unstable();
        numbers.dedup();
        let marks: Vec<String> = numbers.iter().map(|at| format!("[{}]", at + 1)).collect();
        marks.join(" ")
    }

    /// Statements of several sources: what more than one says stands once, with all of them.
    fn each<'a>(
        &mut self,
        statements: impl Iterator<Item = (String, impl Into<Option<&'a Citation>>)>,
    ) {
        let mut told: Vec<(String, Vec<&Citation>)> = Vec::new();
        for (text, source) in statements {
            let source = source.into();
            match told.iter_mut().find(|(other, _)| *other == text) {
                Some((_, sources)) => sources.extend(source),
                None => told.push((text, source.into_iter().collect())),
            }
        }
        for (text, sources) in told {
            self.item(&text, &sources);
        }
    }

    fn notify(&mut self, terms: &Terms) {
        let lang = self.lang();
        self.heading(said::heading_notify(lang), !terms.notify.is_empty());
        let mut notify: Vec<&Notify> = terms.notify.iter().collect();
        notify.sort_by_key(|notify| (notify.by.is_none_or(|by| by > terms.at), notify.timing));
        // One line for all whom a source wants told at the same time.
        let mut told: Vec<(&Notify, Vec<&str>)> = Vec::new();
        for notify in notify {
            let party = notify.party.say(lang);
            match told.iter_mut().find(|(first, _)| same_time(first, notify)) {
                Some((_, parties)) => parties.push(party),
                None => told.push((notify, vec![party])),
            }
        }
        for (notify, parties) in told {
            let parties = parties.join(", ");
            let party = capital(&parties);
            let text = match (notify.timing, notify.by, notify.days_ahead) {
                (Timing::AtOnce, ..) => said::notify_now(lang, parties),
                (_, Some(by), _) if by <= terms.at => said::notify_now(lang, parties),
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
        let text = match terms.required {
            Required::NoneFound => said::required_none(lang, titles),
            Required::Authority => said::required_authority(lang).into(),
            Required::Yes => self.owed(terms),
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
            let asked = terms.because.iter().filter_map(|because| match because {
                Because::NonWorkingHours { source, .. } => Some(source),
                _ => None,
            });
            let marks = self.marks(&asked.collect::<Vec<_>>());
            self.line(&format!("{} {marks}", said::stretches(lang)));
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

    fn owed(&self, terms: &Terms) -> String {
        let (lang, either) = (self.lang(), !terms.instead.is_empty());
        let Some(since) = terms.since else {
            let text = if either { said::required_either(lang) } else { said::required_yes(lang) };
            return text.into();
        };
        let told = match (since > terms.at, either) {
            (true, true) => said::required_either_recurs,
            (true, false) => said::required_yes_recurs,
            (false, true) => said::required_either_since,
            (false, false) => said::required_yes_since,
        };
        told(lang, self.speech.time(since))
    }

    fn why(&mut self, terms: &Terms) {
        self.heading(said::heading_why(self.lang()), !terms.because.is_empty());
        let speech = self.speech;
        self.each(terms.because.iter().map(|because| (speech.because(because), because.source())));
    }

    fn gaps(&mut self, terms: &Terms) {
        let lang = self.lang();
        self.heading(said::heading_gaps(lang), true);
        for gap in &terms.gaps {
            let text = said::gap(lang, self.speech.length(gap.gap_s), gap.zones.say(lang));
            self.item(&text, &[&gap.source]);
        }
        if terms.gaps.is_empty() {
            self.line(&self.nobodys_gap(terms));
        }
        if let Some(first) = &terms.first_round {
            self.item(&said::first_round(lang, self.speech.length(first.value)), &[&first.source]);
        }
    }

    /// Who decides where no source states a longest gap: one party that every open source names, else the authority.
    fn nobodys_gap(&self, terms: &Terms) -> String {
        let lang = self.lang();
        let open = terms.because.iter().filter_map(|because| match because {
            Because::NoNumber { demand: Demand::LongestGap, decides, .. } => Some(*decides),
            _ => None,
        });
        let mut deciders: Vec<Option<Party>> = open.collect();
        deciders.dedup();
        match deciders[..] {
            [Some(who)] if who != Party::Authority => said::no_gap_decides(lang, who.say(lang)),
            _ => said::no_gap(lang).into(),
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
        self.each(terms.need.iter().map(|need| (capital(need.need.say(lang)), &need.source)));
    }

    fn after_work(&mut self, terms: &Terms) {
        let (lang, after) = (self.lang(), &terms.after_work);
        let sources: Vec<&Citation> = after.sources.iter().collect();
        let checked: Vec<&Citation> = after.check_sources.iter().collect();
        self.heading(said::heading_after_work(lang), !sources.is_empty() || !checked.is_empty());
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
                if terms.tail_is_uncertain() && !sources.is_empty() {
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
        self.item(&text, &checked);
    }

    fn log(&mut self, terms: &Terms) {
        let lang = self.lang();
        self.heading(said::heading_write(lang), !terms.write.is_empty() || terms.on.is_some());
        self.each(terms.write.iter().map(|write| (capital(write.item.say(lang)), &write.source)));
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
            self.item(&self.speech.kept(retain), &[&retain.source]);
        }
        for other in &terms.other_records {
            self.item(&self.speech.kept(other), &[&other.source]);
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
        self.each(terms.steps.iter().map(|owed| {
            let step = owed.step.say(lang);
            let back = owed.at_restoration;
            let text = if back { said::step_restoration(lang, step) } else { capital(step) };
            (text, &owed.source)
        }));
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

/// The same source wants both told at the same time.
fn same_time(one: &Notify, other: &Notify) -> bool {
    let when = |notify: &Notify| (notify.timing, notify.by, notify.days_ahead, notify.working_days);
    when(one) == when(other) && one.source == other.source
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
