//! Walking times set right by the legs that bundles of earlier watches record.

use super::super::opened::Opened;
use super::places::{Places, Site};
use anyhow::{Context, bail};
use floorplan::Plan;
use floorplan::times::LEGS_MIN;
use ledger::Digest;
use planner::Demands;
use record::Entry;
use rules::walked::{Asked, Night, Walked, demands_of};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use watch::Legs;

/// What was walked, and what the times were before.
pub(super) struct Recorded {
    pub(super) walked: Walked,
    computed: Demands,
    bundles: usize,
}

/// Sets the times of the places right by what the bundles record.
pub(super) fn set_right(
    bundles: &[PathBuf],
    site: &Site,
    places: &mut Places,
) -> anyhow::Result<Recorded> {
    let read: Vec<(Legs, BTreeMap<Digest, Plan>)> =
        bundles.iter().map(|file| read(file)).collect::<anyhow::Result<_>>()?;
    let nights: Vec<Night<'_>> = read.iter().map(|(legs, plans)| Night { legs, plans }).collect();
    let stops: Vec<&str> = places.list.iter().map(|place| place.id.as_str()).collect();
    let drawn = demands_of(&site.plan);
    let computed = places.demands.clone();
    let asked =
        Asked { plan: &site.plan, stops: &stops, demands: &computed, drawn: drawn.as_ref() };
    let walked = Walked::over(asked, &nights);
    places.demands = walked.lessons.applied(&computed);
    Ok(Recorded { walked, computed, bundles: bundles.len() })
}

/// The legs of a bundle that verifies, and the plans that they were walked on.
fn read(file: &Path) -> anyhow::Result<(Legs, BTreeMap<Digest, Plan>)> {
    let opened = Opened::read(file)?;
    if !opened.verified {
        bail!(
            "{} does not verify ({}): learn from a bundle that `rattlewatch verify` accepts",
            file.display(),
            opened.faults.first().map_or("no reason given", String::as_str)
        );
    }
    let (watch, about_ms) = opened.fold();
    let mut plans = BTreeMap::new();
    for kept in watch.lines() {
        let Entry::PlanSet(set) = &kept.said else { continue };
        let Some(bytes) = opened.blobs.get(&set.plan) else { continue };
        let plan = Plan::read(bytes)
            .with_context(|| format!("the plan {} in {}", set.plan, file.display()))?;
        plans.insert(set.plan, plan);
    }
    Ok((watch.legs(&watch.about(about_ms)), plans))
}

impl Recorded {
    /// How many recordings of its own a leg rests on; none where it rests on those of all legs, or on none.
    pub(super) fn own(&self, from: usize, to: usize) -> Option<usize> {
        self.walked.lessons.pairs.get(&(from, to)).map(|learned| learned.legs)
    }

    /// Recorded against computed, over all legs and way by way.
    pub(super) fn json(&self, names: &[&str]) -> Value {
        let lessons = &self.walked.lessons;
        let share = |permille: i64| permille as f64 / 1000.0;
        let ways = lessons.counts.iter().map(|((from, to), legs)| {
            let computed_ms = self.computed.stay_ms[*from] + self.computed.walks.ms(*from, *to);
            let learned = lessons.pairs.get(&(*from, *to));
            let took_s = |permille: i64| (computed_ms * permille / 1000) as f64 / 1000.0;
            json!({
                "from": names[*from], "to": names[*to], "legs": legs,
                "computed_s": computed_ms as f64 / 1000.0,
                "tenth_s": learned.map(|learned| took_s(learned.early_permille)),
                "half_s": learned.map(|learned| took_s(learned.median_permille)),
                "nine_tenths_s": learned.map(|learned| took_s(learned.late_permille)),
            })
        });
        json!({
            "bundles": self.bundles, "legs": lessons.legs(), "legs_at_least": LEGS_MIN,
            "used": lessons.site.is_some(),
            "recorded_to_computed": lessons.site.map(|learned| json!({
                "tenth": share(learned.early_permille), "half": share(learned.median_permille),
                "nine_tenths": share(learned.late_permille),
            })),
            "left_out": {
                "no_walk": self.walked.no_walk, "other_plan": self.walked.other_plan,
                "too_quick": self.walked.too_quick,
            },
            "ways": ways.collect::<Vec<_>>(),
        })
    }
}
