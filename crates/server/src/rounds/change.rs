//! The rounds from now on, when something has changed: a guard gone, places closed, a standing watch begun.

use super::Places;
use super::tonight::Tonight;
use crate::page::typed::Typed;
use crate::problem::Problem;
use ledger::PersonId;
use planner::gaps::STANDING_MS;
use planner::replan::{At, Change, Tonight as Asked, replan, replan_standing};
use planner::{Demands, Effort, Go};
use rules::say::rounds::{self as say, Called};
use words::{Lang, rounds};

/// Steps of the search: whoever asks has a guard on the line.
const STEPS: u64 = 60_000;

/// What was said of the night, field by field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Changed {
    /// Where each guard on duty is; none for one who is gone.
    pub(super) at: Vec<Option<usize>>,
    pub(super) open: Vec<bool>,
    /// Where somebody goes and stays.
    pub(super) stand: Option<usize>,
}

/// How the night goes on.
#[derive(Debug)]
pub(super) struct GoesOn {
    pub(super) places: Places,
    /// What is demanded from now on: a standing watch with the rest.
    demands: Demands,
    pub(super) guards: Vec<PersonId>,
    /// None when nobody is left who could walk.
    change: Option<Change>,
    /// Who stays at the standing watch.
    stands: Option<usize>,
}

/// The name of the field with the place of a guard on duty.
pub(super) fn at_field(guard: usize) -> String {
    format!("at_{guard}")
}

/// What stands in that field for a guard who is gone.
pub(super) const GONE: &str = "gone";

impl Changed {
    /// Reads the form. A place that does not exist is an unknown form, not a mistake.
    pub(super) fn read(typed: &Typed, tonight: &Tonight, places: &Places) -> Option<Changed> {
        let mut at = Vec::new();
        for (guard, on_duty) in tonight.guards.iter().enumerate() {
            at.push(match typed.get(&at_field(guard)) {
                GONE => None,
                "" => Some(on_duty.last.or(on_duty.round.first().copied()).unwrap_or(0)),
                stop => Some(places.number(stop)?),
            });
        }
        let closed = typed.all("closed");
        let is_open = |zone: &str| !closed.iter().any(|closed| closed == zone);
        let open = places.list.iter().map(|place| is_open(place.zone.as_str())).collect();
        let stand = match typed.get("stand") {
            "" => None,
            stop => Some(places.number(stop)?),
        };
        Some(Changed { at, open, stand })
    }
}

impl GoesOn {
    /// Works it out on a thread of its own.
    pub(super) async fn from(
        places: Places,
        tonight: Tonight,
        changed: Changed,
    ) -> Result<GoesOn, Problem> {
        let worked = tokio::task::spawn_blocking(move || go_on(places, &tonight, &changed)).await;
        worked.map_err(|error| Problem::Machine(error.to_string()))
    }

    /// Whether nothing comes too late.
    pub(super) fn is_kept(&self) -> bool {
        self.change.as_ref().is_some_and(|change| change.late.is_empty())
    }

    /// What each who is left walks from now on, beginning with where to go next.
    pub(super) fn rounds(&self) -> Vec<(PersonId, Vec<usize>)> {
        let Some(change) = &self.change else { return Vec::new() };
        let each = self.guards.iter().cloned().zip(change.rounds.iter().cloned());
        each.filter(|(_, round)| !round.is_empty()).collect()
    }

    /// What it comes to, in sentences.
    pub(super) fn says(&self, lang: Lang, called: impl Fn(&PersonId) -> String) -> Vec<String> {
        let Some(change) = &self.change else { return vec![rounds::nobody_left(lang).to_owned()] };
        let names = self.places.names();
        let names = Called { stops: &names, zones: &[] };
        let mut says = say::late(lang, names, &self.demands, &change.late);
        says.push(say::moved(lang, names, &change.moved));
        for (guard, round) in change.rounds.iter().enumerate() {
            let who = called(&self.guards[guard]);
            match round.first() {
                _ if self.stands == Some(guard) => {
                    says.push(rounds::stays(lang, names.list(lang, round), who));
                }
                Some(&next) => {
                    says.push(rounds::next(lang, self.places.list[next].name.as_str(), who))
                }
                None => says.push(rounds::no_round(lang, who)),
            }
        }
        says
    }
}

fn go_on(places: Places, tonight: &Tonight, changed: &Changed) -> GoesOn {
    let guards = tonight.guards.iter().map(|guard| guard.who.clone()).collect();
    let (mut open, mut demands) = (changed.open.clone(), places.demands.clone());
    if let Some(stop) = changed.stand {
        demands.gap_ms[stop] = STANDING_MS;
        demands.stay_ms[stop] = STANDING_MS;
        open[stop] = true;
    }
    let plan = tonight.plan();
    let at: Vec<Option<At>> =
        changed.at.iter().map(|at| at.map(|stop| At { stop, free_in_ms: 0 })).collect();
    let asked = Asked {
        demands: &demands,
        plan: &plan,
        open: &open,
        at: &at,
        seen_ago_ms: &tonight.seen_ago_ms,
    };
    let mut watcher = |_| Go::On;
    let mut effort = Effort::new(1, STEPS, &mut watcher);
    let (stands, change) = match changed.stand {
        None => (None, replan(&asked, &mut effort)),
        Some(stop) => match replan_standing(&asked, stop, &mut effort) {
            Some((guard, change)) => (Some(guard), Some(change)),
            None => (None, None),
        },
    };
    GoesOn { places, demands, guards, change, stands }
}

#[cfg(test)]
mod tests {
    use super::super::tonight::OnDuty;
    use super::*;
    use floorplan::Plan;
    use std::collections::BTreeMap;

    fn places() -> Places {
        let floors = ["Cellar", "Ground", "First", "Attic"];
        Places::of(&Plan::simple("Gannet Hotel", &floors, 1800), &BTreeMap::new()).unwrap()
    }

    fn tonight() -> Tonight {
        let guard = |who: &str, round: &[usize]| OnDuty {
            who: PersonId::new(who).unwrap(),
            round: round.to_vec(),
            last: round.first().copied(),
        };
        let guards = vec![guard("p-ada", &[0, 1]), guard("p-ben", &[2, 3])];
        Tonight { guards, seen_ago_ms: vec![0, 300_000, 0, 300_000] }
    }

    fn changed(pairs: &[(&str, &str)]) -> Changed {
        let pairs = pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned()));
        Changed::read(&Typed::read(pairs), &tonight(), &places()).unwrap()
    }

    #[test]
    fn who_is_gone_leaves_everything_to_the_other() {
        let said = changed(&[("at_0", "ground"), ("at_1", GONE)]);
        assert_eq!(said.at, [Some(1), None]);
        let on = go_on(places(), &tonight(), &said);
        let rounds = on.rounds();
        assert_eq!(rounds.len(), 1);
        assert_eq!((rounds[0].0.as_str(), rounds[0].1.len()), ("p-ada", 4));
        let says = on.says(Lang::En, |who| who.to_string());
        assert!(says.iter().any(|line| line.contains("2 places change hands")), "{says:?}");
    }

    #[test]
    fn a_closed_floor_leaves_the_round_and_hot_work_takes_a_guard() {
        let closed = go_on(places(), &tonight(), &changed(&[("closed", "cellar")]));
        assert!(closed.rounds().iter().all(|(_, round)| !round.contains(&0)));
        let hot = go_on(places(), &tonight(), &changed(&[("stand", "attic")]));
        let stays = hot.rounds().into_iter().find(|(_, round)| *round == [3]);
        assert!(stays.is_some(), "{:?}", hot.rounds());
    }

    #[test]
    fn nobody_left_is_said() {
        let none = go_on(places(), &tonight(), &changed(&[("at_0", GONE), ("at_1", GONE)]));
        assert!(none.rounds().is_empty());
        assert_eq!(none.says(Lang::En, |who| who.to_string()).len(), 1);
        let pairs = [("at_0".to_owned(), "roof".to_owned())];
        assert_eq!(Changed::read(&Typed::read(pairs), &tonight(), &places()), None);
    }
}
