//! A plan file.

use crate::{Target, seeds};
use floorplan::{Limits, Plan, survey};
use serde_json::Value;

pub(crate) const TARGET: Target = Target {
    name: "plan",
    says: "what reads as a plan comes back from both its forms; one without a fault can be surveyed",
    reads,
    seeds: small_plans,
    longest: 16 * 1024,
};

fn reads(bytes: &[u8]) {
    let Ok(plan) = Plan::read(bytes) else { return };
    let canonical = plan.canonical();
    assert_eq!(Plan::read(&canonical).ok().as_ref(), Some(&plan), "from its one form");
    assert_eq!(Plan::read(plan.pretty().as_bytes()).ok().as_ref(), Some(&plan), "from the other");
    let _ = floorplan::export::geojson(&plan);
    if plan.check().is_empty() && is_small(&plan) {
        let _ = survey(&plan, &Limits::default(), &Default::default());
    }
}

/// Half a kilometre across: a survey looks at every square metre, and the fuzzer has many plans to try.
fn is_small(plan: &Plan) -> bool {
    let across_mm = |shape: &floorplan::Shape| {
        shape.bounds().map_or(0, |(low, high)| (high.x - low.x).max(high.y - low.y))
    };
    plan.rooms.iter().map(|room| across_mm(&room.shape)).sum::<i64>() < 500_000
}

/// The demonstration's plans as far as four of each list, and a plan of names alone.
fn small_plans() -> Vec<Vec<u8>> {
    let mut plans = vec![Plan::simple("Gannet Quay", &["Floor 1", "Roof"], 900).canonical()];
    for bytes in seeds::folder("fixtures/plans") {
        for most in [2, 4] {
            let mut plan: Value = serde_json::from_slice(&bytes).expect("the plans are JSON");
            for (_, list) in plan.as_object_mut().expect("an object").iter_mut() {
                if let Some(list) = list.as_array_mut() {
                    list.truncate(most);
                }
            }
            plans.push(plan.to_string().into_bytes());
        }
    }
    plans
}
