//! Terms in the reader's words: reasons, sources, times, and what is wrong with facts.
//!
//! The sentences are in `crates/words/lang/*/terms.words`; this file only says which belongs to what.

mod codes;

use super::Bound;
use super::because::{Because, GaveWay, TermValue};
use super::facts::fault::{Fault, Wrong};
use crate::codes::{Origin, Party, Records, System};
use crate::say::Say;
use crate::standards::{Citation, Demand};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use words::{Lang, NBSP, terms as said};

/// A language and the zone whose clock times are told by.
#[derive(Debug, Clone)]
pub struct Speech {
    /// The reader's language.
    pub lang: Lang,
    /// The zone of the site.
    pub zone: TimeZone,
}

impl Speech {
    /// An instant on the clock of the site, with its offset: `2026-03-02 04:00 -06:00`.
    pub fn time(&self, at: Timestamp) -> String {
        let local = at.to_zoned_datetime(self.zone.clone());
        let seconds = local.second() != 0;
        local
            .strftime(if seconds { "%Y-%m-%d %H:%M:%S %:z" } else { "%Y-%m-%d %H:%M %:z" })
            .to_string()
    }

    /// The time of day alone: `17:20`.
    pub fn clock(&self, at: Timestamp) -> String {
        at.to_zoned_datetime(self.zone.clone()).strftime("%H:%M").to_string()
    }

    /// A length of time, its seconds only where there are some: `4 h 0 min 1 s`.
    pub fn length(&self, seconds: i64) -> String {
        const DAY_S: i64 = 86_400;
        // As the standards count a year: never shorter than one of the calendar.
        const YEAR_S: i64 = 366 * DAY_S;
        if seconds >= YEAR_S && seconds % YEAR_S == 0 {
            return said::years(self.lang, seconds / YEAR_S);
        }
        if seconds >= 7 * DAY_S && seconds % DAY_S == 0 {
            return format!("{}{NBSP}d", seconds / DAY_S);
        }
        let parts = [(seconds / 3_600, "h"), (seconds / 60 % 60, "min"), (seconds % 60, "s")];
        let told: Vec<String> = parts
            .iter()
            .filter(|(n, _)| *n != 0)
            .map(|(n, unit)| format!("{n}{NBSP}{unit}"))
            .collect();
        if told.is_empty() { format!("0{NBSP}s") } else { told.join(&NBSP.to_string()) }
    }

    /// Where a demand stands.
    pub fn source(&self, source: &Citation) -> String {
        let known = source.known.say(self.lang);
        match source.from {
            Origin::Code if source.source.starts_with(&source.profile) => {
                said::cited(self.lang, &source.clause, known, year(source))
            }
            Origin::Code => {
                said::cited_under(self.lang, &source.clause, known, &source.profile, year(source))
            }
            Origin::House
                if source.profile == source.source
                    || source.clause.is_empty() && source.source.is_empty() =>
            {
                said::ours(self.lang).into()
            }
            from => self.order(from, source),
        }
    }

    fn order(&self, from: Origin, source: &Citation) -> String {
        let from = from.say(self.lang);
        let order = match (source.source.as_str(), source.given) {
            ("", _) => said::order_unnamed(self.lang, from),
            (by, Some(at)) => said::ordered(self.lang, self.time(at), by, from),
            (by, None) => said::order_of(self.lang, by, from),
        };
        if source.clause.is_empty() { order } else { format!("{order}, {}", source.clause) }
    }

    /// A reason as a sentence, without its source.
    pub fn because(&self, because: &Because) -> String {
        capital(&self.reason(because))
    }

    fn reason(&self, because: &Because) -> String {
        let lang = self.lang;
        match because {
            Because::OutOverLimit { system, out_s, limit_s: 0, since, .. } => {
                said::out_at_all(lang, self.length(*out_s), self.time(*since), system.say(lang))
            }
            Because::OutOverLimit { system, out_s, limit_s, window_s, since, .. } => {
                said::out_over_limit(
                    lang,
                    self.length(*limit_s),
                    self.length(*out_s),
                    self.time(*since),
                    system.say(lang),
                    self.length(*window_s),
                )
            }
            Because::OutWithinLimit { system, worst_s, limit_s, window_s, owed_from, .. } => {
                let (limit, worst) = (self.length(*limit_s), self.length(*worst_s));
                let within = said::out_within_limit(
                    lang,
                    limit,
                    system.say(lang),
                    self.length(*window_s),
                    worst,
                );
                match owed_from {
                    Some(at) => format!("{within} {}", said::owed_from(lang, self.time(*at))),
                    None => within,
                }
            }
            Because::Restored { system, since, until, .. } => {
                said::restored(lang, self.time(*since), system.say(lang), self.time(*until))
            }
            Because::ExpectedOverLimit { system, limit_s, .. } => {
                said::expected_over_limit(lang, self.length(*limit_s), system.say(lang))
            }
            Because::Calls { demand, system, .. } => {
                said::calls(lang, self.about(*demand, *system))
            }
            Because::LeftTo { demand: Demand::Outage, system: Some(system), decides, .. } => {
                said::any_outage(lang, system.say(lang), decides.say(lang))
            }
            Because::LeftTo { demand, system, decides, .. } => {
                said::left_to(lang, self.about(*demand, *system), decides.say(lang))
            }
            Because::NoRule { demand, system } => said::no_rule(lang, self.about(*demand, *system)),
            Because::DoesNotHold { demand, .. } => said::does_not_hold(lang, demand.say(lang)),
            Because::FactMissing { demand, missing, .. } => {
                said::fact_missing(lang, demand.say(lang), missing.0)
            }
            Because::NothingInForce => said::nothing_in_force(lang).into(),
            Because::NonWorkingHours { known: true, .. } => said::non_working_known(lang).into(),
            Because::NonWorkingHours { known: false, .. } => said::non_working_unknown(lang).into(),
            Because::WatchedUntil { last_spark, until, .. } => {
                said::watched_until(lang, self.time(*last_spark), self.time(*until))
            }
            Because::TailEnded { until, .. } => said::tail_ended(lang, self.time(*until)),
            Because::Surveyed { .. } => said::surveyed(lang).into(),
            Because::NoNumber { demand, decides, .. } => self.no_number(*demand, *decides),
            Because::NoGapStated => said::no_gap_stated(lang).into(),
            Because::Ordered { .. } => said::order_requires(lang).into(),
            Because::Waived { .. } => said::waived(lang).into(),
            Because::Released { at, .. } => said::released(lang, self.time(*at)),
            Because::NotInForce { .. } => said::order_not_in_force(lang).into(),
            Because::Conflict { decides, .. } => said::conflict(lang, decides.say(lang)),
        }
    }

    /// How long which records are kept.
    pub fn kept(&self, bound: &Bound) -> String {
        let (lang, time) = (self.lang, self.length(bound.value));
        match bound.records {
            None => said::retain(lang, time),
            Some(records @ Records::HotWorkPermit) => {
                said::retain_after_work(lang, records.say(lang), time)
            }
            Some(records) => said::retain_other(lang, records.say(lang), time),
        }
    }

    fn about(&self, demand: Demand, system: Option<System>) -> String {
        match system {
            Some(system) => format!("{} ({})", demand.say(self.lang), system.say(self.lang)),
            None => demand.say(self.lang).into(),
        }
    }

    fn no_number(&self, demand: Demand, decides: Option<Party>) -> String {
        match (demand, decides) {
            (Demand::LongestGap, None) => said::constant(self.lang).into(),
            (demand, Some(who)) => {
                said::no_number_decides(self.lang, demand.say(self.lang), who.say(self.lang))
            }
            (demand, None) => said::no_number(self.lang, demand.say(self.lang)),
        }
    }

    /// What gave way and why, without its source.
    pub fn gave_way(&self, gave_way: &GaveWay) -> String {
        let value = match gave_way.value {
            TermValue::Seconds(seconds) => self.length(seconds),
            TermValue::People(people) => people.to_string(),
            TermValue::At(at) => self.time(at),
            TermValue::Flag(true) => said::flag_yes(self.lang).into(),
            TermValue::Flag(false) => said::flag_no(self.lang).into(),
        };
        said::gave_way(self.lang, gave_way.term.say(self.lang), value, gave_way.to.say(self.lang))
    }

    /// A fault of a FACTS file, with the line that would be accepted.
    pub fn fault(&self, fault: &Fault) -> String {
        let (lang, key) = (self.lang, &fault.key);
        let wrong = match &fault.wrong {
            Wrong::NotToml(says) => said::fault_not_toml(lang, says.trim_end()),
            Wrong::Missing => said::fault_missing(lang, key),
            Wrong::UnknownKey { nearest } => said::fault_unknown_key(lang, key, nearest),
            Wrong::UnknownValue { given, nearest } => {
                said::fault_unknown_value(lang, given, key, nearest)
            }
            Wrong::NotA { kind, given } => said::fault_not_a(lang, given, key, kind.say(lang)),
            Wrong::TooSmall { given, least } => said::fault_too_small(lang, given, key, least),
            Wrong::TooLarge { given } => said::fault_too_large(lang, given, key),
            Wrong::NoSuchLocalTime { given, .. } => said::fault_no_such_time(lang, given, key),
            Wrong::EndsBeforeItBegins { begins, .. } => said::fault_ends_before(lang, begins, key),
            Wrong::Contradicts { other } => said::fault_contradicts(lang, key, other),
        };
        // The reader of TOML draws where it stopped, over several lines.
        let joint = if wrong.contains('\n') { '\n' } else { ' ' };
        format!("{wrong}{joint}{}", said::fault_example(lang, fault.example.trim_end()))
    }
}

/// A sentence begins with a capital.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The document, with its year where the title does not tell one.
fn year(source: &Citation) -> String {
    match source.year {
        Some(year)
            if !source.profile.contains(&year.to_string())
                && !source.source.contains(&year.to_string()) =>
        {
            format!("{} ({year})", source.source)
        }
        _ => source.source.clone(),
    }
}
