//! The answer as JSON.

use super::Found;
use planner::answer::{Answer, Conflict, Kept, Way};
use rules::say::rounds::because;
use serde_json::{Value, json};
use words::Lang;

pub(super) fn answer(found: &Found<'_>) -> Value {
    let names = |stops: &[usize]| -> Vec<&str> {
        stops.iter().map(|&s| found.places.list[s].name.as_str()).collect()
    };
    match found.answer {
        Answer::Kept(kept) => plan(found, kept),
        Answer::TooFew { guards, least, core, ways } => json!({
            "kept": false, "guards_given": guards, "guards_at_least": least.guards,
            "because": because(Lang::En, &least.because), "bound_class": "any",
            "contradict": names(core),
            "ways": ways.iter().map(|w| way(found, w)).chain(with_keys(found)).collect::<Vec<_>>(),
        }),
        Answer::Contradiction(conflicts) => json!({
            "kept": false,
            "contradictions": (conflicts.iter().enumerate())
                .map(|(i, c)| conflict(found, c, found.locked.get(i))).collect::<Vec<_>>(),
            "ways": with_keys(found).collect::<Vec<_>>(),
        }),
    }
}

fn with_keys(found: &Found<'_>) -> impl Iterator<Item = Value> {
    (!found.with_keys.is_empty()).then(|| json!({ "keys": found.with_keys })).into_iter()
}

fn way(found: &Found<'_>, way: &Way) -> Value {
    match way {
        Way::Guards(n) => json!({ "guards": n }),
        Way::LongestGap { gap_ms } => json!({ "gap_s": s(*gap_ms) }),
        Way::Relax { from_ms, to_ms } => json!({ "relax_s": s(*from_ms), "to_s": s(*to_ms) }),
        Way::WithoutZone { zone } => {
            json!({ "without_zone": super::page::zones(found).get(*zone) })
        }
    }
}

fn plan(found: &Found<'_>, kept: &Kept) -> Value {
    let (plan, demands) = (&kept.plan, &found.places.demands);
    let mut routes = Vec::new();
    let mut rounds = Vec::new();
    for (t, team) in plan.teams.iter().enumerate() {
        let n = team.round.len();
        rounds.push(s(planner::share::round_length(&demands.walks, &demands.stay_ms, &team.round)));
        let gaps = plan.gaps_ms(demands, t);
        for g in 0..team.guards {
            // The guards of a team begin evenly spread, each further on along the same round.
            let first = g * n / team.guards;
            let legs: Vec<Value> = (0..n)
                .map(|i| {
                    let stop = team.round[(first + i) % n];
                    let before = team.round[(first + i + n - 1) % n];
                    let place = &found.places.list[stop];
                    let gap = gaps.iter().find(|g| g.0 == stop).map(|g| g.1);
                    json!({
                        "to": place.name, "id": place.id, "level": place.level,
                        "walk_s": s(demands.walks.ms(before, stop)), "stay_s": s(demands.stay_ms[stop]),
                        "gap_s": gap.map(s), "slack_s": gap.map(|g| s(demands.gap_ms[stop] - g)),
                        "stands": demands.standing(stop),
                        "legs_recorded": found.recorded.as_ref().and_then(|r| r.own(before, stop)),
                    })
                })
                .collect();
            routes.push(json!({ "guard": routes.len() + 1, "legs": legs }));
        }
    }
    let orders: Vec<Value> = (found.orders.iter().enumerate())
        .flat_map(|(t, orders)| orders.iter().map(move |order| (t, order)))
        .map(|(t, order)| {
            let names: Vec<&str> =
                order.round.iter().map(|&p| found.places.list[p].name.as_str()).collect();
            json!({ "round": t + 1, "extra_s": s(order.extra_ms), "stops": names })
        })
        .collect();
    let m2 = |mm2: f64| (mm2 / 1e6 * 100.0).round() / 100.0;
    json!({
        "kept": true,
        "guards": plan.guards(), "guards_at_least": kept.least.guards,
        "class": plan.class().code(), "bound_class": "any",
        "because": because(Lang::En, &kept.least.because),
        "ended": kept.ended.map(|ended| ended.code()),
        "round_s": rounds, "longest_gap_s": s(kept.longest_gap_ms),
        "seen_share": found.seen.map(|seen| (seen.share() * 1e6).floor() / 1e6),
        "unseen_m2": found.seen.map(|seen| m2(seen.unseen_mm2)),
        "unreached_m2": found.seen.map(|seen| m2(seen.unreached_mm2)),
        "floor_m2": found.seen.map(|seen| m2(seen.floor_mm2)),
        "survives_delay_s": s(kept.survives_delay_ms), "with_margin": kept.with_margin,
        "first_round_done_s": s(kept.first_round_done_ms), "first_round_due_s": s(kept.first_round_due_ms),
        "routes": routes, "alternatives": orders, "left_out": found.left_out,
        "walked": found.recorded.as_ref().map(|recorded| {
            let names: Vec<&str> = found.places.list.iter().map(|p| p.name.as_str()).collect();
            recorded.json(&names)
        }),
    })
}

fn conflict(found: &Found<'_>, conflict: &Conflict, locked: Option<&Vec<String>>) -> Value {
    let name = |stop: usize| &found.places.list[stop].name;
    match conflict {
        Conflict::NoStops => json!({ "conflict": "no-stops" }),
        Conflict::TooManyStops(n) => json!({ "conflict": "too-many-stops", "stops": n }),
        Conflict::NoGuards => json!({ "conflict": "no-guards" }),
        Conflict::LookTooLong { stop } => {
            json!({ "conflict": "look-too-long", "stop": name(*stop) })
        }
        Conflict::Unreachable { stop } => {
            json!({ "conflict": "unreachable", "stop": name(*stop), "locked": locked })
        }
        Conflict::NobodyMay { stop } => json!({ "conflict": "nobody-may", "stop": name(*stop) }),
    }
}

fn s(ms: i64) -> f64 {
    ms as f64 / 1000.0
}
