//! Terms for a watch opened from a phone call, before anybody has looked at a code.

use super::facts::Order;
use super::{Bound, Gap, Required, Terms};
use crate::codes::{Origin, ZoneKind};
use crate::standards::{Citation, Demand, Standards};
use jiff::Timestamp;

/// The folder of `standards/` with our own defaults, marked as ours wherever they are shown.
const OURS: &str = "our-defaults";

impl Terms {
    /// Terms with what the order states, else our own defaults; the rest is ours and says so.
    ///
    /// `order` is what the caller states: whose word it is, by whom, when, and what it sets. Nothing here says whether a
    /// code demands a watch: the answer stays *authority* until [`Terms::of`] is asked with facts.
    pub fn house_default(
        standards: &Standards,
        at: Timestamp,
        zone: &str,
        order: Option<&Order>,
    ) -> Self {
        let mut terms = Self::blank(at, zone);
        terms.required = Required::Authority;
        let stated = |demand: Demand, of: fn(&Order) -> Option<i64>| match order
            .and_then(|order| Some((order, of(order)?)))
        {
            Some((order, value)) => Some(Bound::new(value, Citation::order(order))),
            None => ours(standards, demand),
        };
        let zones = order.map_or(ZoneKind::All, |order| order.zone_kind);
        if let Some(gap) = stated(Demand::LongestGap, |order| order.gap_s) {
            terms.gaps.push(Gap { zones, gap_s: gap.value, source: gap.source });
        }
        // A gap for some zones leaves the others without one.
        if zones != ZoneKind::All
            && let Some(gap) = ours(standards, Demand::LongestGap)
        {
            terms.gaps.push(Gap { zones: ZoneKind::All, gap_s: gap.value, source: gap.source });
        }
        terms.first_round = stated(Demand::FirstRound, |order| order.first_round_s);
        terms.people = stated(Demand::People, |order| order.people_at_least);
        terms.retain = stated(Demand::Retention, |order| order.retain_s);
        terms.since = order.and_then(|order| order.at);
        terms.until = order.and_then(|order| order.until);
        terms.tidy();
        terms
    }
}

fn ours(standards: &Standards, demand: Demand) -> Option<Bound> {
    let file =
        standards.files().iter().find(|file| file.folder == OURS && file.demand == demand)?;
    let value = file.value.first()?;
    let number = value.at_most.or(value.at_least)?;
    let seconds = file.unit.and_then(crate::standards::Unit::seconds);
    let number = seconds.map_or(number, |seconds| number.saturating_mul(seconds));
    Some(Bound::new(number, file.citation(value)))
}

impl Order {
    /// What a caller states on the phone: a longest gap and nothing else.
    pub fn stating_gap(
        from: Origin,
        by: Option<String>,
        at: Option<Timestamp>,
        gap_s: Option<i64>,
    ) -> Self {
        Self { by, at, gap_s, ..Self::blank(from) }
    }

    /// An order that sets nothing.
    pub fn blank(from: Origin) -> Self {
        Self {
            from,
            by: None,
            at: None,
            until: None,
            reference: None,
            watch: None,
            released: None,
            zone_kind: ZoneKind::All,
            gap_s: None,
            first_round_s: None,
            people_at_least: None,
            other_duties: None,
            watch_until: None,
            checks_every_s: None,
            checks_until: None,
            notify: Vec::new(),
            write: Vec::new(),
            on: None,
            deliver: None,
            retain_s: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const AT: Timestamp = Timestamp::UNIX_EPOCH;

    #[test]
    fn the_callers_gap_keeps_its_source() {
        let order =
            Order::stating_gap(Origin::Client, Some("R. Ortega".into()), Some(AT), Some(1_800));
        let terms =
            Terms::house_default(Standards::embedded(), AT, "America/New_York", Some(&order));
        let gap = terms.longest_gap(ZoneKind::Sleeping).expect("a gap for every zone");
        assert_eq!(
            (gap.gap_s, gap.source.from, gap.source.source.as_str()),
            (1_800, Origin::Client, "R. Ortega")
        );
        assert_eq!(terms.retain.map(|retain| retain.source.from), Some(Origin::House));
        assert_eq!(terms.required, Required::Authority);
    }

    #[test]
    fn without_a_word_from_anybody_the_gap_is_ours_and_says_so() {
        let terms = Terms::house_default(Standards::embedded(), AT, "America/New_York", None);
        let gap = terms.longest_gap(ZoneKind::All).expect("a gap for every zone");
        assert_eq!((gap.gap_s, gap.source.from), (900, Origin::House));
        assert_eq!(gap.source.source, "our own default");
    }
}
