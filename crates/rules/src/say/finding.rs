//! What a rule found, in one sentence, and where its demand comes from.

use super::{Reader, Say};
use crate::findings::unseen_gap::{UnseenGap, Why};
use crate::findings::zone_never_seen::ZoneNeverSeen;
use crate::findings::{Facts, Finding, Source, Verdict};
use watch::HoleWhy;
use words::{Lang, duration_words, findings, lasting};

impl Reader<'_> {
    /// What a rule found.
    pub fn finding(&self, finding: &Finding) -> String {
        let lang = self.lang;
        let (from, to) = (self.at(finding.from_ms), self.at(finding.to_ms));
        match &finding.facts {
            Facts::UnseenGap(facts) => self.unseen_gap(finding, facts),
            Facts::ZoneNeverSeen(facts) => self.zone_never_seen(finding, facts),
            Facts::CoverGap(facts) => {
                let length = lasting(facts.length_s);
                match facts.why {
                    _ if facts.clock.is_some() && finding.verdict == Verdict::Unclear => {
                        findings::cover_gap_unclear_clock(lang, from, length, to)
                    }
                    HoleWhy::NotBegun => findings::cover_gap_not_begun(lang, from, length, to),
                    HoleWhy::NoRelief => findings::cover_gap_no_relief(lang, from, length, to),
                    HoleWhy::Break => findings::cover_gap_break(lang, from, length, to),
                    HoleWhy::TooFew => findings::cover_gap_too_few(
                        lang,
                        from,
                        length,
                        facts.owed,
                        facts.people,
                        to,
                    ),
                }
            }
            Facts::FirstRoundLate(facts) => {
                let allowed = duration_words(i64::from(facts.allowed_s));
                let who = self.names.person(&facts.who);
                match (facts.why, facts.after_s) {
                    (Some(Why::NotHeard { since_ms }), _) => {
                        findings::first_round_unheard(lang, self.at(Some(since_ms)), who)
                    }
                    (Some(Why::Clock(_)), _) => findings::first_round_unclear_clock(lang, who),
                    (_, Some(after_s)) => {
                        findings::first_round_late(lang, duration_words(after_s), allowed, who)
                    }
                    (_, None) => findings::first_round_none(lang, allowed, who),
                }
            }
            Facts::ObservationOpenAtRelease(facts) => findings::observation_open_at_release(
                lang,
                facts.class.say(lang),
                duration_words(facts.open_s),
                facts.severity.say(lang),
            ),
            Facts::ObservationWithoutAction(facts) => findings::observation_without_action(
                lang,
                facts.class.say(lang),
                duration_words(facts.open_s),
                facts.severity.say(lang),
            ),
            Facts::OrderOfCalls(facts) => match (facts.called, facts.seen_to_called_s) {
                (false, _) => findings::order_of_calls_no_call(lang).to_owned(),
                _ if !facts.told_before.is_empty() => {
                    findings::order_of_calls_others_first(lang, self.list(&facts.told_before))
                }
                (true, after_s) => {
                    findings::order_of_calls_later(lang, duration_words(after_s.unwrap_or(0)))
                }
            },
            Facts::RoundsStopped(facts) if facts.open => findings::rounds_stopped_open(lang, from),
            Facts::RoundsStopped(facts) => {
                findings::rounds_stopped(lang, from, duration_words(facts.stopped_s), to)
            }
            _ => self.finding_of_record(finding),
        }
    }

    /// The rules about terms, people and evidence.
    fn finding_of_record(&self, finding: &Finding) -> String {
        let lang = self.lang;
        let (from, to) = (self.at(finding.from_ms), self.at(finding.to_ms));
        let zone = finding.zone.as_ref().map_or("?", |zone| self.names.zone(zone));
        let person = |who| self.names.person(who);
        match &finding.facts {
            Facts::ReliefMissing(facts) => {
                let length = lasting(facts.nobody_s);
                if facts.clock.is_some() {
                    let who = person(&facts.who);
                    return findings::relief_missing_unclear_clock(lang, from, length, to, who);
                }
                findings::relief_missing(lang, from, length, to, person(&facts.who))
            }
            Facts::RoundLongerThanGap(facts) => {
                let allowed = duration_words(i64::from(facts.allowed_s));
                let took = duration_words(facts.took_s);
                findings::round_longer_than_gap(
                    lang,
                    allowed,
                    facts.round,
                    took,
                    person(&facts.who),
                    zone,
                )
            }
            Facts::TailShort(facts) => {
                let owed = duration_words(i64::from(facts.owed_s));
                match (finding.verdict, facts.why) {
                    (Verdict::Kept, _) => findings::tail_kept(lang, owed),
                    (_, Some(Why::Clock(_))) => findings::tail_unclear_clock(lang, owed),
                    (_, Some(Why::NotHeard { since_ms })) => {
                        findings::tail_unheard(lang, owed, self.at(Some(since_ms)))
                    }
                    _ => findings::tail_short(lang, duration_words(facts.kept_s), owed),
                }
            }
            Facts::LookBackMissed(facts) => {
                let every = duration_words(i64::from(facts.every_s));
                let unseen = duration_words(facts.unseen_s);
                match facts.why {
                    Some(Why::Clock(_)) => {
                        findings::look_back_unclear_clock(lang, every, from, to, unseen)
                    }
                    Some(Why::NotHeard { since_ms }) => {
                        findings::look_back_unheard(lang, every, from, self.at(Some(since_ms)))
                    }
                    _ => findings::look_back_missed(lang, every, from, to, unseen),
                }
            }
            Facts::UnknownOdourClosed(facts) => {
                let open = duration_words(facts.open_s);
                match (facts.cause_found, facts.looked_again) {
                    (true, _) => findings::unknown_odour_not_seen_again(lang, open),
                    (_, true) => findings::unknown_odour_no_cause(lang, open),
                    _ => findings::unknown_odour_closed(lang, open),
                }
            }
            Facts::ReleasedByOther(facts) => match finding.verdict {
                Verdict::Kept => findings::released_kept(lang, facts.by.say(lang)),
                _ => findings::released_by_other(lang, facts.by.say(lang), self.list(&facts.may)),
            },
            Facts::OtherDuty(facts) => findings::other_duty(
                lang,
                from,
                duration_words(facts.length_s),
                to,
                person(&facts.who),
            ),
            Facts::RestorationOpen(facts) => self.restoration_open(facts),
            Facts::NoticeOwed(facts) => self.notice_owed(finding, facts),
            Facts::ContentMissing(facts) => self.content_missing(facts),
            Facts::DeliveryLate(facts) => self.delivery_late(facts),
            Facts::ChainFault(facts) => self.chain_fault(facts),
            Facts::ClockMoved(facts) => self.clock_moved(facts),
            Facts::SilentRound(facts) => self.silent_round(facts),
            Facts::WrittenBeforeEvent(facts) => {
                let before = duration_words(facts.before_s);
                match facts.proved {
                    true => findings::written_before_event_proved(lang, before),
                    false => findings::written_before_event(lang, before),
                }
            }
            Facts::WrittenLate(facts) => {
                let (after, who) = (duration_words(facts.after_s_max), person(&facts.who));
                findings::written_late(
                    lang,
                    after,
                    facts.looks,
                    facts.of,
                    facts.paper,
                    facts.phoned_in,
                    who,
                )
            }
            Facts::WrittenInBatch(facts) => {
                let (within, who) = (duration_words(facts.within_s), person(&facts.who));
                findings::written_in_batch(lang, facts.looks, facts.stops, who, within)
            }
            Facts::TimesByHand(facts) => self.times_by_hand(facts),
            Facts::TwoPlaces(facts) => {
                let (apart, other) = (duration_words(facts.apart_s), self.names.zone(&facts.other));
                findings::two_places(lang, apart, other, person(&facts.who), zone)
            }
            Facts::PaperDisagrees(facts) => {
                let phone = self.names.zone(&facts.phone);
                findings::paper_disagrees(lang, from, phone, person(&facts.who), zone)
            }
            Facts::FasterThanWalked(facts) => findings::faster_than_walked(
                lang,
                self.names.stop(&facts.to),
                facts.round,
                self.names.stop(&facts.from),
                duration_words(facts.took_s),
                duration_words(facts.walk_s),
                person(&facts.who),
            ),
            Facts::SamePhoto(facts) => findings::same_photo(lang, facts.times),
            Facts::UnseenGap(_)
            | Facts::ZoneNeverSeen(_)
            | Facts::CoverGap(_)
            | Facts::FirstRoundLate(_)
            | Facts::ObservationOpenAtRelease(_)
            | Facts::ObservationWithoutAction(_)
            | Facts::OrderOfCalls(_)
            | Facts::RoundsStopped(_) => unreachable!("said by `finding`"),
        }
    }

    fn unseen_gap(&self, finding: &Finding, facts: &UnseenGap) -> String {
        let lang = self.lang;
        let (from, to) = (self.at(finding.from_ms), self.at(finding.to_ms));
        let zone = finding.zone.as_ref().map_or("?", |zone| self.names.zone(zone));
        let allowed = duration_words(i64::from(facts.allowed_s));
        // Rounded up to minutes: what is over never reads as just allowed.
        let unseen = duration_words((facts.unseen_s + 59) / 60 * 60);
        match (finding.verdict, facts.why) {
            (Verdict::Unclear, Some(Why::Clock(_))) => {
                findings::unseen_gap_unclear_clock(lang, allowed, from, to, unseen, zone)
            }
            (Verdict::Unclear, Some(Why::WithinError { error_s })) => {
                let error = duration_words(error_s);
                findings::unseen_gap_unclear_error(lang, allowed, error, from, to, unseen, zone)
            }
            (Verdict::Unclear, Some(Why::NotHeard { since_ms })) => {
                let since = self.at(Some(since_ms));
                findings::unseen_gap_unclear_unheard(lang, allowed, from, since, zone)
            }
            (Verdict::Kept, _) => findings::unseen_gap_kept(lang, allowed, zone),
            _ if facts.open => findings::unseen_gap_open(lang, allowed, from, zone),
            _ => findings::unseen_gap_broken(lang, allowed, from, to, unseen, zone),
        }
    }

    fn zone_never_seen(&self, finding: &Finding, facts: &ZoneNeverSeen) -> String {
        let lang = self.lang;
        let (from, to) = (self.at(finding.from_ms), self.at(finding.to_ms));
        let zone = finding.zone.as_ref().map_or("?", |zone| self.names.zone(zone));
        match facts.why {
            Some(Why::NotHeard { since_ms }) => {
                findings::zone_never_seen_unheard(lang, self.at(Some(since_ms)), zone)
            }
            _ if !facts.refused.is_empty() => {
                findings::zone_never_seen_refused(lang, from, to, self.list(&facts.refused), zone)
            }
            _ => findings::zone_never_seen(lang, from, to, zone),
        }
    }

    /// Where a demand comes from.
    pub fn source(&self, source: &Source) -> String {
        let lang: Lang = self.lang;
        match source {
            Source::Demand { title, from } => format!("{title} ({})", from.say(lang)),
            Source::Terms => findings::source_terms(lang).to_owned(),
            Source::Ours => findings::source_ours(lang).to_owned(),
        }
    }

    fn at(&self, at_ms: Option<i64>) -> String {
        let Some(at_ms) = at_ms else { return "?".to_owned() };
        let clock = words::clock(at_ms, self.tz_min);
        let local = jiff::Timestamp::from_millisecond(at_ms + self.tz_min * 60_000);
        match local.map(|local| jiff::tz::Offset::UTC.to_datetime(local).date()) {
            Ok(date) if self.dated => {
                let day = words::day_and_month(self.lang, date.day() as u8, date.month() as u8);
                findings::on_day(self.lang, clock, day)
            }
            _ => clock,
        }
    }
}
