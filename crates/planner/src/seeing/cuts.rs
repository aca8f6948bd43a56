//! Bounds by orders of regions, made better cut by cut: the shortest walk that comes to the regions known so far leaves
//! something unseen; what it leaves gives further regions, and so on. Where it leaves nothing, it is as short as a walk
//! that sees all can be, but for how finely windows were cut.

use super::orders::{Ended, Fineness, Regions};
use super::scene::{Place, Scene};
use super::seek::passing;
use super::{Pieces, area, left};
use geometry::sweep::Scratch;
use geometry::{Cover, Point};

/// Marks beyond this number would take too much room (four bytes for each two of them).
const MARKS_MAX: usize = 2400;
/// What each two marks take to be measured, in lengths looked at.
const MEASURED: u64 = 20;
/// Regions beyond this number are left out.
const REGIONS_MAX: usize = 64;
/// Places that one cut adds, at most.
const FRESH_MAX: usize = 8;
/// Pieces of window on the walk are so long at first, as a share of the extent, and become finer cut by cut.
const FIRST_PIECE: f64 = 1.0 / 250.0;
const FINER: f64 = 0.75;
const FINEST_PIECE: f64 = 1.0 / 2000.0;
const SHARE_AWAY: f64 = 0.25;
/// With fewer marks than this for each region they say too little.
const MARKS_LEAST: usize = 15;
/// A smaller share of the known length is no gain.
const GAIN_LEAST: f64 = 1e-4;
/// Cuts one after another that bring nothing.
const IDLE_MAX: u32 = 4;

/// What is known before.
pub(super) struct Known<'a> {
    /// Places no two of which are seen from anywhere together.
    pub(super) hidden: &'a [Place],
    /// Other places that make a walk long, the most telling first.
    pub(super) telling: &'a [Place],
    /// A walk that sees all.
    pub(super) walk: &'a [Place],
    pub(super) length: f64,
}

/// A length that no closed walk that sees all is below, and places for which that holds of every walk that sees them;
/// found with about so much `work` (lengths looked at).
pub(super) fn least_by_orders(
    scene: &Scene<'_>,
    known: &Known<'_>,
    work: u64,
) -> (f64, Vec<Place>) {
    let mut best: (f64, Vec<Place>) = (0.0, Vec::new());
    if known.hidden.len() < 2 || known.length <= 0.0 || !known.length.is_finite() {
        return best;
    }
    let judge = Judge::new(scene, known.hidden);
    let telling = known.telling.iter().filter(|place| judge.lets_nobody_stay(**place));
    let mut places: Vec<Place> =
        known.hidden.iter().chain(telling).take(REGIONS_MAX).copied().collect();
    // What is left for looking once more, as finely as can be, at what was found.
    let last = work / 3;
    let (mut left_work, mut idle, mut piece) = (work - last, 0, FIRST_PIECE);
    while idle < IDLE_MAX {
        let Some((regions, ended)) = looked(scene, known, &places, (piece, 4), &mut left_work)
        else {
            break;
        };
        let used = regions.places.iter().zip(&ended.used).filter(|(_, used)| **used);
        let used: Vec<Place> = used.map(|(place, _)| *place).collect();
        let least = f64::from(ended.least).min(known.length);
        idle = if least > best.0 + GAIN_LEAST * known.length { 0 } else { idle + 1 };
        if least > best.0 {
            best = (least, used.clone());
        }
        if ended.order.is_empty() || left_work == 0 {
            break;
        }
        let fresh = unseen(scene, &regions.tour(&ended.order)).into_iter();
        let fresh = fresh.filter(|place| judge.lets_nobody_stay(*place)).take(FRESH_MAX);
        // What lengthened nothing makes room: it comes again where it is missed.
        places = used.into_iter().chain(fresh).take(REGIONS_MAX).collect();
        piece *= FINER;
    }
    left_work += last;
    if let Some((_, ended)) = looked(scene, known, &best.1, (FINEST_PIECE, 2), &mut left_work) {
        best.0 = f64::from(ended.least).min(known.length).max(best.0);
    }
    best
}

/// The regions of places, windows cut into pieces of so much of the extent or as finely as a `share`-th of the work that is
/// left allows, and what they say; none where that would be too coarse to say anything.
fn looked(
    scene: &Scene<'_>,
    known: &Known<'_>,
    places: &[Place],
    (piece, share): (f64, u64),
    left_work: &mut u64,
) -> Option<(Regions, Ended)> {
    let fineness = Fineness {
        on_the_walk: scene.extent() * piece,
        share_away: SHARE_AWAY * piece / FIRST_PIECE,
        marks: MARKS_MAX.min(libm::sqrt((*left_work / share / MEASURED) as f64) as usize),
    };
    if fineness.marks < MARKS_LEAST * places.len() {
        return None;
    }
    let regions = Regions::new(scene, places, (known.walk, known.length), fineness)?;
    *left_work = left_work.saturating_sub(MEASURED * (regions.count() * regions.count()) as u64);
    let ended = regions.search(left_work);
    Some((regions, ended))
}

/// Says of a place whether a walk that sees all could stay where that is seen.
struct Judge<'a> {
    scene: &'a Scene<'a>,
    fresh: Vec<Cover<'a>>,
    without: Vec<(usize, Cover<'a>)>,
}

/// So many hidden places are asked.
const JUDGES: usize = 4;

impl<'a> Judge<'a> {
    fn new(scene: &'a Scene<'a>, hidden: &[Place]) -> Judge<'a> {
        let width = scene.extent() * 1e-9;
        let fresh = scene.meshes.iter().map(|mesh| Cover::new(mesh, width, |_| true)).collect();
        let mut judge = Judge { scene, fresh, without: Vec::new() };
        for place in hidden.iter().take(JUDGES) {
            let mut cover = judge.fresh[place.floor].clone();
            judge.taken(&mut cover, *place);
            judge.without.push((place.floor, cover));
        }
        judge
    }

    /// The area that a view takes from what is left.
    fn taken(&self, cover: &mut Cover<'_>, place: Place) -> f64 {
        let before = cover.unseen_area() + cover.narrow_area;
        // A little farther, so that the polygon that stands for the circle holds all of it.
        cover.see(place.at, self.scene.farthest_sight() * 1.003, &mut Scratch::default());
        before - cover.unseen_area() - cover.narrow_area
    }

    /// A walk must also come to where a hidden place is seen; where the two have nothing in common, it cannot stay here.
    fn lets_nobody_stay(&self, place: Place) -> bool {
        let alone = self.taken(&mut self.fresh[place.floor].clone(), place);
        let crumb = 1e-9 * self.scene.floor_area();
        self.without.iter().any(|(floor, cover)| {
            *floor != place.floor || alone - self.taken(&mut cover.clone(), place) <= crumb
        })
    }
}

/// Places that are not seen from a closed walk, those in the largest pieces first.
fn unseen(scene: &Scene<'_>, tour: &[Place]) -> Vec<Place> {
    let places: Vec<Place> = passing(scene, tour).into_iter().map(|(_, place)| place).collect();
    let mut pieces: Pieces = left(scene, &places).1;
    pieces.sort_by(|a, b| area(&b.1).total_cmp(&area(&a.1)));
    let apart = scene.extent() * 0.01;
    let mut out: Vec<Place> = Vec::new();
    for (floor, piece) in pieces {
        let sum = piece.iter().fold(Point::default(), |s, p| Point::new(s.x + p.x, s.y + p.y));
        let at = Point::new(sum.x / piece.len() as f64, sum.y / piece.len() as f64);
        if out.iter().all(|known| known.floor != floor || known.at.distance(at) > apart) {
            out.push(Place { floor, at });
        }
        if out.len() == 2 * FRESH_MAX {
            break;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::{Grid, Mesh};

    /// Two deep niches 20 apart. All is seen by whoever goes from the one inner wall's line to the other's and back.
    fn comb() -> Mesh {
        let border = [
            (0.0, 0.0),
            (24.0, 0.0),
            (24.0, 12.0),
            (22.0, 12.0),
            (22.0, 2.0),
            (2.0, 2.0),
            (2.0, 12.0),
            (0.0, 12.0),
        ];
        let ring: Vec<Point> = border.iter().map(|&(x, y)| Point::new(x, y)).collect();
        Mesh::of_shape(&ring, &[], Grid::fine(100.0)).expect("a floor")
    }

    fn places(points: &[(f64, f64)]) -> Vec<Place> {
        points.iter().map(|&(x, y)| Place { floor: 0, at: Point::new(x, y) }).collect()
    }

    #[test]
    fn more_work_bounds_more_and_never_above_the_shortest_walk() {
        let comb = comb();
        let scene = Scene::single(&comb, f64::INFINITY);
        // Not the deepest places: what their walk leaves unseen gives those.
        let hidden = places(&[(1.0, 6.0), (23.0, 6.0)]);
        let walk = places(&[(2.0, 1.0), (22.0, 1.0), (2.0, 1.0)]);
        // A walk far longer than the shortest is known, so nothing hides a bound that is too high.
        let known = Known { hidden: &hidden, telling: &[], walk: &walk, length: 500.0 };
        let bounds = [0, 200_000, 20_000_000].map(|work| least_by_orders(&scene, &known, work).0);
        assert_eq!(bounds[0], 0.0);
        assert!(bounds.is_sorted() && (39.0..=40.0).contains(&bounds[2]), "{bounds:?}");
        // What the bound rests on bounds alone as well.
        let (least, by) = least_by_orders(&scene, &known, 20_000_000);
        let alone = Known { hidden: &by, ..known };
        assert!(least_by_orders(&scene, &alone, 20_000_000).0 >= 0.99 * least, "{by:?}");
    }

    #[test]
    fn a_walk_is_never_bounded_above_its_own_length() {
        let comb = comb();
        let scene = Scene::single(&comb, f64::INFINITY);
        let hidden = places(&[(1.0, 11.9), (23.0, 11.9)]);
        let known = Known { hidden: &hidden, telling: &[], walk: &[], length: 10.0 };
        assert_eq!(least_by_orders(&scene, &known, 20_000_000).0, 10.0);
    }

    /// Three rooms in a row, doors in the middle of the walls between them, 10 m apart: who stands in a door sees both of
    /// its rooms, so going from the one to the other and back is enough. A room's region has no windows then, only doors.
    #[test]
    fn a_region_is_entered_through_its_doors_too() {
        let room = |id: &str, from: i64| {
            let to = from + 10_000;
            let ring = format!("[[{from},0],[{to},0],[{to},6000],[{from},6000]]");
            format!(r#"{{"id":"{id}","name":"{id}","level":"g","zone":"z","shape":[{ring}]}}"#)
        };
        let door = |id: &str, x: i64| {
            format!(r#"{{"id":"{id}","level":"g","leaf":"door","line":[[{x},2500],[{x},3500]]}}"#)
        };
        let text = format!(
            r#"{{"version":1,"name":"Gannet Quay","levels":[{{"id":"g","name":"Ground","elevation_mm":0}}],
            "zones":[{{"id":"z","name":"Stores","gap_s":1800}}],"stops":[],
            "rooms":[{},{},{}],"openings":[{},{}]}}"#,
            room("a", 0),
            room("b", 10_000),
            room("c", 20_000),
            door("ab", 10_000),
            door("bc", 20_000),
        );
        let plan = floorplan::Plan::read(text.as_bytes()).expect("a plan");
        let floors = floorplan::Floors::new(&plan);
        let network = floorplan::Network::new(&plan, &floors, |_| Some(0.0));
        let scene = Scene::of_plan(&plan, &floors, &network, f64::INFINITY);
        let hidden = places(&[(500.0, 500.0), (29_500.0, 500.0)]);
        let walk = places(&[(10_000.0, 3000.0), (20_000.0, 3000.0), (10_000.0, 3000.0)]);
        let known = Known { hidden: &hidden, telling: &[], walk: &walk, length: 1e6 };
        let (least, _) = least_by_orders(&scene, &known, 20_000_000);
        assert!((18_000.0..=20_000.0).contains(&least), "{least}");
    }
}
