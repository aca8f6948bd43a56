//! The answer as a page; its first three lines say what to send, when the first round is due and
//! what to tell the client.

use super::Found;
use planner::answer::{Answer, Conflict, Kept, MOST_STOPS, Way};
use planner::gaps::{Class, Reason};
use planner::share::round_length;
use std::fmt::Write as _;
use words::{Lang, duration_words, route as said, seconds};

/// Names written out in one line; the rest are counted.
const NAMES_MAX: usize = 8;

pub(super) fn answer(lang: Lang, share: i64, pause: Option<i64>, found: &Found<'_>) -> String {
    let mut lines = Vec::new();
    match found.answer {
        Answer::Kept(kept) => keeps(lang, share, pause, found, kept, &mut lines),
        Answer::Contradiction(conflicts) => {
            lines.push(said::cannot(lang).to_owned());
            contradictions(lang, found, conflicts, &mut lines);
        }
        Answer::TooFew { guards, least, core, ways } => {
            let n = *guards as i64;
            lines.push(if least.guards > *guards {
                said::too_few_proved(lang, said_because(lang, &least.because), least.guards, n)
            } else {
                said::too_few_open(lang, least.guards, n)
            });
            if !core.is_empty() {
                lines.push(said::core(lang, core.len() as i64, names(lang, found, core)));
            }
            lines.extend(ways.iter().map(|w| way(lang, found, w)));
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

/// Each conflict in a line, but places of one level that are cut off alike in one.
fn contradictions(lang: Lang, found: &Found<'_>, conflicts: &[Conflict], lines: &mut Vec<String>) {
    let mut cut: std::collections::BTreeMap<&str, Vec<usize>> = std::collections::BTreeMap::new();
    for (i, one) in conflicts.iter().enumerate() {
        let locked = found.locked.get(i).filter(|doors| !doors.is_empty());
        match one {
            Conflict::Unreachable { stop } if locked.is_none() => {
                cut.entry(&found.places.list[*stop].level).or_default().push(*stop);
            }
            one => lines.push(conflict(lang, found, one, locked)),
        }
    }
    for (level, stops) in &cut {
        if let [stop] = stops[..] {
            lines.push(said::unreachable(lang, &found.places.list[stop].name));
        } else {
            let count = stops.len() as i64;
            lines.push(said::unreachable_many(lang, level, count, names(lang, found, stops)));
        }
    }
    if !cut.is_empty() && found.site.is_some() {
        lines.push(said::reachable_only(lang).to_owned());
    }
}

fn way(lang: Lang, found: &Found<'_>, way: &Way) -> String {
    match way {
        Way::Guards(n) => said::way_guards(lang, *n as i64),
        Way::LongestGap { gap_ms } => said::way_gap(lang, time_up(*gap_ms)),
        Way::Relax { from_ms, to_ms } => said::way_relax(lang, time(*from_ms), time(*to_ms)),
        Way::WithoutZone { zone: number } => said::way_zone(lang, zone(found, *number)),
    }
}

/// The name of a zone by its number in the question.
pub(super) fn zone(found: &Found<'_>, number: usize) -> String {
    let names: std::collections::BTreeSet<&str> =
        found.places.list.iter().map(|p| p.zone.as_str()).collect();
    names.into_iter().nth(number).unwrap_or_default().to_owned()
}

fn names(lang: Lang, found: &Found<'_>, stops: &[usize]) -> String {
    let named: Vec<&str> =
        stops.iter().take(NAMES_MAX).map(|&s| found.places.list[s].name.as_str()).collect();
    let named = named.join(", ");
    if stops.len() > NAMES_MAX {
        said::core_more(lang, stops.len() - NAMES_MAX, named)
    } else {
        named
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
    let because = said_because(lang, &kept.least.because);
    lines.push(if kept.with_margin {
        said::send(lang, &because, kept.least.guards, n, share)
    } else {
        said::send_bare(lang, &because, kept.least.guards, n, 100 - share)
    });
    let (done, due) = (time_up(kept.first_round_done_ms), time(kept.first_round_due_ms));
    lines.push(if kept.first_round_done_ms <= kept.first_round_due_ms {
        said::first_due(lang, done, due)
    } else {
        said::first_late(lang, done, due)
    });
    lines.push(said::tell(lang, time(kept.survives_delay_ms), time_up(kept.longest_gap_ms)));
    lines.push(if kept.least.guards == kept.plan.guards() {
        said::fewer_proved(lang, n)
    } else {
        said::fewer_open(lang, n)
    });
    lines.push(
        match kept.plan.class() {
            Class::OwnRounds => said::kind_own_rounds(lang),
            Class::NestedRounds => said::kind_nested_rounds(lang),
            Class::OneRoundSpaced => said::kind_one_round_spaced(lang),
            Class::Teams => said::kind_teams(lang),
        }
        .to_owned(),
    );
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
    if !found.left_out.is_empty() {
        let shown = found.left_out.iter().take(NAMES_MAX).cloned().collect::<Vec<_>>().join(", ");
        let more = found.left_out.len().saturating_sub(NAMES_MAX);
        let shown = if more > 0 { said::core_more(lang, more, shown) } else { shown };
        lines.push(said::left_out(lang, found.left_out.len() as i64, shown));
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
            lines.push(said::leg(
                lang,
                clock,
                seconds(stay / 1000),
                name,
                seconds((walk + 999) / 1000),
            ));
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

pub(super) fn said_because(lang: Lang, reason: &Reason) -> String {
    match reason {
        Reason::Anybody => said::because_anybody(lang).to_owned(),
        Reason::Load => said::because_load(lang).to_owned(),
        Reason::Walk { window_ms, needed_ms, .. } => {
            said::because_walk(lang, time(*needed_ms), time(*window_ms))
        }
        Reason::Clique { stops } => said::because_clique(lang, stops.len() as i64),
    }
}

fn conflict(
    lang: Lang,
    found: &Found<'_>,
    conflict: &Conflict,
    locked: Option<&Vec<String>>,
) -> String {
    let name = |stop: usize| &found.places.list[stop].name;
    match conflict {
        Conflict::NoStops => said::no_stops(lang).to_owned(),
        Conflict::TooManyStops(count) => said::too_many_stops(lang, count, MOST_STOPS),
        Conflict::NoGuards => said::no_guards(lang).to_owned(),
        Conflict::LookTooLong { stop } => {
            let demands = &found.places.demands;
            let (gap, stay) = (time(demands.gap_ms[*stop]), time(demands.stay_ms[*stop]));
            said::look_too_long(lang, gap, stay, name(*stop))
        }
        Conflict::Unreachable { stop } => match locked.filter(|doors| !doors.is_empty()) {
            Some(doors) => said::unreachable_key(lang, doors.join(", "), name(*stop)),
            None => said::unreachable(lang, name(*stop)),
        },
        Conflict::NobodyMay { stop } => said::nobody_may(lang, name(*stop)),
    }
}

fn time(ms: i64) -> String {
    duration_words(ms / 1000)
}

/// Rounded up, so that no promise is shorter than the truth.
fn time_up(ms: i64) -> String {
    let unit = if ms <= 59_000 { 1000 } else { 60_000 };
    duration_words((ms + unit - 1) / unit * unit / 1000)
}
