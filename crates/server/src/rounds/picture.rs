//! Rounds drawn over the plan, level by level.

use super::Places;
use crate::sites::as_source;
use floorplan::{LevelId, Plan, Point, Spot};
use maud::{Markup, html};
use picture::plan::Round;
use picture::{Over, plan_svg};
use words::{Lang, rounds};

/// One round on one level: its lines, and its stops with their numbers.
type OnLevel = (Vec<Vec<Point>>, Vec<(Point, usize)>);

/// Every level that is drawn and on which somebody walks; nothing where the places are only a list.
pub(super) fn levels(
    lang: Lang,
    plan: &Plan,
    places: &Places,
    walks: &[(String, &[usize])],
) -> Markup {
    let spots: Vec<Option<Spot>> = places
        .list
        .iter()
        .map(|place| {
            let stop = plan.stops.iter().find(|stop| stop.id.as_str() == place.stop.as_str())?;
            Some(Spot { level: stop.level.clone()?, at: stop.at? })
        })
        .collect();
    let walked: Vec<_> = walks
        .iter()
        .map(|(name, round)| {
            let here: Vec<Option<Spot>> = round.iter().map(|&stop| spots[stop].clone()).collect();
            (name, floorplan::walked(plan, &here), here)
        })
        .collect();
    let on = |level: &LevelId, legs: &[floorplan::Pieces], here: &[Option<Spot>]| -> OnLevel {
        let lines = legs.iter().flatten().filter(|(of, _)| of == level);
        let stops = here.iter().enumerate().filter_map(|(i, spot)| {
            let spot = spot.as_ref().filter(|spot| spot.level == *level)?;
            Some((spot.at, i + 1))
        });
        (lines.map(|(_, line)| line.clone()).collect(), stops.collect())
    };
    let drawn = plan.levels.iter().filter_map(|level| {
        let of_level = walked.iter().map(|(name, legs, here)| {
            let (lines, stops) = on(&level.id, legs, here);
            Round { name: (*name).clone(), lines, stops }
        });
        let rounds: Vec<Round> =
            of_level.filter(|round| !round.lines.is_empty() || !round.stops.is_empty()).collect();
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
