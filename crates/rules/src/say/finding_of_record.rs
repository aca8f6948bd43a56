//! What the rules about terms, people and evidence found, in one sentence each.

use super::{Reader, Say};
use crate::findings::chain_fault::ChainFault;
use crate::findings::clock_moved::ClockMoved;
use crate::findings::content_missing::{ContentMissing, Missing};
use crate::findings::delivery_late::DeliveryLate;
use crate::findings::notice_owed::NoticeOwed;
use crate::findings::restoration_open::RestorationOpen;
use crate::findings::silent_round::SilentRound;
use crate::findings::times_by_hand::{TimesByHand, Unusual};
use crate::findings::{Finding, Verdict};
use watch::Doubt;
use words::{duration_words, findings};

impl Reader<'_> {
    pub(super) fn content_missing(&self, facts: &ContentMissing) -> String {
        let lang = self.lang;
        let who = facts.who.as_ref().map_or("?", |who| self.names.person(who));
        match facts.what {
            Missing::InstructionsRead => findings::missing_instructions(lang, who),
            Missing::Signature => findings::missing_signature(lang, who),
            Missing::Review => findings::missing_review(lang).to_owned(),
            Missing::StructureEntries => findings::missing_structures(lang).to_owned(),
        }
    }

    pub(super) fn times_by_hand(&self, facts: &TimesByHand) -> String {
        let (lang, who) = (self.lang, self.names.person(&facts.who));
        let (n, tests, alarms) = (i64::from(facts.n), facts.tests, facts.level_permille);
        let count = facts.count.unwrap_or(0);
        match facts.what {
            Unusual::LastDigits => findings::times_by_hand_last_digits(lang, alarms, n, tests, who),
            Unusual::ZeroOrFive => {
                findings::times_by_hand_zero_or_five(lang, alarms, count, n, tests, who)
            }
            Unusual::Alternating => {
                findings::times_by_hand_alternating(lang, alarms, count, n, tests, who)
            }
            Unusual::Even => {
                findings::times_by_hand_even(lang, n, facts.spread_permille.unwrap_or(0), who)
            }
        }
    }

    pub(super) fn notice_owed(&self, finding: &Finding, facts: &NoticeOwed) -> String {
        let lang = self.lang;
        let (party, system) = (facts.party.say(lang), facts.system.say(lang));
        let within = facts.within_s.map(|within_s| duration_words(i64::from(within_s)));
        match (facts.after_s, within) {
            (Some(after_s), Some(within)) if finding.verdict == Verdict::Broken => {
                findings::notice_late(lang, duration_words(after_s), party, system, within)
            }
            (Some(_), _) => findings::notice_made(lang, party, system),
            (None, Some(within)) => findings::notice_missing_within(lang, party, system, within),
            (None, None) => findings::notice_missing(lang, party, system),
        }
    }

    pub(super) fn restoration_open(&self, facts: &RestorationOpen) -> String {
        let (lang, system) = (self.lang, facts.system.say(self.lang));
        match facts.restored {
            true => findings::restoration_steps_open(lang, self.list(&facts.open), system),
            false => findings::restoration_still_out(lang, system),
        }
    }

    pub(super) fn delivery_late(&self, facts: &DeliveryLate) -> String {
        let within = duration_words(i64::from(facts.within_s));
        let after = facts.after_s.map(duration_words);
        match (after, facts.day) {
            (Some(after), None) => findings::delivery_kept(self.lang, after, within),
            (None, None) => findings::delivery_missing(self.lang, within),
            (Some(after), Some(day)) => findings::delivery_of_day(self.lang, after, day, within),
            (None, Some(day)) => findings::delivery_of_day_missing(self.lang, day, within),
        }
    }

    pub(super) fn chain_fault(&self, facts: &ChainFault) -> String {
        match (facts.forks, facts.missing, facts.counted) {
            (0, 0, counted) => findings::chain_cut(self.lang, counted.unwrap_or(0)),
            (0, missing, _) => findings::chain_missing(self.lang, missing),
            (forks, ..) => findings::chain_forked(self.lang, forks),
        }
    }

    pub(super) fn clock_moved(&self, facts: &ClockMoved) -> String {
        let (lang, looks) = (self.lang, facts.looks);
        let by = |by_ms: i64| duration_words(by_ms.abs() / 1000);
        match facts.doubt {
            Doubt::NeverMeasured => findings::clock_never_measured(lang, looks),
            Doubt::SetBack { by_ms } => findings::clock_set_back(lang, by(by_ms), looks),
            Doubt::SetForward { by_ms } => findings::clock_set_forward(lang, by(by_ms), looks),
            Doubt::OffsetMoved { by_ms } => findings::clock_offset_moved(lang, by(by_ms), looks),
            Doubt::OutsideSeal => findings::clock_outside_seal(lang, looks),
        }
    }

    pub(super) fn silent_round(&self, facts: &SilentRound) -> String {
        let who = self.names.person(&facts.who);
        match facts.looks {
            0 => findings::silent_round(self.lang, facts.round, who),
            looks => findings::silent_round_fewer(self.lang, looks, facts.round, facts.stated, who),
        }
    }
}
