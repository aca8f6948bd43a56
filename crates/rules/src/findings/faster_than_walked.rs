//! # What it finds
//! Two stops of a round recorded closer in time than anybody walks between them.
//! # Why
//! Tags scanned from a chair, or a look pressed in passing.
//! # Demand
//! The walking times of the route in force, as the planner computed them.
//! # Innocent explanation
//! A shorter way than the planner knew, a lift, or a second person reading tags.

use super::{Facts, Finding, Judging, Source, Verdict, limits};
use ledger::PersonId;
use record::StopId;
use serde::Serialize;
use watch::SeenStop;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FasterThanWalked {
    /// Whose round.
    pub who: PersonId,
    /// Its number.
    pub round: u32,
    /// Legs that were too fast.
    pub legs: u32,
    /// The fastest of them: from.
    pub from: StopId,
    /// To.
    pub to: StopId,
    /// In how long, s.
    pub took_s: i64,
    /// How long the walk takes by the route, s.
    pub walk_s: i64,
}

pub(crate) fn faster_than_walked(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for round in &judging.state.rounds {
        let too_fast: Vec<(&SeenStop, &SeenStop, i64)> = round
            .seen
            .windows(2)
            .filter_map(|pair| {
                Some((
                    &pair[0],
                    &pair[1],
                    walk_s(judging, &round.who, &pair[0].stop, &pair[1].stop)?,
                ))
            })
            .filter(|(a, b, walk_s)| limits::faster_than_anybody(*walk_s, b.at_ms - a.at_ms))
            .collect();
        let least =
            |(a, b, walk_s): &&(&SeenStop, &SeenStop, i64)| (b.at_ms - a.at_ms) - walk_s * 1000;
        let Some((from, to, walk_s)) = too_fast.iter().min_by_key(least) else { continue };
        let facts = FasterThanWalked {
            who: round.who.clone(),
            round: round.number,
            legs: too_fast.len() as u32,
            from: from.stop.clone(),
            to: to.stop.clone(),
            took_s: (to.at_ms - from.at_ms) / 1000,
            walk_s: *walk_s,
        };
        let mut finding = Finding::new(Verdict::Look, Facts::FasterThanWalked(facts), Source::Ours)
            .in_zone(&to.zone)
            .between(from.at_ms, to.at_ms);
        finding.lines = too_fast.iter().flat_map(|(a, b, _)| [a.line, b.line]).collect();
        finding.lines.dedup();
        findings.push(finding);
    }
}

/// The walk between two stops along the route in force, in either direction and round its end; where a stop comes more
/// than once in the round, from wherever is nearest.
pub(super) fn walk_s(
    judging: &Judging<'_>,
    who: &PersonId,
    from: &StopId,
    to: &StopId,
) -> Option<i64> {
    let route = judging.state.route_of(Some(who))?;
    let (stops, legs_s) = (&route.set.stops, &route.set.legs_s);
    if legs_s.len() != stops.len() {
        return None;
    }
    // How far along the round each of its places is, counted from the last of them.
    let far: Vec<i64> = legs_s
        .iter()
        .scan(0, |far, leg_s| {
            *far += i64::from(*leg_s);
            Some(*far)
        })
        .collect();
    let whole: i64 = legs_s.iter().map(|leg_s| i64::from(*leg_s)).sum();
    let places = |stop: &StopId| -> Vec<i64> {
        stops.iter().zip(&far).filter(|(known, _)| *known == stop).map(|(_, far)| *far).collect()
    };
    let ends = places(to);
    let walks = places(from).into_iter().flat_map(|a| ends.iter().map(move |b| (a - b).abs()));
    walks.map(|along| along.min(whole - along)).min()
}
