//! Walking times set right by the legs that were recorded at the same site, on this watch and on those before it.

use super::Places;
use crate::one_watch::Seen;
use crate::problem::Problem;
use crate::server::App;
use crate::shelf;
use floorplan::Plan;
use floorplan::times::LEGS_MIN;
use ledger::{Digest, WatchId};
use planner::Walks;
use rules::say::rounds::percent;
use rules::walked::{Asked, Night, Walked};
use std::collections::BTreeMap;
use watch::{Legs, Watch};
use words::{Lang, rounds};

/// So many of the newest watches of a site are asked, so that a page is soon there (our own default).
const WATCHES_MAX: usize = 20;

/// A watch at the site, with the plan that it holds now.
pub(super) struct Here {
    watch: Watch,
    plan: Plan,
}

/// The newest watches at the site of a watch, its own among them, that have a plan.
pub(super) async fn here(app: &App, seen: &Seen) -> Result<Vec<Here>, Problem> {
    let Some(site) = seen.live.site.as_ref() else { return Ok(Vec::new()) };
    let mut ids: Vec<(i64, WatchId)> = {
        let book = app.book();
        let at_site = book.watches().filter(|(_, live)| live.site.as_ref() == Some(site));
        at_site.map(|(id, live)| (live.standing.from_ms, id.clone())).collect()
    };
    ids.sort_by(|a, b| b.cmp(a));
    let mut here = Vec::new();
    for (_, id) in ids {
        let live = shelf::read(app, &id).await?;
        here.extend(live.fold.zip(live.documents.plan).map(|(watch, plan)| Here { watch, plan }));
        if here.len() == WATCHES_MAX {
            break;
        }
    }
    Ok(here)
}

/// What the legs recorded there say about the places of a plan. Of a watch whose plan was changed only those count that
/// were walked on the newest.
pub(super) fn walked(plan: &Plan, places: &Places, here: &[Here], now_ms: i64) -> Walked {
    let read: Vec<(Legs, BTreeMap<Digest, Plan>)> = here
        .iter()
        .map(|Here { watch, plan }| {
            let state = watch.about(now_ms);
            let newest = state.plan.as_ref().map(|set| (set.set.plan, plan.clone()));
            (watch.legs(&state), newest.into_iter().collect())
        })
        .collect();
    let nights: Vec<Night<'_>> = read.iter().map(|(legs, plans)| Night { legs, plans }).collect();
    let stops: Vec<&str> = places.list.iter().map(|place| place.stop.as_str()).collect();
    let drawn = places.measured.then_some(&places.demands);
    Walked::over(Asked { plan, stops: &stops, demands: &places.demands, drawn }, &nights)
}

impl Places {
    /// The places with the times that recorded legs give them.
    pub(super) fn set_right(self, walked: Walked) -> Places {
        let computed: Walks = self.demands.walks.clone();
        let demands = walked.lessons.applied(&self.demands);
        Places { demands, computed, walked, ..self }
    }

    /// Whether recorded legs set the times right.
    pub(super) fn is_timed(&self) -> bool {
        self.walked.lessons.site.is_some()
    }

    /// What the times rest on, in words.
    pub(super) fn rest_on(&self, lang: Lang) -> [String; 2] {
        let drawn = if self.measured { rounds::measured(lang) } else { rounds::estimated(lang) };
        let timed = match self.walked.lessons.site {
            Some(learned) => rounds::walked(
                lang,
                percent(learned.late_permille),
                LEGS_MIN,
                percent(learned.median_permille),
                learned.legs as i64,
            ),
            None => rounds::untimed(lang, self.walked.lessons.legs(), LEGS_MIN),
        };
        [drawn.to_owned(), timed]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use planner::learned::{Leg, Lessons};

    fn places() -> Places {
        let plan = Plan::simple("Gannet Hotel", &["Cellar", "Ground", "Attic"], 1800);
        Places::of(&plan, &BTreeMap::new()).unwrap()
    }

    /// A guard must not be held against a time that holds others' looks and talks.
    #[test]
    fn what_is_planned_with_is_learned_and_what_guards_are_held_against_is_computed() {
        let drawn = Places { measured: true, ..places() };
        let legs: Vec<Leg> = (0..8).map(|_| Leg { from: 0, to: 1, took_ms: 300_000 }).collect();
        let lessons = Lessons::of(&drawn.demands, &legs);
        let learned = drawn.clone().set_right(Walked { lessons, ..Walked::default() });
        // Shares are kept in thousandths.
        let right = |ms: &i64| (ms - 210_000).abs() < 100;
        let legs_ms = learned.legs_ms(&[0, 1]);
        assert!(legs_ms.iter().all(right), "300 s less 90 s of looking: {legs_ms:?}");
        assert_eq!(learned.legs_s(&[0, 1]), drawn.legs_s(&[0, 1]));
        assert!(learned.is_timed());
    }

    #[test]
    fn few_legs_change_nothing_and_are_said() {
        let learned = places().set_right(Walked::default());
        assert_eq!(learned.demands, places().demands);
        assert!(learned.rest_on(Lang::En)[1].contains("count from 8 on"));
    }
}
