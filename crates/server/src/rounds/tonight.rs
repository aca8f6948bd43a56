//! The night as the record knows it: who is on duty, which round they walk, where they were seen last.

use super::Places;
use crate::one_watch::Seen;
use ledger::PersonId;
use planner::gaps::Team;

/// One guard on duty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct OnDuty {
    pub(crate) who: PersonId,
    /// The stops of their round by number, less those that the plan no longer has.
    pub(crate) round: Vec<usize>,
    /// Where they were recorded last.
    pub(crate) last: Option<usize>,
}

/// Guards and looks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Tonight {
    pub(crate) guards: Vec<OnDuty>,
    /// How long ago each stop was seen; since the watch began, where it was not.
    pub(crate) seen_ago_ms: Vec<i64>,
}

impl Tonight {
    /// Reads it from the fold.
    pub(crate) fn of(seen: &Seen, places: &Places, now_ms: i64) -> Tonight {
        let state = &seen.state;
        let mut seen_ms = vec![seen.live.standing.from_ms.min(now_ms); places.list.len()];
        let mut last: Vec<(&PersonId, usize, i64)> = Vec::new();
        for look in state.zones.iter().flat_map(|zone| &zone.looks) {
            let Some(stop) = look.stop.as_ref().and_then(|stop| places.number(stop.as_str()))
            else {
                continue;
            };
            let at_ms = look.written.when.at_ms.min(now_ms);
            seen_ms[stop] = seen_ms[stop].max(at_ms);
            last.push((&look.written.who, stop, at_ms));
        }
        let place_of = |who: &PersonId| {
            let own = last.iter().filter(|(by, ..)| *by == who);
            own.max_by_key(|(_, _, at_ms)| *at_ms).map(|(_, stop, _)| *stop)
        };
        let guards = state.on_duty.iter().map(|duty| OnDuty {
            who: duty.who.clone(),
            round: round_of(seen, places, &duty.who),
            last: place_of(&duty.who),
        });
        let seen_ago_ms = seen_ms.iter().map(|at_ms| now_ms - at_ms).collect();
        Tonight { guards: guards.collect(), seen_ago_ms }
    }

    /// The rounds walked so far, a team of one for each guard.
    pub(crate) fn plan(&self) -> planner::Plan {
        let team = |guard: &OnDuty| Team { guards: 1, round: guard.round.clone() };
        planner::Plan { teams: self.guards.iter().map(team).collect() }
    }
}

/// The stops of the round that somebody walks, by number; all of them where no round was given.
pub(super) fn round_of(seen: &Seen, places: &Places, who: &PersonId) -> Vec<usize> {
    let route = seen.state.route_of(Some(who)).map(|route| &route.set);
    match route.filter(|route| !route.stops.is_empty()) {
        Some(route) => route.stops.iter().filter_map(|stop| places.number(stop.as_str())).collect(),
        None => (0..places.list.len()).collect(),
    }
}
