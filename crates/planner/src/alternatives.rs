//! Other orders of the same rounds, so that nobody can foretell where the guard is.
//!
//! A guard may change from any of the orders to any other after each round: for every stop the time from its look in one
//! order to its look in the next is within its gap. With `d` from one guard of a team to the next and a look at a stop
//! ending at `a` and `b` of the orders' time, that time is `d + b - a`.

use crate::effort::Effort;
use crate::gaps::{Demands, Plan};
use crate::random::Random;
use crate::share::round_length;

/// Another order of a team's round.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Order {
    /// The stops in walking order; it begins where the round begins.
    pub round: Vec<usize>,
    /// How much longer it takes than the round of the plan, in milliseconds.
    pub extra_ms: i64,
}

/// How much longer another order may be, in thousandths of the round.
const LONGER_PERMILLE: i64 = 10;
/// Tries for each order asked for.
const TRIES: u64 = 4000;

/// Up to `count` other orders for each team. Teams whose rounds pass a stop twice have none.
pub fn alternatives(
    demands: &Demands,
    plan: &Plan,
    count: usize,
    effort: &mut Effort<'_>,
) -> Vec<Vec<Order>> {
    let mut random = Random::new(effort.seed());
    (0..plan.teams.len())
        .map(|team| of_team(demands, plan, team, count, &mut random, effort))
        .collect()
}

fn of_team(
    demands: &Demands,
    plan: &Plan,
    team: usize,
    count: usize,
    random: &mut Random,
    effort: &mut Effort<'_>,
) -> Vec<Order> {
    let base = &plan.teams[team].round;
    let n = base.len();
    if n < 4 || plan.teams[team].nested() {
        return Vec::new();
    }
    let length = round_length(&demands.walks, &demands.stay_ms, base);
    let mut known = vec![(base.clone(), ends(demands, base))];
    let mut found: Vec<Order> = Vec::new();
    let guards = plan.teams[team].guards as i64;
    for tried in 0..TRIES * count as u64 {
        if found.len() == count || !effort.step(found.len() as i64) {
            break;
        }
        let from = random.below(known.len());
        let mut round = known[from].0.clone();
        if tried == 0 {
            round[1..].reverse();
        } else {
            // The first stop stays first, so that a change begins at a known place.
            for _ in 0..=random.below(3) {
                turn_a_piece(&mut round, random);
            }
        }
        let longer = round_length(&demands.walks, &demands.stay_ms, &round) - length;
        let fits = longer <= length * LONGER_PERMILLE / 1000 && known.iter().all(|k| k.0 != round);
        if !fits {
            continue;
        }
        let own = ends(demands, &round);
        let spacing = (length + longer.max(0) + guards - 1) / guards;
        let safe =
            |a: &[i64], b: &[i64]| base.iter().all(|&s| spacing + b[s] - a[s] <= demands.gap_ms[s]);
        if known.iter().all(|(_, other)| safe(other, &own) && safe(&own, other)) && safe(&own, &own)
        {
            known.push((round.clone(), own));
            found.push(Order { round, extra_ms: longer });
        }
    }
    found
}

/// When the look at each stop ends, counted from the beginning of the round; stops of other rounds 0.
fn ends(demands: &Demands, round: &[usize]) -> Vec<i64> {
    let mut ends = vec![0; demands.stay_ms.len()];
    let mut at = 0;
    for (i, &stop) in round.iter().enumerate() {
        at += demands.stay_ms[stop];
        ends[stop] = at;
        at += demands.walks.ms(stop, round[(i + 1) % round.len()]);
    }
    ends
}

/// Reverses a piece of the round, or moves one stop.
fn turn_a_piece(round: &mut Vec<usize>, random: &mut Random) {
    let n = round.len();
    let (a, b) = (1 + random.below(n - 1), 1 + random.below(n - 1));
    if random.below(2) == 0 {
        round[a.min(b)..=a.max(b)].reverse();
    } else {
        let stop = round.remove(a);
        round.insert(b, stop);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::effort::Go;
    use crate::gaps::Team;
    use crate::walks::Walks;

    fn square(gap_s: i64) -> (Demands, Plan) {
        // Eight stops on a ring of 80 s, 5 s a look: a round of 120 s, the same both ways round.
        let walks = Walks::from_fn(8, |a, b| {
            let apart = (a as i64 - b as i64).rem_euclid(8);
            apart.min(8 - apart) * 10_000
        });
        let demands = Demands { walks, stay_ms: vec![5_000; 8], gap_ms: vec![gap_s * 1000; 8] };
        (demands, Plan { teams: vec![Team { guards: 1, round: (0..8).collect() }] })
    }

    fn orders(gap_s: i64) -> Vec<Order> {
        let (demands, plan) = square(gap_s);
        alternatives(&demands, &plan, 3, &mut Effort::new(1, 100_000, &mut |_| Go::On)).remove(0)
    }

    /// The other way round the second stop becomes the last: from its look at 20 s of one round to that at 110 s of the
    /// next lie 120 + 110 - 20 = 210 s (worked by hand).
    #[test]
    fn the_other_way_round_needs_room_for_the_change() {
        let reversed = [0, 7, 6, 5, 4, 3, 2, 1];
        assert!(orders(210).iter().any(|o| o.round == reversed && o.extra_ms == 0));
        assert!(orders(209).iter().all(|o| o.round != reversed));
        assert!(orders(120).is_empty());
    }

    /// Written out with changes after every round, the checker must find nothing.
    #[test]
    fn any_sequence_of_orders_keeps_every_gap() {
        let (demands, plan) = square(260);
        let mut all = vec![plan.teams[0].round.clone()];
        all.extend(orders(260).into_iter().map(|o| o.round));
        assert!(all.len() > 1);
        let mut random = Random::new(3);
        let (mut looks, mut at) = (Vec::new(), 0);
        for _ in 0..200 {
            let round = &all[random.below(all.len())];
            for (i, &stop) in round.iter().enumerate() {
                at += demands.stay_ms[stop];
                looks.push(crate::timetable::Look { stop, end_ms: at });
                at += demands.walks.ms(stop, round.get(i + 1).copied().unwrap_or(round[0]));
            }
        }
        let walk_ms: Vec<i64> = (0..64).map(|e| demands.walks.ms(e / 8, e % 8)).collect();
        let raw = crate::check::Raw {
            walk_ms: &walk_ms,
            stay_ms: &demands.stay_ms,
            gap_ms: &demands.gap_ms,
            may: &[],
        };
        assert_eq!(crate::check::check(&raw, &[looks], at), []);
    }
}
