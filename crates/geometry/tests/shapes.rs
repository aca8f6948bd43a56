//! Small floors with known answers, and laws that must hold on random ones.

use geometry::sweep::Scratch;
use geometry::{Cover, Grid, Location, Mesh, Point, Ways};

fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

fn ring(points: &[(f64, f64)]) -> Vec<Point> {
    points.iter().map(|&(x, y)| p(x, y)).collect()
}

fn hall() -> Mesh {
    let hole = ring(&[(4.0, 4.0), (6.0, 4.0), (6.0, 6.0), (4.0, 6.0)]);
    Mesh::of_shape(
        &ring(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]),
        &[hole],
        Grid::fine(10.0),
    )
    .expect("a hall")
}

/// From (2, 5) the pillar hides the trapezium between the rays through its near corners: at x = 10 they are at
/// 5 ± 4, so it hides (2 + 8) / 2 · 6 = 30 of 100. (Worked by hand.)
#[test]
fn a_pillar_hides_a_trapezium() {
    let mesh = hall();
    assert_eq!(mesh.area, 96.0);
    let region = mesh.region(p(2.0, 5.0), f64::INFINITY).expect("on the floor");
    assert!((region.area() - 70.0).abs() < 1e-12, "{}", region.area());
}

#[test]
fn a_range_is_a_circle_and_its_polygon_lies_inside() {
    let mesh = hall();
    let region = mesh.region(p(2.0, 2.0), 1.5).expect("on the floor");
    let circle = std::f64::consts::PI * 2.25;
    assert!((region.area() - circle).abs() < 1e-12, "{}", region.area());
    let polygon = region.polygon(0.1);
    assert!(area(&polygon) < circle && area(&polygon) > 0.99 * circle);
    let near_wall = mesh.region(p(0.0, 5.0), 1.0).expect("on the border");
    assert!((near_wall.area() - std::f64::consts::FRAC_PI_2).abs() < 1e-12, "{}", near_wall.area());
    let corner = mesh.region(p(0.0, 0.0), 1.0).expect("in the corner");
    assert!((corner.area() - std::f64::consts::FRAC_PI_4).abs() < 1e-12, "{}", corner.area());
}

#[test]
fn from_corners_and_borders() {
    let mesh = hall();
    assert_eq!(mesh.locate(p(4.0, 4.0)), mesh.locate(p(4.0, 4.0)));
    assert!(matches!(mesh.locate(p(4.0, 4.0)), Location::Vertex(_)));
    assert!(matches!(mesh.locate(p(5.0, 4.0)), Location::Edge(_)));
    assert_eq!(mesh.locate(p(5.0, 5.0)), Location::Outside);
    assert_eq!(mesh.locate(p(f64::NAN, 5.0)), Location::Outside);
    // From the pillar's corner all but the quarter behind both its sides is seen.
    let corner = mesh.region(p(4.0, 4.0), f64::INFINITY).expect("a vertex");
    assert!((corner.area() - (100.0 - 36.0)).abs() < 1e-12, "{}", corner.area());
    let side = mesh.region(p(5.0, 4.0), f64::INFINITY).expect("an edge");
    assert!((side.area() - 40.0).abs() < 1e-12, "{}", side.area());
}

/// Around the pillar from (2, 5) to (8, 5): two slanted legs of √5 and 2 along its side.
#[test]
fn around_a_pillar() {
    let mesh = hall();
    let ways = Ways::new(&mesh, &[]);
    let trail = ways.trail(&mesh, p(2.0, 5.0), p(8.0, 5.0)).expect("a way");
    assert!((trail.length - (2.0 + 2.0 * 5.0_f64.sqrt())).abs() < 1e-12, "{trail:?}");
    assert_eq!(trail.points.len(), 4);
    let matrix = ways.matrix(&mesh, &[p(2.0, 5.0), p(8.0, 5.0), p(2.0, 6.0)]);
    assert_eq!(matrix[1], matrix[3]);
    assert!((matrix[1] - trail.length).abs() < 1e-12);
    assert_eq!(matrix[2], 1.0);
}

/// A pillar whose right side has a corner in its middle that turns nowhere, as where another wall was joined to it: the
/// way along that side goes on past it. By hand: 6 + 2 √2.
#[test]
fn along_a_wall_past_a_corner_that_does_not_turn() {
    let pillar = ring(&[(2.0, 2.0), (6.0, 2.0), (6.0, 4.0), (6.0, 5.0), (6.0, 8.0), (2.0, 8.0)]);
    let border = ring(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]);
    let mesh = Mesh::of_shape(&border, &[pillar], Grid::fine(10.0)).expect("a floor");
    let ways = Ways::new(&mesh, &[]);
    let trail = ways.trail(&mesh, p(5.0, 1.0), p(5.0, 9.0)).expect("a way");
    assert!((trail.length - 6.0 - 2.0 * 2f64.sqrt()).abs() < 1e-12, "{trail:?}");
    let matrix = ways.matrix(&mesh, &[p(5.0, 1.0), p(5.0, 9.0)]);
    assert_eq!(matrix[1], trail.length);
}

#[test]
fn four_corners_see_the_hall() {
    let mesh = hall();
    let mut cover = Cover::new(&mesh, 1e-9, |_| true);
    let mut scratch = Scratch::default();
    let mut left = vec![cover.unseen_area()];
    for at in [p(1.0, 1.0), p(9.0, 9.0), p(1.0, 9.0), p(9.0, 1.0)] {
        assert!(cover.see(at, f64::INFINITY, &mut scratch));
        left.push(cover.unseen_area());
    }
    assert_eq!(left[0], 96.0);
    let hidden = 96.0 - mesh.region(p(1.0, 1.0), f64::INFINITY).expect("on the floor").area();
    assert!((left[1] - hidden).abs() < 1e-9, "{left:?}");
    assert_eq!(cover.unseen().pieces.len(), 0, "{left:?}");
    assert!(!cover.see(p(5.0, 5.0), 1.0, &mut scratch), "inside the pillar");
}

#[test]
fn a_range_leaves_what_is_beyond_it() {
    let mesh = hall();
    let mut cover = Cover::new(&mesh, 1e-9, |_| true);
    cover.see(p(2.0, 2.0), 1.5, &mut Scratch::default());
    let seen = 96.0 - cover.unseen_area();
    let circle = std::f64::consts::PI * 2.25;
    assert!(seen <= circle && seen > 0.997 * circle, "{seen} {circle}");
}

fn area(polygon: &[Point]) -> f64 {
    let next = |i: usize| polygon[(i + 1) % polygon.len()];
    0.5 * polygon.iter().enumerate().map(|(i, a)| a.x * next(i).y - next(i).x * a.y).sum::<f64>()
}
