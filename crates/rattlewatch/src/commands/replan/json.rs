//! The change as JSON.

use super::night::{Doing, GoingOn, Night};
use planner::check::Broken;
use serde_json::{Value, json};

pub(super) fn answer(night: &Night, going_on: &GoingOn) -> Value {
    let (stops, demands) = (&night.rounds.stops, &night.rounds.demands);
    let change = &going_on.change;
    let late: Vec<Value> = (change.late.iter())
        .filter_map(|broken| match broken {
            Broken::Unseen { stop, from_ms, lasts_ms } => Some(json!({
                "stop": stops[*stop].name, "id": stops[*stop].id, "unseen_s": s(*lasts_ms),
                "gap_s": s(demands.gap_ms[*stop]), "until_s": s(from_ms + lasts_ms),
            })),
            _ => None,
        })
        .collect();
    let guards: Vec<Value> = (0..night.at.len())
        .map(|guard| {
            let mut before = night.at[guard].map_or(0, |at| at.stop);
            let legs = change.looks[guard].iter().take(change.rounds[guard].len()).map(|look| {
                let stop = look.stop;
                let walk = demands.walks.ms(std::mem::replace(&mut before, stop), stop);
                json!({
                    "to": stops[stop].name, "id": stops[stop].id, "level": stops[stop].level,
                    "walk_s": s(walk), "stay_s": s(demands.stay_ms[stop]), "end_s": s(look.end_ms),
                })
            });
            let legs: Vec<Value> = legs.collect();
            let state = match night.doing(going_on, guard) {
                Doing::Gone => "gone",
                Doing::Stands => "stands",
                Doing::AsBefore => "as-before",
                Doing::Changed => "changed",
            };
            json!({ "guard": guard + 1, "does": state, "legs": legs })
        })
        .collect();
    let moved: Vec<&str> = change.moved.iter().map(|&s| stops[s].name.as_str()).collect();
    json!({ "kept": change.late.is_empty(), "late": late, "moved": moved, "guards": guards })
}

fn s(ms: i64) -> f64 {
    ms as f64 / 1000.0
}
