//! What may also be behind a finding: no rule knows why something happened.

use super::Reader;
use crate::findings::{Facts, Finding, Verdict};
use words::innocent;

impl Reader<'_> {
    /// The innocent explanation of a finding, as one sentence; none for what was kept.
    pub fn innocent(&self, finding: &Finding) -> Option<String> {
        let lang = self.lang;
        let of_rule = match &finding.facts {
            Facts::UnseenGap(_) => innocent::unseen_gap(lang),
            Facts::ZoneNeverSeen(_) => innocent::zone_never_seen(lang),
            Facts::CoverGap(_) => innocent::cover_gap(lang),
            Facts::ReliefMissing(_) => innocent::relief_missing(lang),
            Facts::FirstRoundLate(_) => innocent::first_round_late(lang),
            Facts::RoundLongerThanGap(_) => innocent::round_longer_than_gap(lang),
            Facts::TailShort(_) => innocent::tail_short(lang),
            Facts::LookBackMissed(_) => innocent::look_back_missed(lang),
            Facts::UnknownOdourClosed(_) => innocent::unknown_odour_closed(lang),
            Facts::ObservationOpenAtRelease(_) => innocent::observation_open_at_release(lang),
            Facts::ObservationWithoutAction(_) => innocent::observation_without_action(lang),
            Facts::ReleasedByOther(_) => innocent::released_by_other(lang),
            Facts::RestorationOpen(_) => innocent::restoration_open(lang),
            Facts::NoticeOwed(_) => innocent::notice_owed(lang),
            Facts::OtherDuty(_) => innocent::other_duty(lang),
            Facts::ContentMissing(_) => innocent::content_missing(lang),
            Facts::DeliveryLate(_) => innocent::delivery_late(lang),
            Facts::ChainFault(_) => innocent::chain_fault(lang),
            Facts::ClockMoved(_) => innocent::clock_moved(lang),
            Facts::WrittenBeforeEvent(_) => innocent::written_before_event(lang),
            Facts::TwoPlaces(_) => innocent::two_places(lang),
            Facts::PaperDisagrees(_) => innocent::paper_disagrees(lang),
            Facts::OrderOfCalls(_) => innocent::order_of_calls(lang),
            Facts::RoundsStopped(_) => innocent::rounds_stopped(lang),
            Facts::FasterThanWalked(_) => innocent::faster_than_walked(lang),
            Facts::SilentRound(_) => innocent::silent_round(lang),
            Facts::SamePhoto(_) => innocent::same_photo(lang),
            Facts::WrittenLate(_) => innocent::written_late(lang),
            Facts::WrittenInBatch(_) => innocent::written_in_batch(lang),
            Facts::TimesByHand(_) => innocent::times_by_hand(lang),
        };
        (finding.verdict != Verdict::Kept).then(|| innocent::intro(lang, of_rule))
    }
}
