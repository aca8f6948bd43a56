//! A typed map, and four questions about it: its mesh; what is seen from the middle of each triangle of its floor, with
//! and without a range; all walking lengths and ways between these; the closed walk that sees everything.

use crate::bits;
use geometry::{Grid, Mesh, Point, Ways};
use ledger::Digest;
use planner::seeing::{Scene, walk_that_sees};
use planner::{Effort, Go};
use serde::Deserialize;

const SEED: u64 = 20;
const STEPS: u64 = 200;

/// A floor, in any unit.
#[derive(Deserialize)]
struct Map {
    border: Vec<[f64; 2]>,
    holes: Vec<Vec<[f64; 2]>>,
    /// How far one sees.
    range: f64,
}

/// Every vertex and triangle, as a digest: writing them out would take longer than the mesh.
pub(crate) fn mesh(text: &[u8]) -> Result<String, String> {
    let (mesh, _) = floor(text)?;
    let vertices = mesh.points.iter().flat_map(|at| [at.x.to_bits(), at.y.to_bits()]);
    let corners = mesh.triangles.iter().flatten().map(|corner| u64::from(*corner));
    let bytes: Vec<u8> = vertices.chain(corners).flat_map(u64::to_be_bytes).collect();
    let counts = (mesh.points.len(), mesh.triangles.len());
    Ok(format!("{} {} {} {}\n", counts.0, counts.1, bits(mesh.area), Digest::of(&bytes)))
}

pub(crate) fn sight(text: &[u8]) -> Result<String, String> {
    let (mesh, range) = floor(text)?;
    let mut out = String::new();
    for range in [f64::INFINITY, range] {
        middles(&mesh).iter().for_each(|place| out += &region(&mesh, *place, range));
    }
    Ok(out)
}

pub(crate) fn ways(text: &[u8]) -> Result<String, String> {
    let (mesh, _) = floor(text)?;
    let places = middles(&mesh);
    let mut out = String::new();
    let ways = Ways::new(&mesh, &[]);
    for length in ways.matrix(&mesh, &places) {
        out += &format!("{} ", bits(length));
    }
    out += "\n";
    for place in &places {
        let trail = ways.trail(&mesh, places[0], *place);
        out += &trail.map_or("-\n".to_owned(), |trail| points(trail.points));
    }
    Ok(out)
}

pub(crate) fn walk(text: &[u8]) -> Result<String, String> {
    let (mesh, range) = floor(text)?;
    let scene = Scene::single(&mesh, range);
    let walk = walk_that_sees(&scene, &mut Effort::new(SEED, STEPS, &mut |_| Go::On));
    let numbers = [walk.length, walk.unseen_area, walk.floor_area, walk.bound].map(bits);
    let walked = points(walk.walk.iter().map(|place| place.at));
    Ok(numbers.join(" ") + " " + &walked + &points(walk.viewpoints.iter().map(|place| place.at)))
}

fn middles(mesh: &Mesh) -> Vec<Point> {
    (0..mesh.triangles.len()).map(|t| mesh.middle(t)).collect()
}

/// The floor of a map, and how far one sees on it.
fn floor(text: &[u8]) -> Result<(Mesh, f64), String> {
    let map: Map = serde_json::from_slice(text).map_err(|error| error.to_string())?;
    let ring = |ring: &Vec<[f64; 2]>| ring.iter().map(|[x, y]| Point::new(*x, *y)).collect();
    let holes: Vec<Vec<Point>> = map.holes.iter().map(ring).collect();
    let reach = map.border.iter().flatten().fold(0.0_f64, |most, n| most.max(n.abs()));
    let mesh = Mesh::of_shape(&ring(&map.border), &holes, Grid::fine(reach));
    Ok((mesh.map_err(|fault| fault.to_string())?, map.range))
}

fn region(mesh: &Mesh, place: Point, range: f64) -> String {
    let Some(region) = mesh.region(place, range) else { return "-\n".to_owned() };
    let outline = region.pieces.iter().flat_map(|piece| [piece.a, piece.b]);
    let fine = region.polygon(0.1).into_iter();
    format!("{} {}", bits(region.area()), points(outline.chain(fine)))
}

fn points(points: impl IntoIterator<Item = Point>) -> String {
    let point = |p: Point| format!("{},{}", bits(p.x), bits(p.y));
    points.into_iter().map(point).collect::<Vec<_>>().join(" ") + "\n"
}
