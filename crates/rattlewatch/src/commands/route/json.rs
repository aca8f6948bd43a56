//! The answer as JSON.

use super::page::said_because;
use super::places::Places;
use planner::answer::{Answer, Conflict, Kept, Way};
use serde_json::{Value, json};
use words::Lang;

pub(super) fn answer(places: &Places, answer: &Answer) -> Value {
    match answer {
        Answer::Kept(kept) => plan(places, kept),
        Answer::TooFew { guards, least, ways } => json!({
            "kept": false, "guards_given": guards, "guards_at_least": least.guards,
            "because": said_because(Lang::En, &least.because),
            "ways": ways.iter().map(|way| match way {
                Way::Guards(n) => json!({ "guards": n }),
                Way::LongestGap { gap_ms } => json!({ "gap_s": s(*gap_ms) }),
            }).collect::<Vec<_>>(),
        }),
        Answer::Contradiction(conflicts) => json!({
            "kept": false,
            "contradictions": conflicts.iter().map(|c| conflict(places, c)).collect::<Vec<_>>(),
        }),
    }
}

fn plan(places: &Places, kept: &Kept) -> Value {
    let (plan, demands) = (&kept.plan, &places.demands);
    let mut routes = Vec::new();
    let mut rounds = Vec::new();
    for team in &plan.teams {
        let n = team.round.len();
        rounds.push(s(planner::share::round_length(&demands.walks, &demands.stay_ms, &team.round)));
        for g in 0..team.guards {
            // The guards of a team begin evenly spread, each further on along the same round.
            let first = g * n / team.guards;
            let legs: Vec<Value> = (0..n)
                .map(|i| {
                    let stop = team.round[(first + i) % n];
                    let before = team.round[(first + i + n - 1) % n];
                    json!({
                        "to": places.names[stop], "level": places.levels[stop],
                        "walk_s": s(demands.walks.ms(before, stop)), "stay_s": s(demands.stay_ms[stop]),
                    })
                })
                .collect();
            routes.push(json!({ "guard": routes.len() + 1, "legs": legs }));
        }
    }
    json!({
        "guards": plan.guards(), "guards_at_least": kept.least.guards,
        "class": plan.class().code(), "bound_class": "any",
        "because": said_because(Lang::En, &kept.least.because),
        "round_s": rounds, "longest_gap_s": s(kept.longest_gap_ms),
        "seen_share": Value::Null, "unseen_m2": Value::Null,
        "survives_delay_s": s(kept.survives_delay_ms), "with_margin": kept.with_margin,
        "first_round_done_s": s(kept.first_round_done_ms), "first_round_due_s": s(kept.first_round_due_ms),
        "routes": routes,
    })
}

fn conflict(places: &Places, conflict: &Conflict) -> Value {
    match conflict {
        Conflict::NoStops => json!({ "conflict": "no-stops" }),
        Conflict::TooManyStops(n) => json!({ "conflict": "too-many-stops", "stops": n }),
        Conflict::NoGuards => json!({ "conflict": "no-guards" }),
        Conflict::LookTooLong { stop } => {
            json!({ "conflict": "look-too-long", "stop": places.names[*stop] })
        }
        Conflict::Unreachable { stop } => {
            json!({ "conflict": "unreachable", "stop": places.names[*stop] })
        }
    }
}

fn s(ms: i64) -> f64 {
    ms as f64 / 1000.0
}
