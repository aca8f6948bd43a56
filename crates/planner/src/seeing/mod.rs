//! Seeing the floor: the shortest closed walk from which all of it is seen, and the fewest places that see it.
//!
//! What counts as seen is proved by what is left of the floor after every view is taken away from it, never by samples
//! ([`geometry::Cover`]). Samples (witnesses) only guide the search; where something is left, it becomes a witness.

mod bound;
mod pool;
mod scene;
mod search;
mod shift;

pub use scene::{Place, Scene};

use crate::effort::Effort;
use crate::random::Random;
use geometry::sweep::Scratch;
use geometry::{Cover, Point};
use pool::Pool;
use search::Order;

/// A closed walk and what is seen from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Walk {
    /// Its length, in the scene's unit.
    pub length: f64,
    /// Where one looks, in walking order.
    pub viewpoints: Vec<Place>,
    /// Which of them the walk passes anyway: leaving them out would not shorten it.
    pub in_passing: Vec<bool>,
    /// The walk as corners, closed by its first.
    pub walk: Vec<Place>,
    /// What no viewpoint sees, in the square of the scene's unit.
    pub unseen_area: f64,
    /// The floor that had to be seen.
    pub floor_area: f64,
    /// No closed walk that sees all can be shorter than this.
    pub bound: f64,
}

/// Narrower pieces than this share of the extent are taken as seen.
pub(crate) const NARROW: f64 = 1e-7;

/// The shortest closed walk that the effort allows from which all of the floor is seen.
pub fn walk_that_sees(scene: &Scene<'_>, effort: &mut Effort<'_>) -> Walk {
    let found = search_for(scene, effort, false);
    let (length, walk) = drawn(scene, &found.places);
    let mut viewpoints = found.places;
    let in_passing = passed(scene, &viewpoints);
    let bound = bound::least_walk(scene, &found.hidden, length).min(length);
    let unseen_area = left(scene, &viewpoints).0;
    viewpoints.shrink_to_fit();
    Walk {
        length,
        viewpoints,
        in_passing,
        walk,
        unseen_area,
        floor_area: scene.floor_area(),
        bound,
    }
}

/// As few places as the effort allows from which all of the floor is seen, and a number below which none suffice.
pub fn fewest_viewpoints(scene: &Scene<'_>, effort: &mut Effort<'_>) -> (Vec<Place>, usize) {
    let found = search_for(scene, effort, true);
    (found.places, found.hidden.len())
}

struct Found {
    places: Vec<Place>,
    /// Places no two of which are seen from anywhere together.
    hidden: Vec<Place>,
}

/// Iterations between two looks at what is really left unseen.
const ROUND: u64 = 1000;
/// Rounds without a gain after which a search begins elsewhere.
const STALE_MAX: u32 = 3;
/// Rounds that may follow the end of the effort to see the last of the floor.
const LATE_MAX: u32 = 400;

fn search_for(scene: &Scene<'_>, effort: &mut Effort<'_>, fewest: bool) -> Found {
    let mut random = Random::new(effort.seed());
    let mut pool = Pool::new(scene, fewest);
    begin(&mut pool, &mut random);
    let mut now = Order::new(&pool, Vec::new());
    now.mend(&pool, &mut random);
    let mut search = Search { best: now.stops.clone(), best_length: f64::INFINITY, proven: None };
    let (mut stale, mut late, mut shortest) = (0, 0, f64::INFINITY);
    let last = loop {
        // A walk of one stop has nothing to improve: the round itself counts, so that every search ends.
        effort.step(now.length(&pool) as i64);
        now = improve(&pool, now, &mut random, effort);
        if !fewest && effort.left() > 0 {
            let length = now.length(&pool) as i64;
            shift::shift(&mut pool, &mut now, &mut random, &mut || effort.step(length));
        }
        let places = match effort.left() {
            _ if fewest => standing(&pool, &now.stops),
            0 => between(&pool, &now.stops).into_iter().map(|(_, place)| place).collect(),
            _ => on_the_way(&mut pool, &mut now),
        };
        let (area, unseen) = left(scene, &places);
        let length = now.length(&pool);
        if area == 0.0 && search.proven.as_ref().is_none_or(|(known, _)| length < *known) {
            search.proven = Some((length, places));
        }
        // Nothing is shorter than standing still.
        if search.proven.as_ref().is_some_and(|(length, places)| places.len() < 2 || *length == 0.0)
        {
            break now.stops;
        }
        if effort.left() == 0 {
            late += 1;
            if search.proven.is_some() || late > LATE_MAX {
                break now.stops;
            }
        }
        let fresh = missed(scene, &unseen, &mut random);
        pool.add_witnesses(&fresh);
        for place in fresh {
            pool.add(place);
        }
        now = Order::new(&pool, now.stops);
        if effort.left() == 0 {
            // Whatever it takes: nothing is left out any more, so every round sees more.
            now.repair(&pool, &mut random, 1.0);
            continue;
        }
        now.mend(&pool, &mut random);
        let length = now.length(&pool);
        stale = if length < shortest - pool.crumb { 0 } else { stale + 1 };
        shortest = shortest.min(length);
        if stale >= STALE_MAX && effort.left() > 0 {
            now = search.elsewhere(&pool, now, &mut random);
            (stale, shortest) = (0, f64::INFINITY);
        }
    };
    let places = search.proven.map_or_else(|| standing(&pool, &last), |(_, places)| places);
    let hidden = bound::hidden_from_each_other(scene, &pool.witnesses, &pool.together());
    Found { places: if fewest { places } else { needed(scene, places) }, hidden }
}

struct Search {
    /// The order that searches begin from, and its length.
    best: Vec<u32>,
    best_length: f64,
    /// The shortest walk from which all is seen, with its viewpoints.
    proven: Option<(f64, Vec<Place>)>,
}

impl Search {
    /// Keeps what was found when it is the best, and begins anew: from a good part of the best, or from nothing.
    fn elsewhere(&mut self, pool: &Pool<'_>, found: Order, random: &mut Random) -> Order {
        let mut best = Order::new(pool, self.best.clone());
        best.mend(pool, random);
        self.best_length = best.length(pool);
        if found.length(pool) < self.best_length {
            self.best_length = found.length(pool);
            best = found;
        }
        self.best = best.stops.clone();
        let share = 0.3 + 0.9 * random.unit();
        best.ruin(pool, random, share.min(1.0));
        best.mend(pool, random);
        best
    }
}

fn standing(pool: &Pool<'_>, stops: &[u32]) -> Vec<Place> {
    stops.iter().map(|&s| pool.candidates[s as usize].place).collect()
}

/// Ruins and repairs until the round is over; hands back the shortest order met.
fn improve(pool: &Pool<'_>, start: Order, random: &mut Random, effort: &mut Effort<'_>) -> Order {
    let mut best_length = start.length(pool);
    let mut best = start.clone();
    let (mut now, mut now_length) = (start, best_length);
    for _ in 0..ROUND {
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

/// Witnesses in every corner and all over the floor; candidates all over it, at doors, and wherever a witness would
/// have none.
fn begin(pool: &mut Pool<'_>, random: &mut Random) {
    let scene = pool.scene;
    let mut witnesses = Vec::new();
    let mut spread = Vec::new();
    let budget = 500.0;
    let whole = scene.floor_area();
    for (floor, mesh) in scene.meshes.iter().enumerate() {
        for t in (0..mesh.triangles.len()).filter(|&t| scene.wanted(floor, t as u32)) {
            let share = mesh.triangle_area(t) / whole * budget;
            let count = share as usize + usize::from(random.unit() < share - libm::floor(share));
            let corners = mesh.corners(t);
            spread.extend((0..count).map(|_| Place { floor, at: within(corners, random) }));
            if mesh.triangles.len() < 1500 || random.unit() < 1500.0 / mesh.triangles.len() as f64 {
                witnesses.push(Place { floor, at: mesh.middle(t) });
            }
        }
    }
    pool.add_witnesses(&witnesses);
    for place in spread.into_iter().chain(scene.doors()) {
        pool.add(place);
    }
    for w in 0..pool.witnesses.len() {
        if pool.seers[w].len() < 3 {
            pool.add(pool.witnesses[w]);
        }
    }
}

fn within([a, b, c]: [Point; 3], random: &mut Random) -> Point {
    let (mut u, mut v) = (random.unit(), random.unit());
    if u + v > 1.0 {
        (u, v) = (1.0 - u, 1.0 - v);
    }
    Point::new(a.x + u * (b.x - a.x) + v * (c.x - a.x), a.y + u * (b.y - a.y) + v * (c.y - a.y))
}

/// The walk's stops and places between them, so that what is seen in passing counts. Those between become candidates
/// and join the order where they see something for nothing.
fn on_the_way(pool: &mut Pool<'_>, order: &mut Order) -> Vec<Place> {
    let (mut stops, mut places) = (Vec::new(), Vec::new());
    for (stop, place) in between(pool, &order.stops) {
        if let Some(stop) = stop.or_else(|| pool.add(place)) {
            stops.push(stop);
            places.push(place);
        }
    }
    *order = Order::new(pool, stops);
    order.prune(pool);
    order.straighten(pool);
    places
}

/// The walk's stops and, every fortieth of the extent, places between them.
fn between(pool: &Pool<'_>, stops: &[u32]) -> Vec<(Option<u32>, Place)> {
    let step = pool.scene.extent() / 40.0;
    let mut out = Vec::new();
    for (i, &a) in stops.iter().enumerate() {
        let b = stops[(i + 1) % stops.len()];
        let ends = (pool.candidates[a as usize].place, pool.candidates[b as usize].place);
        out.push((Some(a), ends.0));
        let Some((_, way)) = pool.scene.trail(ends.0, ends.1) else { continue };
        for leg in
            way.windows(2).filter(|leg| leg[0].floor == leg[1].floor && leg[0].at != leg[1].at)
        {
            let count = (leg[0].at.distance(leg[1].at) / step) as usize + 1;
            for k in 0..count {
                let at = leg[0].at.toward(leg[1].at, (k as f64 + 0.5) / count as f64);
                out.push((None, Place { floor: leg[0].floor, at }));
            }
        }
    }
    out
}

/// Of places in walking order those that are needed to see all: of the ones in passing only those that see something
/// that was not seen before, asked forwards and then, of those left, backwards.
fn needed(scene: &Scene<'_>, places: Vec<Place>) -> Vec<Place> {
    let passing = passed(scene, &places);
    let mut keep: Vec<bool> = vec![true; places.len()];
    for backwards in [false, true] {
        let mut covers = covers(scene);
        let mut scratch = Scratch::default();
        for (place, _) in places.iter().zip(&passing).filter(|(_, passing)| !**passing) {
            covers[place.floor].see(place.at, scene.range(*place), &mut scratch);
        }
        let mut asked: Vec<usize> = (0..places.len()).filter(|&i| passing[i] && keep[i]).collect();
        if backwards {
            asked.reverse();
        }
        for i in asked {
            let place = places[i];
            let before = covers[place.floor].unseen_area();
            covers[place.floor].see(place.at, scene.range(place), &mut scratch);
            keep[i] = covers[place.floor].unseen_area() < before;
        }
    }
    places.into_iter().zip(keep).filter(|(_, keep)| *keep).map(|(place, _)| place).collect()
}

pub(crate) fn covers<'a>(scene: &Scene<'a>) -> Vec<Cover<'a>> {
    let width = scene.extent() * NARROW;
    let floors = scene.meshes.iter().enumerate();
    floors.map(|(floor, mesh)| Cover::new(mesh, width, |t| scene.wanted(floor, t))).collect()
}

pub(crate) type Pieces = Vec<(usize, Vec<Point>)>;

/// What is left unseen from some places: its area and its pieces.
pub(crate) fn left(scene: &Scene<'_>, places: &[Place]) -> (f64, Pieces) {
    let (mut scratch, mut area, mut pieces) = (Scratch::default(), 0.0, Vec::new());
    for (floor, mut cover) in covers(scene).into_iter().enumerate() {
        for place in places.iter().filter(|place| place.floor == floor) {
            cover.see(place.at, scene.range(*place), &mut scratch);
        }
        let unseen = cover.unseen();
        area += unseen.area;
        pieces.extend(unseen.pieces.into_iter().map(|(_, piece)| (floor, piece)));
    }
    (area, pieces)
}

/// Witnesses for what was missed: the middle of each piece, and points near the corners of the larger ones.
fn missed(scene: &Scene<'_>, pieces: &Pieces, random: &mut Random) -> Vec<Place> {
    let mut sized: Vec<(f64, usize)> =
        pieces.iter().enumerate().map(|(i, (_, piece))| (size(piece), i)).collect();
    sized.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut out = Vec::new();
    let large = scene.extent() * 0.01;
    for &(size, i) in sized.iter().take(60) {
        let (floor, piece) = &pieces[i];
        let sum = piece.iter().fold(Point::default(), |s, p| Point::new(s.x + p.x, s.y + p.y));
        let middle = Point::new(sum.x / piece.len() as f64, sum.y / piece.len() as f64);
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

/// The walk through places in order, closed, and its length.
fn drawn(scene: &Scene<'_>, places: &[Place]) -> (f64, Vec<Place>) {
    let mut walk: Vec<Place> = places.first().copied().into_iter().collect();
    let mut length = 0.0;
    for i in 0..places.len() {
        if let Some((leg, way)) = scene.trail(places[i], places[(i + 1) % places.len()]) {
            length += leg;
            walk.extend(way.into_iter().skip(1));
        }
    }
    walk.dedup();
    (length, walk)
}

fn passed(scene: &Scene<'_>, places: &[Place]) -> Vec<bool> {
    let n = places.len();
    let length = |a, b| scene.trail(a, b).map_or(f64::INFINITY, |(length, _)| length);
    let tiny = scene.extent() * 1e-9;
    (0..n)
        .map(|i| {
            let (a, x, b) = (places[(i + n - 1) % n], places[i], places[(i + 1) % n]);
            n > 2 && length(a, x) + length(x, b) - length(a, b) <= tiny
        })
        .collect()
}
