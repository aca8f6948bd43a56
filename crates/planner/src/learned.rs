//! What recorded legs make of the times of a question. A leg is recorded from confirming presence at one stop to
//! confirming it at the next, so one look and one walk lie in it, and it is compared with both together.

use crate::gaps::Demands;
use crate::walks::{NEVER, Walks};
use floorplan::times::{Learned, learn};
use std::collections::BTreeMap;

/// One leg as it was recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Leg {
    /// From which stop, by its number in the question.
    pub from: usize,
    /// To which.
    pub to: usize,
    /// From confirming presence at the one to confirming it at the other, in milliseconds.
    pub took_ms: i64,
}

/// What legs teach about the times of a question.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Lessons {
    /// Over all legs, if there are enough.
    pub site: Option<Learned>,
    /// Over the legs from one stop to another, where there are enough.
    pub pairs: BTreeMap<(usize, usize), Learned>,
    /// How many legs lead from one stop to another, enough or not.
    pub counts: BTreeMap<(usize, usize), usize>,
}

impl Lessons {
    /// Compares legs with what the question says of them. Legs over which it knows no way teach nothing.
    pub fn of(demands: &Demands, legs: &[Leg]) -> Lessons {
        let mut pairs: BTreeMap<(usize, usize), Vec<(i64, i64)>> = BTreeMap::new();
        for leg in legs {
            if let Some(computed_ms) = computed_ms(demands, leg.from, leg.to) {
                pairs.entry((leg.from, leg.to)).or_default().push((computed_ms, leg.took_ms));
            }
        }
        let all: Vec<(i64, i64)> = pairs.values().flatten().copied().collect();
        Lessons {
            site: learn(&all),
            counts: pairs.iter().map(|(pair, legs)| (*pair, legs.len())).collect(),
            pairs: pairs.iter().filter_map(|(pair, legs)| Some((*pair, learn(legs)?))).collect(),
        }
    }

    /// The legs that were compared.
    pub fn legs(&self) -> usize {
        self.counts.values().sum()
    }

    /// What a leg rests on: its own recordings, else all of them; none where nothing was learned.
    pub fn behind(&self, from: usize, to: usize) -> Option<Learned> {
        self.pairs.get(&(from, to)).copied().or(self.site)
    }

    /// The question with the times that half of the legs kept. A look takes as long as is demanded: what a leg took more
    /// goes to its walk, and of what it took less the walk gets its part only, since the record does not say whether it
    /// was the walk or the look that was cut short.
    pub fn applied(&self, demands: &Demands) -> Demands {
        let walks = Walks::from_fn(demands.walks.len(), |from, to| {
            let walk_ms = demands.walks.ms(from, to);
            match (computed_ms(demands, from, to), self.behind(from, to)) {
                (Some(computed_ms), Some(learned)) => {
                    let permille = learned.median_permille;
                    let whole = if permille < 1000 { walk_ms } else { computed_ms };
                    walk_ms - whole + whole.saturating_mul(permille).saturating_add(999) / 1000
                }
                _ => walk_ms,
            }
        });
        Demands { walks: walks.closed(), ..demands.clone() }
    }
}

/// Look and walk together; none where no way leads or somebody stands all the time.
fn computed_ms(demands: &Demands, from: usize, to: usize) -> Option<i64> {
    let walk_ms = demands.walks.ms(from, to);
    let leads = from != to && walk_ms < i64::from(NEVER) && !demands.standing(from);
    leads.then(|| demands.stay_ms[from] + walk_ms)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Four stops in a row, a minute apart, half a minute of looking at each.
    fn demands() -> Demands {
        Demands {
            walks: Walks::from_fn(4, |a, b| 60_000 * a.abs_diff(b) as i64),
            stay_ms: vec![30_000; 4],
            gap_ms: vec![1_800_000; 4],
        }
    }

    fn legs(from: usize, to: usize, took_s: [i64; 8]) -> Vec<Leg> {
        took_s.map(|s| Leg { from, to, took_ms: s * 1000 }).to_vec()
    }

    #[test]
    fn a_leg_takes_what_half_of_its_recordings_took() {
        let lessons =
            Lessons::of(&demands(), &legs(0, 1, [135, 120, 130, 135, 140, 150, 900, 120]));
        assert_eq!((lessons.legs(), lessons.pairs.len()), (8, 1));
        let learned = lessons.applied(&demands());
        assert_eq!(learned.walks.ms(0, 1), 105_000, "135 s less the half minute of looking");
        assert_eq!(learned.stay_ms, demands().stay_ms);
        // Every other leg takes 1.5 times its look and walk.
        assert_eq!(learned.walks.ms(1, 0), 105_000);
        assert_eq!(learned.walks.ms(2, 0), 195_000, "1.5 · (30 + 120) s less the look");
    }

    #[test]
    fn a_leg_of_its_own_goes_before_the_others() {
        let slow = legs(0, 1, [180; 8]);
        let as_computed = legs(2, 3, [90; 8]).into_iter().chain(legs(3, 2, [90; 8]));
        let lessons =
            Lessons::of(&demands(), &slow.into_iter().chain(as_computed).collect::<Vec<_>>());
        let learned = lessons.applied(&demands());
        assert_eq!((learned.walks.ms(0, 1), learned.walks.ms(1, 0)), (150_000, 60_000));
        assert_eq!(lessons.behind(0, 1).map(|learned| learned.legs), Some(8));
        assert_eq!(lessons.behind(1, 0).map(|learned| learned.legs), Some(24));
    }

    /// Legs in two thirds of the time leave the look as it is demanded.
    #[test]
    fn who_was_quicker_may_have_cut_the_look_short() {
        let lessons = Lessons::of(&demands(), &legs(0, 1, [60; 8]));
        let learned = lessons.applied(&demands());
        let median = lessons.site.expect("eight").median_permille;
        assert_eq!(median, 666);
        assert_eq!(learned.walks.ms(0, 1), 39_960);
    }

    #[test]
    fn few_legs_and_legs_without_a_way_teach_nothing() {
        let few = &legs(0, 1, [300; 8])[..7];
        let lessons = Lessons::of(&demands(), few);
        assert_eq!((lessons.site, lessons.legs()), (None, 7));
        assert_eq!(lessons.applied(&demands()), demands());
        let cut = Demands { walks: Walks::from_fn(4, |_, _| i64::from(NEVER)), ..demands() };
        let lessons = Lessons::of(&cut, &legs(0, 1, [300; 8]));
        assert_eq!(lessons, Lessons::default());
        assert_eq!(lessons.applied(&cut), cut);
    }
}
