//! `geodesic MAP --points N --seed S`: walking lengths between all pairs of random places, and a check of some of them
//! against a search that shares no code with ours: Dijkstra over all corners, each pair of which is tried against every
//! side of the map; and beside the library `polyanya` in the same run. Figures are in the file's own units, times are
//! processor time of the one thread.

mod judge;

use crate::machine::thread_cpu_s;
use crate::map::Map;
use crate::options::Options;
use crate::random::{Random, places};
use anyhow::{Result, ensure};
use geometry::{Point, Ways};

/// Beyond this many corners the check would take longer than anybody waits.
const CHECKED_CORNERS_MAX: usize = 4_000;
/// Pairs that are checked.
const CHECKED_PAIRS: usize = 24;
/// Ours and the check's may differ by rounding only, as a share of the length.
const SHARE_MAX: f64 = 1e-9;
/// Pairs that the other library is asked about.
const JUDGED_PAIRS: usize = 5_000;
pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["points", "seed"])?;
    let name = options.word("a map")?;
    let (count, seed): (usize, u64) = (options.get("points", 1000)?, options.get("seed", 1)?);
    ensure!((2..=20_000).contains(&count), "--points must be 2 to 20000");
    let map = Map::read(name)?;
    let mesh = map.mesh()?;
    let points = places(&mesh, count, &mut Random(seed));
    let began = thread_cpu_s()?;
    let ways = Ways::new(&mesh, &[]);
    let graph_ms = (thread_cpu_s()? - began) * 1e3;
    let began = thread_cpu_s()?;
    let matrix = ways.matrix(&mesh, &points);
    let matrix_ms = (thread_cpu_s()? - began) * 1e3;
    let finite: Vec<f64> = matrix.iter().copied().filter(|length| length.is_finite()).collect();
    let (checked, worst) = check(&map, &points, &matrix);
    let judged = judge::judged(&map, &points, &matrix, JUDGED_PAIRS)?;
    let (ours_right, unsettled) = settled(&map, &points, &matrix, &judged.disputed);
    let pairs_per_s = (count * count) as f64 / matrix_ms * 1e3;
    let theirs_per_s = judged.pairs as f64 / judged.search_s;
    println!(
        "{}",
        serde_json::json!({
            "bench": "geodesic", "map": name, "points": count, "seed": seed, "vertices": mesh.points.len(),
            "graph_ms": graph_ms, "matrix_ms": matrix_ms, "pairs_per_s": pairs_per_s,
            "mean_length": finite.iter().sum::<f64>() / finite.len().max(1) as f64,
            "longest": finite.iter().copied().fold(0.0, f64::max), "apart": matrix.len() - finite.len(),
            "checked_pairs": checked, "check_worst": worst,
            "polyanya": {
                "version": "0.18.0", "pairs": judged.pairs, "without": judged.without, "load_ms": judged.load_s * 1e3,
                "pairs_per_s": theirs_per_s, "ours_to_theirs": pairs_per_s / theirs_per_s,
                "worst": judged.worst, "disputed": judged.disputed.len(), "disputed_ours_right": ours_right,
                "disputed_unsettled": unsettled,
            },
        })
    );
    ensure!(worst <= SHARE_MAX, "a length differs from the check's by {worst} of it");
    ensure!(ours_right + unsettled == judged.disputed.len(), "a disputed way is not the shortest");
    Ok(())
}

/// Of pairs that the library disputes, in how many the check finds our length, and how many it cannot settle.
fn settled(
    map: &Map,
    points: &[Point],
    matrix: &[f64],
    disputed: &[(usize, usize, f64)],
) -> (usize, usize) {
    let sides = Sides::new(map);
    if !sides.usable() {
        return (0, disputed.len());
    }
    let asked = disputed.iter().take(SETTLED_MAX);
    let right = asked.filter(|&&(i, j, theirs)| {
        let length = sides.length(points[i], points[j]);
        let right = (matrix[i * points.len() + j] - length).abs() <= SHARE_MAX * length;
        eprintln!(
            "{:?} to {:?}: ours {}, polyanya {theirs}, the check {length}",
            points[i],
            points[j],
            matrix[i * points.len() + j]
        );
        right
    });
    (right.count(), disputed.len().saturating_sub(SETTLED_MAX))
}

/// Disputed pairs that the check is asked about.
const SETTLED_MAX: usize = 200;

/// How many pairs were checked, and the largest difference as a share of the length.
fn check(map: &Map, points: &[Point], matrix: &[f64]) -> (usize, f64) {
    let sides = Sides::new(map);
    if !sides.usable() {
        return (0, 0.0);
    }
    let mut worst = 0.0f64;
    let pairs = CHECKED_PAIRS.min(points.len() / 2);
    for k in 0..pairs {
        let (i, j) = (k, points.len() - 1 - k);
        let (ours, theirs) = (matrix[i * points.len() + j], sides.length(points[i], points[j]));
        let difference =
            if ours == theirs { 0.0 } else { (ours - theirs).abs() / theirs.min(ours) };
        worst = worst.max(difference);
    }
    (pairs, worst)
}

/// The map as its sides.
struct Sides {
    corners: Vec<Point>,
    sides: Vec<(Point, Point)>,
}

impl Sides {
    fn new(map: &Map) -> Self {
        let (mut corners, mut sides) = (Vec::new(), Vec::new());
        for ring in std::iter::once(&map.border).chain(&map.holes) {
            for (i, &a) in ring.iter().enumerate() {
                corners.push(a);
                sides.push((a, ring[(i + 1) % ring.len()]));
            }
        }
        Self { corners, sides }
    }

    /// Whether it can judge this map in time, and truly: where rings touch in a corner it would walk through.
    fn usable(&self) -> bool {
        let mut corners: Vec<(u64, u64)> =
            self.corners.iter().map(|p| (p.x.to_bits(), p.y.to_bits())).collect();
        corners.sort_unstable();
        self.corners.len() <= CHECKED_CORNERS_MAX && corners.windows(2).all(|two| two[0] != two[1])
    }

    /// The shortest way; whoever is settled looks at every corner.
    fn length(&self, from: Point, to: Point) -> f64 {
        let nodes: Vec<Point> =
            [from, to].into_iter().chain(self.corners.iter().copied()).collect();
        let mut lengths = vec![f64::INFINITY; nodes.len()];
        let mut settled = vec![false; nodes.len()];
        lengths[0] = 0.0;
        let least = |lengths: &[f64], settled: &[bool]| -> Option<usize> {
            let open = (0..lengths.len()).filter(|&i| !settled[i] && lengths[i].is_finite());
            // What is left to go, straight, is no more than the way (Hart, Nilsson and Raphael, 1968).
            let total = |i: &usize| lengths[*i] + nodes[*i].distance(to);
            open.min_by(|a, b| total(a).total_cmp(&total(b)))
        };
        while let Some(i) = least(&lengths, &settled) {
            if i == 1 {
                break;
            }
            settled[i] = true;
            for j in 1..nodes.len() {
                let reached = lengths[i] + nodes[i].distance(nodes[j]);
                if !settled[j] && reached < lengths[j] && self.free(nodes[i], nodes[j]) {
                    lengths[j] = reached;
                }
            }
        }
        lengths[1]
    }

    /// Whether a segment stays on the floor; one that passes a corner is made of two that do not.
    fn free(&self, a: Point, b: Point) -> bool {
        if a == b {
            return true;
        }
        let turn =
            |p: Point, q: Point, r: Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
        let mut along = false;
        for &(c, d) in &self.sides {
            let (s, t) = (turn(a, b, c), turn(a, b, d));
            if s == 0.0 && c != a && c != b {
                let dot = (c.x - a.x) * (b.x - a.x) + (c.y - a.y) * (b.y - a.y);
                if dot > 0.0 && dot < a.distance2(b) {
                    return false;
                }
            }
            along |= (a == c && b == d) || (a == d && b == c);
            let (u, v) = (turn(c, d, a), turn(c, d, b));
            if s * t < 0.0 && u * v < 0.0 {
                return false;
            }
        }
        along || self.inside(a.toward(b, 0.5))
    }

    fn inside(&self, p: Point) -> bool {
        let crossed = self.sides.iter().filter(|(a, b)| {
            (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)
        });
        crossed.count() % 2 == 1
    }
}
