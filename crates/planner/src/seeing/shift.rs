//! Moving stops off the candidates they began at: downhill in walking length, as long as what only they see stays seen.

use super::pool::Pool;
use super::scene::Place;
use super::search::Order;
use crate::random::Random;
use geometry::Point;

/// Moves every stop of the order as far as it helps.
pub(super) fn shift(
    pool: &mut Pool<'_>,
    order: &mut Order,
    random: &mut Random,
    go: &mut dyn FnMut() -> bool,
) {
    let extent = pool.scene.extent();
    let mut at = 0;
    while at < order.stops.len() && order.stops.len() > 1 && go() {
        let n = order.stops.len();
        let (a, x, b) = (order.stops[(at + n - 1) % n], order.stops[at], order.stops[(at + 1) % n]);
        let owed = order.owed(pool, x);
        let start = pool.candidates[x as usize].place;
        let now = pool.length(a, x) + pool.length(x, b);
        let (place, length) = settle(pool, start, now, (a, b), &owed, extent, random);
        if length < now - pool.crumb
            && let Some(moved) = pool.add(place)
        {
            order.replace(pool, at, moved);
        }
        at += 1;
    }
    order.prune(pool);
    order.straighten(pool);
}

/// A pattern search with halving steps.
fn settle(
    pool: &mut Pool<'_>,
    start: Place,
    start_length: f64,
    ends: (u32, u32),
    owed: &[u64],
    extent: f64,
    random: &mut Random,
) -> (Place, f64) {
    let (mut place, mut length) = (start, start_length);
    let mut step = extent * 0.1;
    while step > extent * 1e-4 {
        let turn = random.unit() * std::f64::consts::FRAC_PI_4;
        let mut moved = false;
        for k in 0..8 {
            let (sin, cos) = libm::sincos(turn + f64::from(k) * std::f64::consts::FRAC_PI_4);
            let at = Point::new(place.at.x + step * cos, place.at.y + step * sin);
            let there = Place { floor: place.floor, at };
            let tried = pool.detour(there, ends.0, ends.1);
            if tried < length - extent * 1e-7 && holds(&pool.seen_from(there), owed) {
                (place, length, moved) = (there, tried, true);
                break;
            }
        }
        if !moved {
            step *= 0.5;
        }
    }
    (place, length)
}

fn holds(seen: &[u64], owed: &[u64]) -> bool {
    seen.iter().zip(owed).all(|(seen, owed)| owed & !seen == 0)
}
