//! The order in which a closed walk comes to regions, by branch and bound.
//!
//! Whoever sees a place comes to its region, and whoever sees all comes to each of them in some order. The shortest walk
//! that comes to a few regions in one given order is found link by link; more regions can only make it longer. So an
//! order is taken, the region that lengthens it most wherever it is put is put everywhere, and the shortest of all orders
//! that are left bounds every walk (W. P. Coutinho, R. Q. do Nascimento, A. A. Pessoa and A. Subramanian, *A
//! branch-and-bound algorithm for the close-enough traveling salesman problem*, 2016). It can be ended at any time.
//!
//! Lengths are those between marks ([`super::windows`]) less how far from them a walk may come in, so they are never
//! overstated.

use super::scene::{Place, Scene};
use super::windows::{self, Mark};
use geometry::sweep::Scratch;
use geometry::{Point, Region, Straight, Tree};
use std::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;
use std::ops::Range;

/// How long a piece of window may be: so long on the known walk, and longer by a share of how far it is from there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fineness {
    pub(super) on_the_walk: f64,
    pub(super) share_away: f64,
    /// The most marks.
    pub(super) marks: usize,
}

/// Where the walk begins, marks within so much of the extent are taken for one.
const BEGINNING: f64 = 1.0 / 40.0;
/// A share of the known length below which a gain is none.
const CRUMB: f32 = 1e-5;
/// Pieces of window become longer by so much until there are few enough.
const LONGER: f64 = 1.3;

/// Regions as their marks, and lengths between these.
pub(super) struct Regions {
    /// The place that each is the region of.
    pub(super) places: Vec<Place>,
    /// The marks of each region.
    of: Vec<Range<usize>>,
    marks: Vec<Place>,
    /// Lengths between marks that no walk is below, row by row.
    least: Vec<f32>,
    /// Marks of the first region that are taken for one.
    begins: Vec<Range<usize>>,
    known: f32,
}

/// How a search ended.
pub(super) struct Ended {
    /// No walk that comes to all of the regions is shorter.
    pub(super) least: f32,
    /// The order that is so long; empty where no order is shorter than the known walk.
    pub(super) order: Vec<usize>,
    /// The regions that lengthened an order.
    pub(super) used: Vec<bool>,
}

impl Regions {
    /// The regions of places, none of which a walk that sees all can stay in; none where there are not two of them.
    pub(super) fn new(
        scene: &Scene<'_>,
        places: &[Place],
        (walk, length): (&[Place], f64),
        fineness: Fineness,
    ) -> Option<Regions> {
        let region = |place: &Place| Some((*place, windows::region(scene, *place)?));
        let regions: Vec<(Place, Region)> = places.iter().filter_map(region).collect();
        let mut longer = 1.0;
        let mut marked = loop {
            let marks = |(place, region): &(Place, Region)| {
                let longest = |at: Point| {
                    let away = away(walk, place.floor, at);
                    longer * (fineness.on_the_walk + fineness.share_away * away)
                };
                (*place, windows::marks(scene, *place, region, &longest))
            };
            let marked: Vec<(Place, Vec<Mark>)> = regions.iter().map(marks).collect();
            if marked.iter().map(|(_, marks)| marks.len()).sum::<usize>() <= fineness.marks {
                break marked;
            }
            longer *= LONGER;
            if longer > 1e3 {
                return None;
            }
        };
        // One that nobody leaves bounds nothing.
        marked.retain(|(_, marks)| !marks.is_empty());
        // A walk that begins in few marks is soon gone through.
        let first = (0..marked.len()).min_by_key(|&i| marked[i].1.len())?;
        marked.swap(0, first);
        let (mut marks, mut of): (Vec<Mark>, Vec<Range<usize>>) = (Vec::new(), Vec::new());
        for (_, own) in &marked {
            of.push(marks.len()..marks.len() + own.len());
            marks.extend(own);
        }
        if of.len() < 2 {
            return None;
        }
        let begins = begins(&marks, of[0].clone(), scene.extent() * BEGINNING);
        Some(Regions {
            places: marked.into_iter().map(|(place, _)| place).collect(),
            of,
            least: lengths(scene, &marks)?,
            marks: marks.into_iter().map(|mark| mark.place).collect(),
            begins,
            known: length as f32,
        })
    }

    /// How many marks there are.
    pub(super) fn count(&self) -> usize {
        self.marks.len()
    }

    /// Goes through orders until the shortest cannot be lengthened, or so many lengths were looked at.
    pub(super) fn search(&self, left: &mut u64) -> Ended {
        let mut used = vec![false; self.of.len()];
        let mut open = BinaryHeap::from([Reverse(Node { least: 0.0, order: vec![0] })]);
        let known = self.known * (1.0 - CRUMB);
        while let Some(Reverse(node)) = open.pop() {
            if node.least >= known {
                break;
            }
            let Some((region, more)) = self.branch(&node, left) else {
                return Ended { least: node.least, order: node.order, used };
            };
            (used[0], used[region]) = (true, true);
            open.extend(more.into_iter().filter(|next| next.least < known).map(Reverse));
        }
        Ended { least: self.known, order: Vec::new(), used }
    }

    /// The region that lengthens an order most, and the orders with it everywhere; none where none does, or the work is
    /// done.
    fn branch(&self, node: &Node, left: &mut u64) -> Option<(usize, Vec<Node>)> {
        let ways: Vec<Links> = (self.begins.iter())
            .map(|begin| Links::new(self, &node.order, begin.clone()))
            .filter(|links| links.closed < self.known)
            .collect();
        let (mut best, mut most) = (None, node.least * (1.0 + 0.1 * CRUMB));
        for region in (0..self.of.len()).filter(|region| !node.order.contains(region)) {
            let cost = ways.iter().map(|links| links.cost(self, region)).sum::<u64>();
            *left = left.checked_sub(cost)?;
            let mut at = vec![self.known; node.order.len()];
            ways.iter().for_each(|links| links.with(self, region, &mut at));
            let least = at.iter().copied().fold(f32::INFINITY, f32::min);
            if least > most {
                (best, most) = (Some((region, at)), least);
            }
            if least >= self.known {
                break;
            }
        }
        let (region, at) = best?;
        // The way round does not matter, so with two it has one place.
        let places = if node.order.len() == 2 { 1 } else { node.order.len() };
        let next = |place: usize| {
            let mut order = node.order.clone();
            order.insert(place + 1, region);
            Node { least: at[place].max(node.least), order }
        };
        Some((region, (0..places).map(next).collect()))
    }

    /// The marks by which an order is as long as its bound says.
    pub(super) fn tour(&self, order: &[usize]) -> Vec<Place> {
        let ways = self.begins.iter().map(|begin| Links::new(self, order, begin.clone()));
        let Some(links) = ways.min_by(|a, b| a.closed.total_cmp(&b.closed)) else {
            return Vec::new();
        };
        let begin = links.ends[0].0.clone();
        let to = |mark: usize, next: usize| self.least[mark * self.marks.len() + next];
        let back =
            |mark: usize| begin.clone().map(|first| to(mark, first)).fold(f32::INFINITY, f32::min);
        let mut tour: Vec<usize> = Vec::new();
        for (from, (own, _)) in links.from.iter().zip(&links.ends).rev() {
            let rest = |mark: usize| tour.last().map_or_else(|| back(mark), |&next| to(mark, next));
            let whole = |mark: &usize| from[mark - own.start] + rest(*mark);
            tour.extend(own.clone().min_by(|a, b| whole(a).total_cmp(&whole(b))));
        }
        tour.into_iter().rev().map(|mark| self.marks[mark]).collect()
    }
}

/// Regions in the order of a walk, and what no walk that comes to them in this order is below.
#[derive(Debug, PartialEq)]
struct Node {
    least: f32,
    order: Vec<usize>,
}

impl Eq for Node {}

impl Ord for Node {
    fn cmp(&self, other: &Self) -> Ordering {
        // Of equal ones the one that is farther on.
        let longer = other.order.len().cmp(&self.order.len());
        self.least.total_cmp(&other.least).then(longer).then_with(|| self.order.cmp(&other.order))
    }
}

impl PartialOrd for Node {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// The shortest ways from the beginning to each mark of an order, and from there to the end.
struct Links {
    from: Vec<Vec<f32>>,
    /// To the end from the marks of the next region.
    to: Vec<Vec<f32>>,
    /// Regions from which and to which these lead.
    ends: Vec<(Range<usize>, Range<usize>)>,
    closed: f32,
}

impl Links {
    fn new(regions: &Regions, order: &[usize], begin: Range<usize>) -> Links {
        let at = |i: usize| match i % order.len() {
            0 => begin.clone(),
            i => regions.of[order[i]].clone(),
        };
        let count = order.len();
        let mut from = vec![vec![0.0; begin.len()]];
        let mut to = vec![vec![0.0; begin.len()]];
        for i in 1..count {
            from.push(regions.on(&from[i - 1], &at(i - 1), &at(i)));
            to.push(regions.on(&to[i - 1], &at(count + 1 - i), &at(count - i)));
        }
        to.reverse();
        let last = regions.on(&from[count - 1], &at(count - 1), &begin);
        let closed = if count == 1 { 0.0 } else { last.into_iter().fold(f32::INFINITY, f32::min) };
        let ends = (0..count).map(|i| (at(i), at(i + 1))).collect();
        Links { from, to, ends, closed }
    }

    fn cost(&self, regions: &Regions, region: usize) -> u64 {
        let marks: usize = self.ends.iter().map(|(a, b)| a.len() + b.len()).sum();
        (marks * regions.of[region].len()) as u64
    }

    /// Lowers `least` to what the order is long at least with a region behind each of its places.
    fn with(&self, regions: &Regions, region: usize, least: &mut [f32]) {
        let own = &regions.of[region];
        for (i, (a, b)) in self.ends.iter().enumerate() {
            let there = regions.on(&self.from[i], a, own);
            let back = regions.on(&self.to[i], b, own);
            let both = there.iter().zip(&back).map(|(there, back)| there + back);
            least[i] = both.fold(least[i], f32::min);
        }
    }
}

impl Regions {
    /// Carries the shortest ways on from the marks of one region to those of another.
    fn on(&self, so_far: &[f32], a: &Range<usize>, b: &Range<usize>) -> Vec<f32> {
        let mut out = vec![f32::INFINITY; b.len()];
        for (mark, &length) in a.clone().zip(so_far).filter(|(_, length)| **length < self.known) {
            let row =
                &self.least[mark * self.marks.len()..(mark + 1) * self.marks.len()][b.clone()];
            for (out, least) in out.iter_mut().zip(row) {
                *out = out.min(length + least);
            }
        }
        out
    }
}

/// Runs of neighbouring marks that lie within a distance from the first of them.
fn begins(marks: &[Mark], all: Range<usize>, within: f64) -> Vec<Range<usize>> {
    let mut out: Vec<Range<usize>> = Vec::new();
    for i in all {
        match out.last_mut() {
            Some(run)
                if marks[run.start].place.floor == marks[i].place.floor
                    && marks[run.start].place.at.distance(marks[i].place.at) <= within =>
            {
                run.end = i + 1;
            }
            _ => out.push(i..i + 1),
        }
    }
    out
}

/// How far a point is from the corners and legs of a walk, as the crow flies: only to choose how fine to look.
fn away(walk: &[Place], floor: usize, at: Point) -> f64 {
    let legs = walk.windows(2).filter(|leg| leg[0].floor == floor && leg[1].floor == floor);
    let far = legs.map(|leg| {
        let (a, b) = (leg[0].at, leg[1].at);
        let (dx, dy) = (b.x - a.x, b.y - a.y);
        let whole = dx * dx + dy * dy;
        let along = ((at.x - a.x) * dx + (at.y - a.y) * dy) / if whole > 0.0 { whole } else { 1.0 };
        at.distance(a.toward(b, along.clamp(0.0, 1.0)))
    });
    let far = far.fold(f64::INFINITY, f64::min);
    if far.is_finite() { far } else { 0.0 }
}

/// What a walk between each two marks' pieces is long at least, whichever way it goes; infinite where there is no way, and
/// none where a mark stands off the floor.
fn lengths(scene: &Scene<'_>, marks: &[Mark]) -> Option<Vec<f32>> {
    let places: Vec<Place> = marks.iter().map(|mark| mark.place).collect();
    let placed = scene.placed(&places);
    let (mut scratch, mut tree) = (Scratch::default(), Tree::default());
    let straight: Vec<Straight> = (places.iter())
        .map(|place| scene.straight(*place, &placed[place.floor], &mut scratch))
        .collect();
    if straight.iter().any(|straight| straight.nodes.is_empty() && straight.points.is_empty()) {
        return None;
    }
    let n = marks.len();
    let mut out = vec![0.0f32; n * n];
    let mut row = vec![f64::INFINITY; n];
    // On a single floor the way back is the way.
    let differ = !scene.portals().is_empty();
    for i in 0..n {
        row.fill(f64::INFINITY);
        straight[i].points.iter().for_each(|&(j, length)| row[j as usize] = length);
        scene.search(&straight[i].nodes, &mut tree);
        let others = straight.iter().enumerate().filter(|(j, _)| *j > i || (*j < i && differ));
        for (j, straight) in others {
            let around = straight.nodes.iter().map(|&(node, length)| tree.length(node) + length);
            let length = around.fold(row[j], f64::min);
            let least = (length - marks[i].half - marks[j].half).max(0.0);
            // Less than is lost by rounding, also when many are added up.
            out[i * n + j] = (least * (1.0 - 1e-5)) as f32;
        }
    }
    for i in 0..n {
        for j in 0..i {
            let there = out[j * n + i];
            let least = if differ { there.min(out[i * n + j]) } else { there };
            (out[i * n + j], out[j * n + i]) = (least, least);
        }
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::{Grid, Mesh};

    fn places(points: &[(f64, f64)]) -> Vec<Place> {
        points.iter().map(|&(x, y)| Place { floor: 0, at: Point::new(x, y) }).collect()
    }

    /// A square of 20, seen within 3, and how long a walk is at least from which these places are seen.
    fn within_3(points: &[(f64, f64)]) -> (f64, Vec<Place>) {
        let ring = [(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)];
        let ring: Vec<Point> = ring.iter().map(|&(x, y)| Point::new(x, y)).collect();
        let hall = Mesh::of_shape(&ring, &[], Grid::fine(100.0)).expect("a floor");
        let scene = Scene::single(&hall, 3.0);
        let walk = places(&[(2.1, 2.1), (17.9, 2.1), (17.9, 17.9), (2.1, 17.9), (2.1, 2.1)]);
        let fineness = Fineness { on_the_walk: 0.1, share_away: 0.2, marks: 2000 };
        // A walk far longer than the shortest is known, so nothing hides a bound that is too high.
        let regions = Regions::new(&scene, &places(points), (&walk, 500.0), fineness);
        let regions = regions.expect("regions");
        let ended = regions.search(&mut 100_000_000);
        (f64::from(ended.least), regions.tour(&ended.order))
    }

    /// One must come within 3 of each corner. The shortest closed way does so on the diagonals, where it is turned back at
    /// equal angles: 4 · (20 − 2 · 3 / √2).
    #[test]
    fn four_corners_of_a_square_within_a_range() {
        let corners = [(0.01, 0.01), (19.99, 19.99), (19.99, 0.01), (0.01, 19.99)];
        let shortest = 4.0 * (20.0 - 6.0 / std::f64::consts::SQRT_2);
        let (least, tour) = within_3(&corners);
        assert!((shortest * 0.985..=shortest).contains(&least), "{least} of {shortest}");
        // It goes round, not across.
        let legs = (0..4).map(|i| tour[i].at.distance(tour[(i + 1) % 4].at));
        let length: f64 = legs.sum();
        assert!((least..=shortest * 1.015).contains(&length), "{tour:?}");
        // The middle of a side is passed within 3 anyway.
        let (same, _) = within_3(&[&corners[..], &[(10.0, 0.01)]].concat());
        assert!((shortest * 0.985..=shortest).contains(&same), "{same} of {shortest}");
        // The middle of the hall is not: turning in for it at (10, 7) makes one side of 15.757 to
        // 2 · √(7.879² + 4.879²) = 18.534, and the shortest walk is no longer than that.
        let (more, _) = within_3(&[&corners[..], &[(10.0, 10.0)]].concat());
        assert!((least + 1.5..=shortest - 15.757 + 18.535).contains(&more), "{more}");
    }

    #[test]
    fn without_work_nothing_is_claimed() {
        let corners = places(&[(0.01, 0.01), (19.99, 19.99)]);
        let ring = [(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)];
        let ring: Vec<Point> = ring.iter().map(|&(x, y)| Point::new(x, y)).collect();
        let hall = Mesh::of_shape(&ring, &[], Grid::fine(100.0)).expect("a floor");
        let scene = Scene::single(&hall, 3.0);
        let fineness = Fineness { on_the_walk: 0.5, share_away: 0.2, marks: 500 };
        let regions = Regions::new(&scene, &corners, (&[], 500.0), fineness).expect("regions");
        assert_eq!(regions.search(&mut 0).least, 0.0);
        // Too many marks for the room there is, and nobody to come to.
        let few = Fineness { marks: 1, ..fineness };
        assert!(Regions::new(&scene, &corners, (&[], 500.0), few).is_none());
        assert!(Regions::new(&scene, &corners[..1], (&[], 500.0), fineness).is_none());
    }
}
