//! The same ways by the crate `polyanya` (optimal any-angle search on a mesh of its own; M. Cui, D. D. Harabor and
//! A. Grastien, 2017), which counts in single precision. It is asked pair by pair, ours for all pairs at once.

use crate::machine::thread_cpu_s;
use crate::map::Map;
use anyhow::{Result, ensure};
use geometry::Point;
use glam::Vec2;
use polyanya::Triangulation;

/// It counts in single precision, and moves places off its mesh a little: more than this share is no rounding.
const ROUNDING: f64 = 1e-4;

/// What the other library says of some pairs.
pub(super) struct Judged {
    pub(super) pairs: usize,
    /// Pairs it found no way for, though ours did, or places it takes for off its mesh.
    pub(super) without: usize,
    /// Largest difference as a share of the length, of the pairs that are not disputed.
    pub(super) worst: f64,
    /// Pairs whose lengths differ by more than rounding: from, to and their length.
    pub(super) disputed: Vec<(usize, usize, f64)>,
    pub(super) load_s: f64,
    pub(super) search_s: f64,
}

/// Asks about the first pairs, at most `pairs_max` of them.
pub(super) fn judged(
    map: &Map,
    points: &[Point],
    matrix: &[f64],
    pairs_max: usize,
) -> Result<Judged> {
    let began = thread_cpu_s()?;
    let mesh = mesh(map);
    let load_s = thread_cpu_s()? - began;
    let n = points.len();
    let asked: Vec<(usize, usize)> = (1..n)
        .flat_map(|apart| (0..n - apart).map(move |i| (i, i + apart)))
        .filter(|&(i, j)| matrix[i * n + j].is_finite())
        .take(pairs_max)
        .collect();
    let places: Vec<Vec2> = points.iter().map(|&p| single(p)).collect();
    let began = thread_cpu_s()?;
    let theirs: Vec<Option<f32>> =
        asked.iter().map(|&(i, j)| Some(mesh.path(places[i], places[j])?.length)).collect();
    let search_s = thread_cpu_s()? - began;
    let (mut without, mut worst, mut disputed) = (0, 0.0f64, Vec::new());
    for (&(i, j), theirs) in asked.iter().zip(theirs) {
        let Some(theirs) = theirs.map(f64::from).filter(|length| *length > 0.0) else {
            without += 1;
            continue;
        };
        let share = (matrix[i * n + j] / theirs - 1.0).abs();
        if share > ROUNDING {
            disputed.push((i, j, theirs));
        } else {
            worst = worst.max(share);
        }
    }
    ensure!(without < asked.len(), "polyanya finds no way at all on this map");
    Ok(Judged { pairs: asked.len(), without, worst, disputed, load_s, search_s })
}

fn single(p: Point) -> Vec2 {
    Vec2::new(p.x as f32, p.y as f32)
}

fn mesh(map: &Map) -> polyanya::Mesh {
    let ring = |ring: &Vec<Point>| ring.iter().map(|&p| single(p)).collect::<Vec<_>>();
    let mut triangulation = Triangulation::from_outer_edges(&ring(&map.border));
    map.holes.iter().for_each(|hole| triangulation.add_obstacle(ring(hole)));
    let mut mesh = triangulation.as_navmesh();
    mesh.bake();
    mesh
}
