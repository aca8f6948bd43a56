//! Rounds drawn over the plan, level by level.

use super::Places;
use crate::sites::as_source;
use floorplan::{Pieces, Plan, Spot};
use maud::{Markup, html};
use picture::plan::Round;
use picture::{Over, plan_svg};
use words::{Lang, rounds};

/// A round with where it leads.
struct Walked<'a> {
    name: &'a str,
    places: Vec<Option<Spot>>,
    legs: Vec<Pieces>,
}

/// Every level that is drawn and on which somebody walks; nothing where the places are only a list.
pub(super) fn levels(
    lang: Lang,
    plan: &Plan,
    places: &Places,
    walks: &[(String, &[usize])],
) -> Markup {
    let spot = |stop: usize| {
        let id = places.list[stop].stop.as_str();
        let stop = plan.stops.iter().find(|stop| stop.id.as_str() == id)?;
        Some(Spot { level: stop.level.clone()?, at: stop.at? })
    };
    let walked: Vec<Walked<'_>> = walks
        .iter()
        .map(|(name, round)| {
            let places: Vec<Option<Spot>> = round.iter().map(|&stop| spot(stop)).collect();
            let legs = floorplan::walked(plan, &places);
            Walked { name, places, legs }
        })
        .collect();
    let drawn = plan.levels.iter().filter_map(|level| {
        let on = walked
            .iter()
            .map(|walk| Round::on(&level.id, walk.name.to_owned(), &walk.places, &walk.legs));
        let rounds: Vec<Round> = on.filter(|round| !round.is_empty()).collect();
        if rounds.is_empty() {
            return None;
        }
        let over = Over { rounds, lang: Some(lang), ..Over::exact() };
        Some((level, plan_svg(plan, &level.id, &over)?))
    });
    html! {
        @for (level, svg) in drawn {
            figure.plan {
                figcaption { (level.name) }
                img src=(as_source(&svg)) alt=(rounds::drawn(lang, &level.name));
            }
        }
    }
}
