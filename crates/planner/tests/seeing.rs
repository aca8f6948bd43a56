//! Walks that see all, on floors with known answers.

use geometry::sweep::Scratch;
use geometry::{Cover, Grid, Mesh, Point};
use planner::seeing::{Scene, fewest_viewpoints, walk_that_sees};
use planner::{Effort, Go};

fn mesh(border: &[(f64, f64)], holes: &[&[(f64, f64)]]) -> Mesh {
    let ring =
        |points: &[(f64, f64)]| points.iter().map(|&(x, y)| Point::new(x, y)).collect::<Vec<_>>();
    let holes: Vec<_> = holes.iter().map(|hole| ring(hole)).collect();
    Mesh::of_shape(&ring(border), &holes, Grid::fine(100.0)).expect("a floor")
}

fn check(mesh: &Mesh, range: f64, expect: impl Fn(f64, usize, f64)) {
    let scene = Scene::single(mesh, range);
    let mut go = |_| Go::On;
    let walk = walk_that_sees(&scene, &mut Effort::new(1, 2500, &mut go));
    // Judged by what the answer says, not by what the search thought.
    let mut cover = Cover::new(mesh, 1e-5, |_| true);
    for place in &walk.viewpoints {
        assert!(cover.see(place.at, range, &mut Scratch::default()));
    }
    assert_eq!((cover.unseen_area(), walk.unseen_area), (0.0, 0.0));
    let length: f64 = walk.walk.windows(2).map(|ends| ends[0].at.distance(ends[1].at)).sum();
    assert!((length - walk.length).abs() < 1e-9 && walk.bound <= walk.length, "{walk:?}");
    expect(walk.length, walk.viewpoints.len(), walk.bound);
}

#[test]
fn a_room_is_seen_from_one_place() {
    let room = mesh(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)], &[]);
    check(&room, f64::INFINITY, |length, count, _| assert!(length == 0.0 && count == 1));
}

/// An L of two arms of width 2 is seen whole from its inner corner's square, so nobody has to walk.
#[test]
fn an_angle_is_seen_from_its_corner() {
    let angle =
        mesh(&[(0.0, 0.0), (10.0, 0.0), (10.0, 2.0), (2.0, 2.0), (2.0, 10.0), (0.0, 10.0)], &[]);
    check(&angle, f64::INFINITY, |length, count, _| {
        assert!(length < 1e-3 && count <= 2, "{length} {count}")
    });
}

/// A comb of two deep niches 20 apart: along each inner wall one sees only from below the niche, so one walks from the
/// one wall's line to the other's and back: 2 · 20.
#[test]
fn two_niches_make_one_walk() {
    let comb = mesh(
        &[
            (0.0, 0.0),
            (24.0, 0.0),
            (24.0, 12.0),
            (22.0, 12.0),
            (22.0, 2.0),
            (2.0, 2.0),
            (2.0, 12.0),
            (0.0, 12.0),
        ],
        &[],
    );
    check(&comb, f64::INFINITY, |length, _, bound| {
        assert!((39.99..40.5).contains(&length), "{length}");
        assert!(bound > 30.0 && bound <= length, "{bound} of {length}");
    });
}

/// With a range of 3 in a corridor of 40 × 2 both ends must come within 3: at least 2 · (40 − 6).
#[test]
fn a_range_makes_one_walk_the_corridor() {
    let corridor = mesh(&[(0.0, 0.0), (40.0, 0.0), (40.0, 2.0), (0.0, 2.0)], &[]);
    check(&corridor, 3.0, |length, _, bound| {
        assert!((68.0..71.5).contains(&length), "{length}");
        assert!(bound > 50.0, "{bound}");
    });
}

/// Three deep niches need three viewpoints at least, and three are enough (each sees its niche and the hall before it).
#[test]
fn fewest_and_its_bound() {
    let comb = mesh(
        &[
            (0.0, 0.0),
            (22.0, 0.0),
            (22.0, 30.0),
            (20.0, 30.0),
            (20.0, 2.0),
            (12.0, 2.0),
            (12.0, 30.0),
            (10.0, 30.0),
            (10.0, 2.0),
            (2.0, 2.0),
            (2.0, 30.0),
            (0.0, 30.0),
        ],
        &[],
    );
    let scene = Scene::single(&comb, f64::INFINITY);
    let mut go = |_| Go::On;
    let (places, least) = fewest_viewpoints(&scene, &mut Effort::new(1, 2500, &mut go));
    assert_eq!((places.len(), least), (3, 3));
}

#[test]
fn the_same_seed_gives_the_same_walk() {
    let hole: &[(f64, f64)] = &[(4.0, 4.0), (6.0, 4.0), (6.0, 6.0), (4.0, 6.0)];
    let hall = mesh(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)], &[hole]);
    let scene = Scene::single(&hall, f64::INFINITY);
    let walk = |seed| walk_that_sees(&scene, &mut Effort::new(seed, 1500, &mut |_| Go::On));
    assert_eq!(walk(3), walk(3));
}
