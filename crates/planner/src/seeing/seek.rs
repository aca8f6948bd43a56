//! The search: rounds of taking out and putting back among candidates, then the proof by what is left of the floor, whose
//! pieces become witnesses; and a fresh start where nothing is gained any more.

use super::pool::Pool;
use super::scene::{Place, Scene};
use super::search::{Order, for_bits};
use super::{Pieces, area, bound, left, needed, shift};
use crate::effort::Effort;
use crate::random::Random;
use geometry::Point;

/// What a search ends with.
pub(super) struct Found<'a> {
    pub(super) places: Vec<Place>,
    pool: Pool<'a>,
}

/// Iterations between two looks at what is really left unseen; the first rounds are shorter, since they work on
/// witnesses that say little yet.
const ROUND: u64 = 1000;
const FIRST_ROUND: u64 = 125;
/// Rounds without a gain after which a search begins elsewhere.
const STALE_MAX: u32 = 3;
/// Passes that may follow one another to see the last of the floor.
const PASSES_MAX: u32 = 400;
/// The same when the effort is over and a walk that sees all is known.
const LATE_PASSES_MAX: u32 = 12;
/// With more candidates than this beyond the first ones the search begins anew with fresh ones.
const CANDIDATES_MORE: usize = 1200;

/// Searches as long as the effort allows.
pub(super) fn search_for<'a>(
    scene: &'a Scene<'a>,
    effort: &mut Effort<'_>,
    fewest: bool,
) -> Found<'a> {
    let mut random = Random::new(effort.seed());
    let mut pool = Pool::new(scene, fewest);
    begin(&mut pool, &mut random);
    let mut first = pool.candidates.len();
    let mut now = Order::new(&pool, Vec::new());
    now.mend(&pool, &mut random);
    let mut search = Search { ends: Vec::new(), proven: None };
    let (mut stale, mut shortest, mut round) = (0, f64::INFINITY, FIRST_ROUND);
    loop {
        // A walk of one stop has nothing to improve: the round itself counts, so that every search ends.
        effort.step(now.length(&pool) as i64);
        now = improve(&pool, now, round, &mut random, effort);
        round = (round * 2).min(ROUND);
        if !fewest && effort.left() > 0 {
            let length = now.length(&pool) as i64;
            shift::shift(&mut pool, &mut now, &mut random, &mut || effort.step(length));
        }
        let late = effort.left() == 0 && search.proven.is_some();
        let passes = if late { LATE_PASSES_MAX } else { PASSES_MAX };
        search.prove(&mut pool, &mut now, passes, &mut random);
        // Nothing is shorter than standing still.
        let still = |(length, places): &(f64, Vec<Place>)| places.len() < 2 || *length == 0.0;
        if effort.left() == 0 || search.proven.as_ref().is_some_and(still) {
            break;
        }
        let length = now.length(&pool);
        // The short first rounds prove nothing about what could still be gained.
        let idle = if length < shortest - pool.crumb { 0 } else { stale + 1 };
        stale = if round < ROUND { 0 } else { idle };
        shortest = shortest.min(length);
        if stale >= STALE_MAX {
            search.keep(length, standing(&pool, &now.stops));
            now = search.elsewhere(&mut pool, &mut random);
            (stale, shortest) = (0, f64::INFINITY);
            first = pool.candidates.len();
        } else if pool.candidates.len() > first + CANDIDATES_MORE {
            now = renewed(&mut pool, &now, &mut random);
            first = pool.candidates.len();
        }
    }
    let places = search.proven.map_or_else(|| standing(&pool, &now.stops), |(_, places)| places);
    Found { places: if fewest { places } else { needed(scene, places) }, pool }
}

impl Found<'_> {
    /// Sets of places no two of which are seen from anywhere together.
    pub(super) fn hidden(&mut self) -> [Vec<Place>; 2] {
        let scene = self.pool.scene;
        let pool = &mut self.pool;
        // Two choices: which of them bounds better shows only in the end.
        let among = |pool: &Pool<'_>| {
            bound::hidden_from_each_other(scene, &pool.witnesses, &pool.together())
        };
        let first = among(pool);
        pool.add_witnesses(&bound::corners(scene));
        [first, among(pool)]
    }

    /// Places that make the walk long: of what only one viewpoint sees, what is seen from least floor. Those of the
    /// longest detours come first.
    pub(super) fn telling(&mut self) -> Vec<Place> {
        let pool = &mut self.pool;
        let order = pool.add_all_of(&self.places);
        let order = Order::new(pool, order);
        let mut detours: Vec<(f64, u32)> =
            (0..order.stops.len()).map(|at| (order.saving(pool, at), order.stops[at])).collect();
        detours.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let mut out = Vec::new();
        for (_, stop) in detours {
            let mut owed = Vec::new();
            for_bits(&order.owed(pool, stop), |w| owed.push(w));
            owed.sort_by_key(|&w| (pool.seers[w].len(), w));
            out.extend(owed.into_iter().take(TELLING).map(|w| pool.witnesses[w]));
        }
        out
    }
}

/// So many places tell of each viewpoint.
const TELLING: usize = 2;

struct Search {
    /// Where the best searches ended: length and stops, the shortest first.
    ends: Vec<(f64, Vec<Place>)>,
    /// The shortest walk from which all is seen, with its viewpoints.
    proven: Option<(f64, Vec<Place>)>,
}

/// So many ends are kept.
const ENDS_MAX: usize = 6;

impl Search {
    /// Sees the last of the floor: whatever is left from the stops and what the walk passes becomes witnesses, until
    /// nothing is left. Keeps the walk when it is the shortest from which all is seen.
    fn prove(&mut self, pool: &mut Pool<'_>, now: &mut Order, passes: u32, random: &mut Random) {
        for _ in 0..passes {
            let fewest = pool.fewest;
            let passing = if fewest { Vec::new() } else { between(pool, &now.stops) };
            let places = if fewest {
                standing(pool, &now.stops)
            } else {
                passing.iter().map(|&(_, place)| place).collect()
            };
            let (area, unseen) = left(pool.scene, &places);
            let spare = pool.scene.spare_area();
            if area <= spare {
                let length = now.length(pool);
                if self.proven.as_ref().is_none_or(|(known, _)| length < *known) {
                    self.proven = Some((length, places));
                }
                return;
            }
            let fresh = missed(pool.scene, largest(unseen, spare), random);
            pool.add_witnesses(&fresh);
            pool.add_all(&fresh);
            *now = Order::new(pool, std::mem::take(&mut now.stops));
            now.join_passing(pool, &passing);
            now.repair(pool, random, 1.0);
            now.prune(pool);
            now.straighten(pool);
        }
    }

    /// Keeps where a search ended when it is among the best.
    fn keep(&mut self, length: f64, stops: Vec<Place>) {
        let at = self.ends.partition_point(|(known, _)| *known <= length);
        self.ends.insert(at, (length, stops));
        self.ends.truncate(ENDS_MAX);
    }

    /// Begins anew: from nothing, or from a good part of an end among the stops of all ends.
    fn elsewhere(&mut self, pool: &mut Pool<'_>, random: &mut Random) -> Order {
        let joined = self.ends.len() >= 3 && random.below(2) == 0;
        let start = self.ends[random.below(self.ends.len())].1.clone();
        pool.renew();
        let mut stops = Vec::new();
        if joined {
            self.ends.iter().for_each(|(_, end)| pool.add_all(end));
            stops = pool.add_all_of(&start);
            around(pool, &start, random);
        }
        let fresh = spread(pool, SPREAD, random);
        pool.add_all(&fresh);
        pool.give_seers();
        let mut order = Order::new(pool, stops);
        if joined {
            order.mend(pool, random);
            let share = 0.3 + 0.4 * random.unit();
            order.ruin(pool, random, share);
        }
        order.mend(pool, random);
        order
    }
}

/// The same order with fresh candidates beside its own, around its stops and all over the floor.
fn renewed(pool: &mut Pool<'_>, now: &Order, random: &mut Random) -> Order {
    let present = standing(pool, &now.stops);
    pool.renew();
    let stops = pool.add_all_of(&present);
    around(pool, &present, random);
    let fresh = spread(pool, SPREAD, random);
    pool.add_all(&fresh);
    pool.give_seers();
    let mut order = Order::new(pool, stops);
    order.mend(pool, random);
    order
}

/// Adds places near those given, at several distances.
fn around(pool: &mut Pool<'_>, places: &[Place], random: &mut Random) {
    let extent = pool.scene.extent();
    for place in places {
        for far in [0.05, 0.02, 0.007, 0.002] {
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * random.unit());
            let far = far * extent * random.unit();
            let at = Point::new(place.at.x + far * cos, place.at.y + far * sin);
            pool.add(Place { floor: place.floor, at });
        }
    }
}

fn standing(pool: &Pool<'_>, stops: &[u32]) -> Vec<Place> {
    stops.iter().map(|&s| pool.candidates[s as usize].place).collect()
}

/// Ruins and repairs until the round is over; hands back the shortest order met.
fn improve(
    pool: &Pool<'_>,
    start: Order,
    round: u64,
    random: &mut Random,
    effort: &mut Effort<'_>,
) -> Order {
    let mut best_length = start.length(pool);
    let mut best = start.clone();
    let (mut now, mut now_length) = (start, best_length);
    for _ in 0..round {
        if now.stops.len() < 2 || !effort.step(best_length as i64) {
            break;
        }
        let mut next = now.clone();
        let share = if random.below(12) == 0 { 0.8 } else { 0.34 };
        next.ruin(pool, random, share);
        let greed = 0.5 + random.unit();
        if !next.repair(pool, random, greed) {
            continue;
        }
        next.prune(pool);
        if next.stops.len() <= 120 {
            next.straighten(pool);
        }
        let length = next.length(pool);
        if length < best_length - pool.crumb * 1e-3 {
            best = next.clone();
            best_length = length;
        }
        // Record to record (G. Dueck, 1993).
        if length < best_length * 1.01 + pool.crumb || (pool.fewest && length <= best_length) {
            (now, now_length) = (next, length);
        } else if now_length > best_length * 1.01 + pool.crumb {
            (now, now_length) = (best.clone(), best_length);
        }
    }
    if best.stops.len() > 120 {
        best.straighten(pool);
    }
    best
}

/// Candidates spread over the floor at the beginning.
const SPREAD: f64 = 500.0;

/// Witnesses in every corner and all over the floor; candidates all over it, at doors, and wherever a witness would
/// have none.
fn begin(pool: &mut Pool<'_>, random: &mut Random) {
    let scene = pool.scene;
    let mut witnesses = Vec::new();
    for (floor, mesh) in scene.meshes.iter().enumerate() {
        for t in (0..mesh.triangles.len()).filter(|&t| scene.wanted(floor, t as u32)) {
            if mesh.triangles.len() < 1500 || random.unit() < 1500.0 / mesh.triangles.len() as f64 {
                witnesses.push(Place { floor, at: mesh.middle(t) });
            }
        }
    }
    witnesses.extend(spread(pool, within_range(scene), random));
    pool.add_witnesses(&witnesses);
    for place in spread(pool, SPREAD, random).into_iter().chain(scene.doors()) {
        pool.add(place);
    }
    pool.give_seers();
}

/// How many witnesses a limited range asks for: some in each circle of the range, within reason.
fn within_range(scene: &Scene<'_>) -> f64 {
    let mut count = 0.0;
    for (mesh, ranges) in scene.meshes.iter().zip(&scene.ranges) {
        for (t, &range) in ranges.iter().enumerate().filter(|(_, range)| range.is_finite()) {
            if range > 0.0 {
                count += 60.0 * mesh.triangle_area(t) / (std::f64::consts::PI * range * range);
            }
        }
    }
    f64::min(count, 1500.0)
}

/// About `count` places spread evenly over the floor that must be seen.
fn spread(pool: &Pool<'_>, count: f64, random: &mut Random) -> Vec<Place> {
    let scene = pool.scene;
    let whole = scene.floor_area();
    let mut out = Vec::new();
    for (floor, mesh) in scene.meshes.iter().enumerate() {
        for t in (0..mesh.triangles.len()).filter(|&t| scene.wanted(floor, t as u32)) {
            let share = mesh.triangle_area(t) / whole * count;
            let here = share as usize + usize::from(random.unit() < share - libm::floor(share));
            out.extend((0..here).map(|_| Place { floor, at: within(mesh.corners(t), random) }));
        }
    }
    out
}

fn within([a, b, c]: [Point; 3], random: &mut Random) -> Point {
    let (mut u, mut v) = (random.unit(), random.unit());
    if u + v > 1.0 {
        (u, v) = (1.0 - u, 1.0 - v);
    }
    Point::new(a.x + u * (b.x - a.x) + v * (c.x - a.x), a.y + u * (b.y - a.y) + v * (c.y - a.y))
}

/// The walk's stops and, every fortieth of the extent, places between them.
fn between(pool: &Pool<'_>, stops: &[u32]) -> Vec<(Option<u32>, Place)> {
    let passing = passing(pool.scene, &standing(pool, stops)).into_iter();
    passing.map(|(at, place)| (at.map(|at| stops[at]), place)).collect()
}

/// The same of places: which of them each is, or none.
pub(super) fn passing(scene: &Scene<'_>, stops: &[Place]) -> Vec<(Option<usize>, Place)> {
    let step = scene.extent() / 40.0;
    let mut out = Vec::new();
    for (i, &a) in stops.iter().enumerate() {
        out.push((Some(i), a));
        let Some((_, way)) = scene.trail(a, stops[(i + 1) % stops.len()]) else { continue };
        for leg in
            way.windows(2).filter(|leg| leg[0].floor == leg[1].floor && leg[0].at != leg[1].at)
        {
            let count = (leg[0].at.distance(leg[1].at) / step) as usize + 1;
            for k in 0..count {
                let at = leg[0].at.toward(leg[1].at, (k as f64 + 0.5) / count as f64);
                let place = Place { floor: leg[0].floor, at };
                // Along a wall rounding may put a place behind it.
                if scene.range(place) > 0.0 {
                    out.push((None, place));
                }
            }
        }
    }
    out
}

/// Witnesses that one pass adds, at most.
const MISSED_MAX: usize = 150;

/// The pieces without the smallest ones, as many as may stay unseen together.
fn largest(mut pieces: Pieces, spare: f64) -> Pieces {
    if spare > 0.0 {
        pieces.sort_by(|a, b| area(&a.1).total_cmp(&area(&b.1)));
        let mut left = spare;
        pieces.retain(|(_, piece)| {
            left -= area(piece);
            left < 0.0
        });
    }
    pieces
}

/// Witnesses for what was missed: the middle of each piece, and points near the corners of the larger ones.
fn missed(scene: &Scene<'_>, pieces: Pieces, random: &mut Random) -> Vec<Place> {
    let mut sized: Vec<(f64, usize)> =
        pieces.iter().enumerate().map(|(i, (_, piece))| (size(piece), i)).collect();
    sized.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut out = Vec::new();
    let large = scene.extent() * 0.01;
    for &(size, i) in &sized {
        let (floor, piece) = &pieces[i];
        let sum = piece.iter().fold(Point::default(), |s, p| Point::new(s.x + p.x, s.y + p.y));
        let middle = Point::new(sum.x / piece.len() as f64, sum.y / piece.len() as f64);
        // What lies beside a witness is mostly seen with it; else the next pass finds it again.
        let beside = |p: &Place| p.floor == *floor && p.at.distance(middle) < 0.5 * large;
        if out.len() >= MISSED_MAX || out.iter().any(beside) {
            continue;
        }
        out.push(Place { floor: *floor, at: middle });
        if size > large {
            let corner = piece[random.below(piece.len())];
            out.push(Place { floor: *floor, at: middle.toward(corner, 0.9) });
        }
    }
    out
}

fn size(piece: &[Point]) -> f64 {
    let far = piece.iter().map(|p| piece[0].distance2(*p)).fold(0.0, f64::max);
    libm::sqrt(far)
}
