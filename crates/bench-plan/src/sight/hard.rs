//! `sight MAP|all --hard N [--judged K] --seed S`: places where sight is hard to get right: on vertices, on edges, and so
//! near to a vertex that rounding matters. None may fail; K of each map are judged by CGAL with exact numbers.

use crate::data;
use crate::map::Map;
use crate::random::Random;
use anyhow::{Context, Result, ensure};
use geometry::sweep::Scratch;
use geometry::{Grid, Point, Region};
use std::fmt::Write as _;
use std::io::Write as _;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

const JUDGE: &str = include_str!("cgal.cpp");
/// An area may differ from the exact one by this share of the larger of it and a ten-thousandth of the floor.
const SHARE_MAX: f64 = 1e-9;

pub(super) fn run(name: &str, count: usize, judged: usize, seed: u64) -> Result<()> {
    let names = if name == "all" { all()? } else { vec![name.to_owned()] };
    let judge = compiled()?;
    let (mut crashed, mut wrong, mut queries, mut compared) = (0, 0, 0, 0);
    for name in &names {
        let found = one(&judge, name, count / names.len(), judged, seed)?;
        println!(
            "{}",
            serde_json::json!({
                "bench": "sight", "map": name, "hard": found.queries, "on_floor": found.on_floor,
                "crashed": found.crashed, "judged": found.judged, "wrong": found.wrong, "worst_share": found.worst,
            })
        );
        crashed += found.crashed;
        wrong += found.wrong;
        queries += found.queries;
        compared += found.judged;
    }
    println!(
        "{}",
        serde_json::json!({
            "bench": "sight", "maps": names.len(), "hard": queries, "crashed": crashed, "judged": compared, "wrong": wrong,
            "seed": seed, "judge": "CGAL triangular expansion, exact numbers",
        })
    );
    ensure!(crashed == 0 && wrong == 0, "{crashed} queries crashed, {wrong} are wrong");
    Ok(())
}

fn all() -> Result<Vec<String>> {
    let mut names = Vec::new();
    for folder in ["maps", "agp"] {
        let path = data::path(folder)?;
        for file in std::fs::read_dir(&path)? {
            names.push(format!("{folder}/{}", file?.file_name().to_string_lossy()));
        }
    }
    names.sort();
    Ok(names)
}

/// The judge, compiled when its text is newer than what stands below `target/`.
fn compiled() -> Result<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/peers");
    std::fs::create_dir_all(&folder)?;
    let (source, program) = (folder.join("cgal.cpp"), folder.join("cgal"));
    if program.exists() && std::fs::read_to_string(&source).is_ok_and(|text| text == JUDGE) {
        return Ok(program);
    }
    std::fs::write(&source, JUDGE)?;
    let made = Command::new("g++")
        .args(["-O2", "-std=c++17", "-o"])
        .args([&program, &source])
        .args(["-lgmp", "-lmpfr"])
        .status();
    ensure!(
        made.is_ok_and(|status| status.success()),
        "the judge could not be compiled: install g++ and libcgal-dev"
    );
    Ok(program)
}

struct Found {
    queries: usize,
    on_floor: usize,
    crashed: usize,
    judged: usize,
    wrong: usize,
    worst: f64,
}

fn one(judge: &Path, name: &str, count: usize, judged: usize, seed: u64) -> Result<Found> {
    let map = Map::read(name)?;
    let mesh = map.mesh()?;
    let grid = Grid::fine(map.extent());
    let rings: Vec<Vec<Point>> = (std::iter::once(&map.border).chain(&map.holes))
        .map(|ring| ring.iter().map(|&p| grid.snap(p)).collect())
        .collect();
    let places = hard(&rings, map.extent(), count, &mut Random(seed));
    let (mut scratch, mut region) = (Scratch::default(), Region::default());
    let (mut on_floor, mut crashed) = (0, 0);
    let mut areas = Vec::with_capacity(places.len());
    for &p in &places {
        let seen = catch_unwind(AssertUnwindSafe(|| {
            mesh.region_into(p, f64::INFINITY, &mut scratch, &mut region).then(|| region.area())
        }));
        on_floor += usize::from(matches!(seen, Ok(Some(_))));
        let area = seen.unwrap_or(Some(f64::NAN)).unwrap_or(0.0);
        crashed += usize::from(!(area >= 0.0 && area <= mesh.area * (1.0 + SHARE_MAX)));
        areas.push(area);
    }
    let step = (places.len() / judged.max(1)).max(1);
    let asked: Vec<usize> = (0..places.len()).step_by(step).collect();
    let exact = exact(judge, &rings, &asked.iter().map(|&i| places[i]).collect::<Vec<_>>())?;
    let (mut wrong, mut worst) = (0, 0.0f64);
    for (&i, &exact) in asked.iter().zip(&exact) {
        let share = (areas[i] - exact).abs() / exact.max(areas[i]).max(mesh.area * 1e-4);
        worst = worst.max(share);
        if share.is_nan() || share > SHARE_MAX {
            wrong += 1;
            eprintln!("{name} {:?}: {} instead of {exact}", places[i], areas[i]);
        }
    }
    Ok(Found { queries: places.len(), on_floor, crashed, judged: asked.len(), wrong, worst })
}

/// Vertices, places on edges, and places beside vertices: a few units in the last place away, or up to a millionth of
/// the extent.
fn hard(rings: &[Vec<Point>], extent: f64, count: usize, random: &mut Random) -> Vec<Point> {
    let corners: Vec<(Point, Point)> = (rings.iter())
        .flat_map(|ring| (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()])))
        .collect();
    (0..count)
        .map(|k| {
            let (a, b) =
                corners[((random.unit() * corners.len() as f64) as usize).min(corners.len() - 1)];
            match k % 4 {
                0 => a,
                1 => a.toward(b, [0.5, 0.25, random.unit()][k / 4 % 3]),
                2 => {
                    let steps = |x: f64, n: i64| f64::from_bits((x.to_bits() as i64 + n) as u64);
                    let n = || (k as i64 / 4) % 5 - 2;
                    let moved =
                        |x: f64| if x == 0.0 { extent * 1e-17 * n() as f64 } else { steps(x, n()) };
                    Point::new(moved(a.x), if k % 8 < 4 { a.y } else { moved(a.y) })
                }
                _ => {
                    let far = extent * libm::pow(10.0, -6.0 - 10.0 * random.unit());
                    let (sin, cos) = libm::sincos(std::f64::consts::TAU * random.unit());
                    Point::new(a.x + far * cos, a.y + far * sin)
                }
            }
        })
        .collect()
}

fn exact(judge: &Path, rings: &[Vec<Point>], places: &[Point]) -> Result<Vec<f64>> {
    let mut text = format!("{}\n", rings.len());
    let mut list = |points: &[Point]| {
        let _ = writeln!(text, "{}", points.len());
        for p in points {
            let _ = writeln!(text, "{:e} {:e}", p.x, p.y);
        }
    };
    rings.iter().for_each(|ring| list(ring));
    list(places);
    let mut child =
        Command::new(judge).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().context("CGAL")?;
    let mut input = child.stdin.take().context("the pipe is open")?;
    // The judge reads all before it writes.
    input.write_all(text.as_bytes())?;
    drop(input);
    let output = child.wait_with_output()?;
    ensure!(output.status.success(), "the judge failed");
    let areas = std::str::from_utf8(&output.stdout)?.lines().map(str::parse::<f64>);
    let areas = areas.collect::<Result<Vec<_>, _>>().context("the judge prints numbers")?;
    ensure!(areas.len() == places.len(), "the judge answers each place");
    Ok(areas)
}
