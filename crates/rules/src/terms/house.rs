//! Terms for a watch opened from a phone call, before anybody has looked at a code.

use super::facts::Order;
use super::{Bound, Gap, Required, Terms};
use crate::codes::ZoneKind;
use crate::standards::Citation;
use jiff::Timestamp;

/// Our own defaults, marked as ours wherever they are shown. Not a rule of any code.
pub mod ours {
    /// Longest gap where the caller states none: the shortest interval that the sources read so far state.
    pub const GAP_S: i64 = 15 * 60;
    /// First round at the latest so long after the start.
    pub const FIRST_ROUND_S: i64 = 15 * 60;
    /// The record is kept ten years of 366 days: longer than every retention that the sources state.
    pub const RETAIN_S: i64 = 10 * 366 * 86_400;
}

impl Terms {
    /// Terms with the gap that the order states, else our own default; the rest is ours and says so.
    ///
    /// `order` is what the caller states: whose word it is, by whom, when, and what it sets. Nothing here says whether a
    /// code demands a watch: the answer stays *authority* until [`Terms::of`] is asked with facts.
    pub fn house_default(at: Timestamp, zone: &str, order: Option<&Order>) -> Self {
        let mut terms = Self::blank(at, zone);
        terms.required = Required::Authority;
        let ours = Citation::ours;
        let stated = |value: Option<i64>, default: i64| match (order, value) {
            (Some(order), Some(value)) => Bound { value, source: Citation::order(order) },
            _ => Bound { value: default, source: ours() },
        };
        let gap = stated(order.and_then(|order| order.gap_s), ours::GAP_S);
        let zones = order.map_or(ZoneKind::All, |order| order.zone_kind);
        terms.gaps.push(Gap { zones, gap_s: gap.value, source: gap.source });
        if zones != ZoneKind::All {
            terms.gaps.push(Gap { zones: ZoneKind::All, gap_s: ours::GAP_S, source: ours() });
        }
        terms.first_round =
            Some(stated(order.and_then(|order| order.first_round_s), ours::FIRST_ROUND_S));
        terms.retain = Some(stated(order.and_then(|order| order.retain_s), ours::RETAIN_S));
        terms.people = Some(stated(order.and_then(|order| order.people_at_least), 1));
        terms.since = order.and_then(|order| order.at);
        terms.until = order.and_then(|order| order.until);
        terms.tidy();
        terms
    }
}

impl Order {
    /// An order that sets nothing but a longest gap: what a caller states on the phone.
    pub fn stating_gap(
        from: crate::codes::Origin,
        by: Option<String>,
        at: Option<Timestamp>,
        gap_s: Option<i64>,
    ) -> Self {
        Self { by, at, gap_s, ..Self::blank(from) }
    }

    /// An order that sets nothing.
    pub fn blank(from: crate::codes::Origin) -> Self {
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
