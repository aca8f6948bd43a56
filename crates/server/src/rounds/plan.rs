//! The planner's answer over the places of a watch, and the rounds that it comes to, one for each guard.

use super::{Places, SHARE_PERCENT};
use crate::problem::Problem;
use planner::answer::Kept;
use planner::share::round_length;
use planner::{Answer, Effort, Go, Question, answer};
use rules::say::rounds::{self as say, Called};
use words::Lang;

/// Steps of the search while somebody waits on the telephone.
const STEPS: u64 = 60_000;

/// What the planner found.
#[derive(Debug)]
pub(crate) struct Worked {
    pub(crate) places: Places,
    pub(crate) answer: Answer,
    /// The stops of each guard in walking order, by their numbers; where the gaps cannot be kept, what comes closest.
    pub(crate) rounds: Vec<Vec<usize>>,
}

/// Works out the rounds of so many guards, or of the fewest. Many steps: call it where nobody else waits.
pub(crate) fn work(places: Places, guards: Option<usize>) -> Worked {
    let zones = zone_numbers(&places);
    let question = Question {
        demands: &places.demands,
        from: None,
        guards,
        share_permille: SHARE_PERCENT * 10,
        may: &[],
        zones: &zones,
    };
    let found = answer(&question, &mut Effort::new(1, STEPS, &mut |_| Go::On));
    let rounds = match &found {
        Answer::Kept(kept) => of_plan(&places, kept),
        // Nothing is left out, and all is seen as often as can be.
        Answer::TooFew { guards, .. } => spaced(&places, &places.shortest_round(), *guards),
        Answer::Contradiction(_) => Vec::new(),
    };
    Worked { places, answer: found, rounds }
}

impl Worked {
    /// As [`work`], on a thread of its own.
    pub(crate) async fn out(places: Places, guards: Option<usize>) -> Result<Worked, Problem> {
        let worked = tokio::task::spawn_blocking(move || work(places, guards)).await;
        worked.map_err(|error| Problem::Machine(error.to_string()))
    }

    /// The answer in sentences, the most important first.
    pub(crate) fn says(&self, lang: Lang) -> Vec<String> {
        let names = self.places.names();
        let zones: Vec<&str> = self.places.zones().into_values().collect();
        let called = Called { stops: &names, zones: &zones };
        match &self.answer {
            Answer::Kept(kept) => {
                say::kept(lang, SHARE_PERCENT, kept, self.places.is_timed()).to_vec()
            }
            Answer::TooFew { guards, least, core, ways } => {
                say::too_few(lang, called, *guards, least, core, ways)
            }
            Answer::Contradiction(conflicts) => {
                let demands = &self.places.demands;
                let each = conflicts.iter().map(|one| say::conflict(lang, called, demands, one));
                std::iter::once(words::route::cannot(lang).to_owned()).chain(each).collect()
            }
        }
    }

    /// Whether every gap is kept by what is planned.
    pub(crate) fn is_kept(&self) -> bool {
        matches!(self.answer, Answer::Kept(_))
    }
}

/// Each guard's own: the guards of a team walk its round evenly spaced, so each begins where the spacing puts them.
fn of_plan(places: &Places, kept: &Kept) -> Vec<Vec<usize>> {
    let teams = kept.plan.teams.iter();
    teams.flat_map(|team| spaced(places, &team.round, team.guards)).collect()
}

fn spaced(places: &Places, round: &[usize], guards: usize) -> Vec<Vec<usize>> {
    let demands = &places.demands;
    let length = round_length(&demands.walks, &demands.stay_ms, round);
    let begins = |guard: usize| {
        let ahead = length * guard as i64 / guards.max(1) as i64;
        let mut at = 0;
        round.iter().enumerate().position(|(i, &stop)| {
            let here = at >= ahead;
            at += demands.stay_ms[stop] + demands.walks.ms(stop, round[(i + 1) % round.len()]);
            here
        })
    };
    (0..guards)
        .map(|guard| {
            let mut own = round.to_vec();
            own.rotate_left(begins(guard).unwrap_or(0));
            own
        })
        .collect()
}

fn zone_numbers(places: &Places) -> Vec<usize> {
    let zones = places.zones();
    let number = |zone| zones.keys().position(|known| *known == zone).unwrap_or_default();
    places.list.iter().map(|place| number(&place.zone)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use floorplan::Plan;
    use std::collections::{BTreeMap, BTreeSet};

    fn places(floors: &[&str], gap_s: u32) -> Places {
        Places::of(&Plan::simple("Gannet Hotel", floors, gap_s), &BTreeMap::new()).unwrap()
    }

    #[test]
    fn one_guard_walks_three_floors_and_two_share_what_is_too_much_for_one() {
        let one = work(places(&["Ground", "First", "Second"], 1800), None);
        assert!(one.is_kept());
        assert_eq!(one.rounds.len(), 1);
        // Twelve floors in a quarter of an hour: 12 · 90 s of looking alone is more than one guard has.
        let floors: Vec<String> = (1..=12).map(|n| format!("Floor {n}")).collect();
        let floors: Vec<&str> = floors.iter().map(String::as_str).collect();
        let tower = work(places(&floors, 900), None);
        assert!(tower.is_kept() && tower.rounds.len() > 1, "{:?}", tower.rounds);
        let walked: BTreeSet<usize> = tower.rounds.iter().flatten().copied().collect();
        assert_eq!(walked.len(), 12, "nothing is left out");
    }

    #[test]
    fn who_cannot_keep_it_still_gets_a_round_over_everything() {
        let floors: Vec<String> = (1..=12).map(|n| format!("Floor {n}")).collect();
        let floors: Vec<&str> = floors.iter().map(String::as_str).collect();
        let alone = work(places(&floors, 900), Some(1));
        assert!(!alone.is_kept());
        assert_eq!((alone.rounds.len(), alone.rounds[0].len()), (1, 12));
        assert!(
            alone.says(Lang::En)[0].contains("1 guard cannot keep it"),
            "{:?}",
            alone.says(Lang::En)
        );
    }

    #[test]
    fn guards_of_one_round_begin_apart() {
        let places = places(&["A", "B", "C", "D"], 1800);
        let rounds = spaced(&places, &[0, 1, 2, 3], 2);
        // 4 · 90 s of looks, 3 · 45 s there and 135 s back: half of it, 315 s, is over at the fourth place (405 s).
        assert_eq!(rounds, [vec![0, 1, 2, 3], vec![3, 0, 1, 2]]);
    }
}
