//! The answer as a page; its first three lines say what to send, when the first round is due and
//! what to tell the client.

use super::Found;
use planner::answer::{Answer, Conflict, Kept};
use planner::share::round_length;
use rules::say::rounds::{self as say, Called, time, time_up};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use words::{Lang, route as said, seconds};

pub(super) fn answer(lang: Lang, share: i64, pause: Option<i64>, found: &Found<'_>) -> String {
    let mut lines = Vec::new();
    let (stops, zones) = (stops(found), zones(found));
    let called = Called { stops: &stops, zones: &zones };
    match found.answer {
        Answer::Kept(kept) => keeps(lang, share, pause, found, kept, &mut lines),
        Answer::Contradiction(conflicts) => {
            lines.push(said::cannot(lang).to_owned());
            contradictions(lang, found, called, conflicts, &mut lines);
        }
        Answer::TooFew { guards, least, core, ways } => {
            lines.extend(say::too_few(lang, called, *guards, least, core, ways));
        }
    }
    if !found.with_keys.is_empty() {
        lines.push(said::way_door(lang, found.with_keys.join(", ")));
    }
    lines.iter().fold(String::new(), |mut page, line| {
        let _ = writeln!(page, "{line}");
        page
    })
}

fn stops<'f>(found: &'f Found<'_>) -> Vec<&'f str> {
    found.places.list.iter().map(|place| place.name.as_str()).collect()
}

/// The zones by their number in the question.
pub(super) fn zones<'f>(found: &'f Found<'_>) -> Vec<&'f str> {
    let names: BTreeSet<&str> = found.places.list.iter().map(|p| p.zone.as_str()).collect();
    names.into_iter().collect()
}

/// Each conflict in a line, but places of one level that are cut off alike in one.
fn contradictions(
    lang: Lang,
    found: &Found<'_>,
    called: Called<'_>,
    conflicts: &[Conflict],
    lines: &mut Vec<String>,
) {
    let mut cut: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (i, one) in conflicts.iter().enumerate() {
        let locked = found.locked.get(i).filter(|doors| !doors.is_empty());
        match one {
            Conflict::Unreachable { stop } if locked.is_none() => {
                cut.entry(&found.places.list[*stop].level).or_default().push(*stop);
            }
            Conflict::Unreachable { stop } => {
                let doors = locked.map(|doors| doors.join(", ")).unwrap_or_default();
                lines.push(said::unreachable_key(lang, doors, called.stops[*stop]));
            }
            one => lines.push(say::conflict(lang, called, &found.places.demands, one)),
        }
    }
    for (level, stops) in &cut {
        if let [stop] = stops[..] {
            lines.push(said::unreachable(lang, called.stops[stop]));
        } else {
            let count = stops.len() as i64;
            lines.push(said::unreachable_many(lang, level, count, called.list(lang, stops)));
        }
    }
    if !cut.is_empty() && found.site.is_some() {
        lines.push(said::reachable_only(lang).to_owned());
    }
}

fn keeps(
    lang: Lang,
    share: i64,
    pause: Option<i64>,
    found: &Found<'_>,
    kept: &Kept,
    lines: &mut Vec<String>,
) {
    let n = kept.plan.guards() as i64;
    let learned = found.recorded.as_ref().is_some_and(|r| r.walked.lessons.site.is_some());
    lines.extend(say::kept(lang, share, kept, learned));
    lines.extend(kept.ended.map(|ended| say::ended(lang, ended)));
    if let Some(seen) = &found.seen {
        let m2 = |mm2: f64| format!("{:.0}", mm2 / 1e6);
        let share = format!("{:.1}", (seen.share() * 1000.0).floor() / 10.0);
        lines.push(said::seen(lang, share, m2(seen.unreached_mm2), m2(seen.unseen_mm2)));
        if !found.sees_all && seen.unseen_mm2 - seen.unreached_mm2 > seen.floor_mm2 / 100.0 {
            lines.push(said::seen_more(lang).to_owned());
        }
    }
    if let Some(site) = found.site {
        lines.push(site.assumed(lang));
    }
    if let Some(recorded) = &found.recorded {
        lines.extend(say::walked(lang, &recorded.walked));
    }
    if !found.left_out.is_empty() {
        let names: Vec<&str> = found.left_out.iter().map(String::as_str).collect();
        lines.push(said::left_out(lang, names.len() as i64, say::listed(lang, &names)));
    }
    if let Some(pause) = pause {
        lines.push(if pause <= kept.survives_delay_ms {
            said::break_kept(lang, time(pause))
        } else {
            said::break_relief(lang, relief(n, pause), time(pause))
        });
    }
    rounds(lang, found, kept, lines);
    orders(lang, found, kept, lines);
}

/// Guards who only relieve: each covers the breaks of as many others as fit into half a shift of eight hours, so that
/// everybody has a break in its middle (common practice).
fn relief(guards: i64, pause_ms: i64) -> i64 {
    let breaks = (4 * 3_600_000 / pause_ms).max(1);
    (guards + breaks - 1) / breaks
}

/// One list for each team: its guards walk the same stops, each the spacing behind the one before.
fn rounds(lang: Lang, found: &Found<'_>, kept: &Kept, lines: &mut Vec<String>) {
    let demands = &found.places.demands;
    let mut guard = 1;
    for (t, team) in kept.plan.teams.iter().enumerate() {
        let last = guard + team.guards - 1;
        let who = if last == guard { guard.to_string() } else { format!("{guard}–{last}") };
        guard = last + 1;
        lines.push(String::new());
        if let [stop] = team.round[..]
            && demands.standing(stop)
        {
            lines.push(said::stands(lang, who, &found.places.list[stop].name));
            continue;
        }
        let round = round_length(&demands.walks, &demands.stay_ms, &team.round);
        let longest = kept.plan.gaps_ms(demands, t).iter().map(|g| g.1).max().unwrap_or(0);
        lines.push(said::guard(lang, time_up(longest), who, time_up(round)));
        if team.nested() {
            lines.push(said::nested(lang).to_owned());
        }
        let mut at = 0;
        for (i, &stop) in team.round.iter().enumerate() {
            let before = team.round[(i + team.round.len() - 1) % team.round.len()];
            let walk = if i == 0 { 0 } else { demands.walks.ms(before, stop) };
            at += walk;
            let (stay, name) = (demands.stay_ms[stop], &found.places.list[stop].name);
            let clock = format!("{:>3}:{:02}", at / 60_000, at / 1000 % 60);
            let (stay_s, walk_s) = (seconds(stay / 1000), seconds((walk + 999) / 1000));
            let own = found.recorded.as_ref().and_then(|recorded| recorded.own(before, stop));
            lines.push(match own.filter(|_| i > 0) {
                Some(legs) => said::leg_walked(lang, clock, legs as i64, stay_s, name, walk_s),
                None => said::leg(lang, clock, stay_s, name, walk_s),
            });
            at += stay;
        }
    }
}

fn orders(lang: Lang, found: &Found<'_>, kept: &Kept, lines: &mut Vec<String>) {
    let mut guard = 1;
    for (orders, team) in found.orders.iter().zip(&kept.plan.teams) {
        let last = guard + team.guards - 1;
        let who = if last == guard { guard.to_string() } else { format!("{guard}–{last}") };
        guard = last + 1;
        for order in orders {
            let stops: Vec<&str> =
                order.round.iter().map(|&s| found.places.list[s].name.as_str()).collect();
            lines.push(said::order(lang, order.extra_ms.abs() / 1000, &who, stops.join(" · ")));
        }
        if orders.is_empty() && found.wants_orders {
            lines.push(said::order_none(lang, &who));
        }
    }
}
