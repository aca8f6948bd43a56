//! What would make possible what is not: one guard more, a longer gap, a zone given to somebody else.

use super::core::{core, only};
use super::{Answer, Question, Way};
use crate::effort::Effort;
use crate::gaps::{Demands, GuardBound, fewest, guards_at_least, with_guards};
use crate::share::round_length;

/// Steps that may be spent on one way out.
const WAY: u64 = 20_000;
/// Zones tried at most.
const ZONES_MAX: usize = 24;

pub(super) fn too_few(
    question: &Question<'_>,
    least: GuardBound,
    effort: &mut Effort<'_>,
) -> Answer {
    let demands = question.demands;
    let guards = question.guards.unwrap_or(least.guards);
    let core = if least.guards > guards { core(demands, guards) } else { Vec::new() };
    let mut ways = Vec::new();
    let enough = effort.part(WAY, |e| fewest(demands, e));
    if let Some(enough) = enough.filter(|e| e.plan.guards() > guards) {
        ways.push(Way::Guards(enough.plan.guards()));
    }
    if question.may.is_empty() {
        ways.extend(relaxed(demands, guards, effort));
        ways.extend(without_zone(question, guards, effort));
    }
    let tour = effort.part(WAY, |e| crate::tour::tour(&demands.walks, e));
    let round = round_length(&demands.walks, &demands.stay_ms, &tour.order);
    ways.push(Way::LongestGap { gap_ms: (round + guards as i64 - 1) / guards as i64 });
    Answer::TooFew { guards, least, core, ways }
}

/// The shortest gap made as long as another of the site's, the least that helps.
fn relaxed(demands: &Demands, guards: usize, effort: &mut Effort<'_>) -> Option<Way> {
    let mut gaps = demands.gap_ms.clone();
    gaps.sort_unstable();
    gaps.dedup();
    let from_ms = *gaps.first()?;
    gaps[1..].iter().find_map(|&to_ms| {
        let gap_ms = demands.gap_ms.iter().map(|&g| g.max(to_ms)).collect();
        keeps(&Demands { gap_ms, ..demands.clone() }, guards, effort)
            .then_some(Way::Relax { from_ms, to_ms })
    })
}

/// The first zone without which the rest can be kept.
fn without_zone(question: &Question<'_>, guards: usize, effort: &mut Effort<'_>) -> Option<Way> {
    let zones: std::collections::BTreeSet<usize> = question.zones.iter().copied().collect();
    if zones.len() < 2 {
        return None;
    }
    zones.into_iter().take(ZONES_MAX).find_map(|zone| {
        let rest: Vec<usize> =
            (0..question.zones.len()).filter(|&s| question.zones[s] != zone).collect();
        keeps(&only(question.demands, &rest), guards, effort).then_some(Way::WithoutZone { zone })
    })
}

fn keeps(demands: &Demands, guards: usize, effort: &mut Effort<'_>) -> bool {
    guards_at_least(demands).guards <= guards
        && effort.part(WAY, |e| with_guards(demands, guards, e)).is_some()
}
