//! What was worked out before. A house that opens its evening's watches asks about the same plans again and again, and
//! each opening asks twice; the same question always has the same answer, so it is searched for once.
//!
//! A question is known by the digest of everything that its answer depends on: not by the plan's, since the times of
//! walks come from the plan *and* from the speeds that hold. What is kept is lost when the server stops, so an answer
//! never outlives the program that gave it.

use crate::rounds::Places;
use ledger::Digest;
use std::collections::VecDeque;
use std::sync::{Mutex, PoisonError};

/// So many answers are kept; the one that was asked for longest ago makes room.
const KEPT_MAX: usize = 64;

/// Answers by their questions, the one asked for last at the end.
pub(super) struct Known<T>(Mutex<VecDeque<(Digest, T)>>);

impl<T: Clone> Known<T> {
    /// Nothing is known yet.
    pub(super) const fn new() -> Known<T> {
        Known(Mutex::new(VecDeque::new()))
    }

    /// The known answer, or what is found now. Two that ask at the same time both search, and find the same.
    pub(super) fn or(&self, question: Digest, search: impl FnOnce() -> T) -> T {
        if let Some(answer) = self.get(question) {
            return answer;
        }
        let answer = search();
        let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if known.iter().all(|(asked, _)| *asked != question) {
            known.push_back((question, answer.clone()));
            let over = known.len().saturating_sub(KEPT_MAX);
            known.drain(..over);
        }
        answer
    }

    fn get(&self, question: Digest) -> Option<T> {
        let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let at = known.iter().position(|(asked, _)| *asked == question)?;
        let found = known.remove(at)?;
        let answer = found.1.clone();
        known.push_back(found);
        Some(answer)
    }
}

/// What the shortest round over some places depends on: every walk.
pub(super) fn about_walks(places: &Places) -> Digest {
    Digest::of(&walks(places))
}

/// What the guards needed depend on: every walk, every look, every gap, and which places make a zone.
pub(super) fn about_guards(places: &Places) -> Digest {
    let mut bytes = walks(places);
    bytes.push(u8::from(places.measured));
    for times_ms in [&places.demands.stay_ms, &places.demands.gap_ms] {
        times_ms.iter().for_each(|ms| bytes.extend(ms.to_le_bytes()));
    }
    for place in &places.list {
        let zone = place.zone.as_str().as_bytes();
        bytes.extend((zone.len() as u64).to_le_bytes());
        bytes.extend(zone);
    }
    Digest::of(&bytes)
}

fn walks(places: &Places) -> Vec<u8> {
    let walks = &places.demands.walks;
    let mut bytes = (walks.len() as u64).to_le_bytes().to_vec();
    for from in 0..walks.len() {
        (0..walks.len()).for_each(|to| bytes.extend(walks.ms(from, to).to_le_bytes()));
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;
    use floorplan::Plan;
    use planner::Walks;
    use record::ZoneId;
    use std::collections::{BTreeMap, BTreeSet};

    fn places(floors: &[&str], gap_s: u32) -> Places {
        Places::of(&Plan::simple("Gannet Hotel", floors, gap_s), &BTreeMap::new()).unwrap()
    }

    #[test]
    fn the_same_question_is_searched_once_and_another_anew() {
        let known = Known::new();
        let (one, other) = (Digest::of(b"one"), Digest::of(b"other"));
        assert_eq!(known.or(one, || 1), 1);
        assert_eq!(known.or(one, || unreachable!("it is known")), 1);
        assert_eq!(known.or(other, || 2), 2);
    }

    #[test]
    fn what_was_asked_for_longest_ago_makes_room() {
        let known = Known::new();
        let question = |n: usize| Digest::of(&n.to_le_bytes());
        (0..KEPT_MAX).for_each(|n| assert_eq!(known.or(question(n), || n), n));
        // The first is asked for again, so the second goes when one more comes.
        known.or(question(0), || unreachable!("it is known"));
        known.or(question(KEPT_MAX), || KEPT_MAX);
        known.or(question(0), || unreachable!("it is known"));
        let mut searched = false;
        known.or(question(1), || {
            searched = true;
            1
        });
        assert!(searched);
    }

    #[test]
    fn whatever_changes_in_the_plan_the_gaps_or_the_speeds_is_another_question() {
        let base = places(&["Cellar", "Ground", "Attic"], 1800);
        let with = |change: &dyn Fn(&mut Places)| {
            let mut places = base.clone();
            change(&mut places);
            places
        };
        let slower = |places: &mut Places| {
            let walks = places.demands.walks.clone();
            places.demands.walks = Walks::from_fn(3, |a, b| walks.ms(a, b) * 2);
        };
        let one_way = |places: &mut Places| {
            let walks = places.demands.walks.clone();
            let up = |a: usize, b: usize| walks.ms(a, b) + i64::from(a < b);
            places.demands.walks = Walks::from_fn(3, up);
        };
        let asked = [
            base.clone(),
            places(&["Cellar", "Ground"], 1800),
            places(&["Cellar", "Ground", "Attic", "Roof"], 1800),
            places(&["Cellar", "Ground", "Attic"], 900),
            with(&slower),
            with(&one_way),
            with(&|places| places.demands.stay_ms[1] += 1),
            with(&|places| places.demands.gap_ms[2] -= 1),
            with(&|places| places.measured = true),
            with(&|places| places.list[2].zone = ZoneId::new("ground").unwrap()),
        ];
        let about: BTreeSet<Digest> = asked.iter().map(about_guards).collect();
        assert_eq!(about.len(), asked.len(), "two questions are taken for one");
        // The round depends on the walks alone.
        let rounds: BTreeSet<Digest> = asked.iter().map(about_walks).collect();
        assert_eq!(rounds.len(), 5);
    }
}
