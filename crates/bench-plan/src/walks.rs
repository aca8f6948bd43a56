//! `walks [--seconds T] [--seed S]`: the walk that sees all of a map, for every map with a known walk, after 2 seconds
//! of processor time and after T. Length, sight and whether the walk stays on the floor are judged by a program of its own (an angular
//! sweep, GEOS for areas), never by what the search says; the table goes to `bench/results/walk.md`.

use crate::machine::{machine, thread_cpu_s};
use crate::map::Map;
use crate::options::Options;
use crate::python::Python;
use crate::walk_seen::{Searched, plain, searched};
use anyhow::{Context, Result, ensure};
use geometry::Point;
use planner::Walk;
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::path::Path;

const PACKAGES: &[&str] = &["numpy==2.4.6", "shapely==2.2.0"];
const CHECK: &str = include_str!("walks/check.py");
const CHECK_BOUND: &str = include_str!("walks/bound.py");
/// Of so many places the judge goes through every order.
const JUDGED_MAX: usize = 8;
/// Seconds of the first search.
const SHORT_S: f64 = 2.0;
/// No walk should be longer than so many times the one known before.
const GOAL: f64 = 1.03;
/// More than this share of the floor unseen is no rounding of the judge's.
const UNSEEN_SHARE_MAX: f64 = 1e-8;

/// A map, the range of sight, and two known walks: greedy with moved stops (under 0.1 s), destroy and repair (30 s).
/// Both left 0.1 to 0.7 % of the floor unseen, since they were judged by samples.
struct Row {
    map: &'static str,
    range: f64,
    moved: f64,
    repaired: f64,
    seen_share: f64,
}

const fn row(map: &'static str, range: f64, moved: f64, repaired: f64, seen_share: f64) -> Row {
    Row { map, range, moved, repaired, seen_share }
}

const ROWS: &[Row] = &[
    row("potholes.txt", f64::INFINITY, 6608.0, 5244.9, 0.9967),
    row("potholes.txt", 500.0, 7242.5, 6516.0, 0.9968),
    row("potholes.txt", 300.0, 9820.3, 9010.0, 0.9933),
    row("arena.txt", f64::INFINITY, 93.4, 72.1, 0.9986),
    row("arena.txt", 15.0, 107.5, 99.9, 0.9988),
    row("gD_ortho-ortho_20-100v-10h_1.pol", f64::INFINITY, 34.2, 32.1, 0.9993),
    row("g1_simple-simple_50-200v-20h_1.pol", f64::INFINITY, 191.2, 185.5, 0.9971),
    row("g1_simple-simple_50-200v-20h_1.pol", 5.0, 240.8, 234.2, 0.9977),
    row("gD_ortho-ortho_100-400v-40h_1.pol", f64::INFINITY, 294.0, 287.4, 0.9967),
];

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["seconds", "seed"])?;
    let (seconds, seed): (f64, u64) = (options.get("seconds", 30.0)?, options.get("seed", 1)?);
    // The machine is shared: what others take of it must not count.
    thread_cpu_s()?;
    let python = Python::with(PACKAGES)?;
    let mut page = String::from("# The walk that sees all\n\n");
    let _ = writeln!(
        page,
        "`cargo x bench walks --seconds {seconds} --seed {seed}`, in the maps' own units. Seconds are processor time of the one \
         thread, mesh, proof and bound included, since the machine is shared: {}.\n",
        machine(),
    );
    page.push_str(HEAD);
    let (mut missed, mut impossible) = (Vec::new(), Vec::new());
    for row in ROWS {
        let map = Map::read(row.map)?;
        let short = judged(&python, row, &map, 0.0, SHORT_S, seed)?;
        let long = judged(&python, row, &map, 0.0, seconds, seed)?;
        let alike = judged(&python, row, &map, 1.0 - row.seen_share, seconds, seed)?;
        if long.length > GOAL * row.repaired {
            missed.push(format!("{} ({:.3})", row.map, long.length / row.repaired));
        }
        let bound = long.searched.walk.bound;
        if bound > GOAL * row.repaired {
            impossible.push(format!("{} ({:.3})", row.map, bound / row.repaired));
        }
        let bound_judged = bound_judged(&python, row, &map, &long.searched.walk)?;
        let line = line(row, &short, &long, &alike, bound_judged);
        eprint!("{line}");
        page.push_str(&line);
    }
    page.push_str(TAIL);
    let list =
        |found: Vec<String>| if found.is_empty() { "none".to_owned() } else { found.join(", ") };
    let (missed, impossible) = (list(missed), list(impossible));
    let _ = writeln!(
        page,
        "Longer than {GOAL} times the walk known before: {missed}. By their bounds longer than that whatever the walk, if \
         it leaves nothing unseen: {impossible}."
    );
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../bench/results/walk.md");
    std::fs::write(&file, &page).with_context(|| format!("writing {}", file.display()))?;
    print!("{page}");
    Ok(())
}

const HEAD: &str = "\
*Moved* and *repaired* are the walks known before (greedy and 2-opt with moved stops, under 0.1 s; destroy and repair, \
30 s), judged by samples: the share of fresh points they see stands beside. Ours leave nothing unseen, proved by the floor \
that is left after every view. Length, sight and whether the walk stays on the floor were found anew by a program that \
shares nothing with ours (angular sweep; shapely 2.2.0, GEOS); its figure for what is unseen stands beside. *Bound*: no closed walk that sees all is shorter. Where it rests on few \
enough places and sight is unlimited, another program that shares nothing with ours (a visibility graph tested by GEOS, \
every order of the places) found what no walk that sees just these is shorter than. The last two columns compare like with like: our walk \
when it may leave as much unseen as theirs does.\n\n\
| map | range | moved | ours, 2 s | ratio | repaired (sees) | ours, long | ratio | viewpoints | bound | bound / ours | \
bound, judged (places) | unseen, judged | ours, leaving as much (sees) | ratio |\n\
|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|\n";

const TAIL: &str = "\nA ratio is ours over theirs: below 1 ours is shorter. ";

fn line(
    row: &Row,
    short: &Judged,
    long: &Judged,
    alike: &Judged,
    bound_judged: Option<f64>,
) -> String {
    let places = long.searched.walk.bound_by.len();
    let bound_judged = bound_judged
        .map_or_else(|| format!("– ({places})"), |length| format!("{length:.2} ({places})"));
    let range = if row.range.is_finite() { row.range.to_string() } else { "unlimited".to_owned() };
    format!(
        "| {} | {range} | {} | {:.2} | {:.3} | {} ({:.2} %) | {:.2} | {:.3} | {} | {:.2} | {:.3} | {bound_judged} | {:.1e} | {:.2} ({:.2} %) | {:.3} |\n",
        row.map.split('.').next().unwrap_or_default(),
        row.moved,
        short.length,
        short.length / row.moved,
        row.repaired,
        row.seen_share * 100.0,
        long.length,
        long.length / row.repaired,
        long.searched.walk.viewpoints.len(),
        long.searched.walk.bound,
        long.searched.walk.bound / long.length,
        long.unseen_share,
        alike.length,
        (1.0 - alike.unseen_share) * 100.0,
        alike.length / row.repaired,
    )
}

struct Judged {
    searched: Searched,
    /// As the judge adds it up.
    length: f64,
    unseen_share: f64,
}

fn cpu_s() -> f64 {
    thread_cpu_s().unwrap_or(f64::INFINITY)
}

/// How long a walk is at least by the judge that sees the places of the bound; none where they are too many or sight is
/// limited.
fn bound_judged(python: &Python, row: &Row, map: &Map, walk: &Walk) -> Result<Option<f64>> {
    if row.range.is_finite() || !(2..=JUDGED_MAX).contains(&walk.bound_by.len()) {
        return Ok(None);
    }
    let question = json!({
        "rings": rings(map), "places": plain(&walk.bound_by), "piece": map.extent() / 250.0,
    });
    let answer: Value = python.ask("the judge of bounds", CHECK_BOUND, &question)?;
    let number = |key: &str| answer[key].as_f64().with_context(|| format!("the judge says {key}"));
    ensure!(
        answer["apart"] == true,
        "{}: one could stay where a place of the bound is seen",
        row.map
    );
    ensure!(
        walk.bound <= number("at_most")?,
        "{}: {} is bounded too high, {answer}",
        row.map,
        walk.bound
    );
    Ok(Some(number("at_least")?))
}

fn rings(map: &Map) -> Vec<Vec<[f64; 2]>> {
    let ring = |ring: &Vec<Point>| ring.iter().map(|p| [p.x, p.y]).collect();
    std::iter::once(&map.border).chain(&map.holes).map(ring).collect()
}

fn judged(
    python: &Python,
    row: &Row,
    map: &Map,
    leave: f64,
    seconds: f64,
    seed: u64,
) -> Result<Judged> {
    let searched = searched(map, row.range, leave, seconds, seed, &cpu_s)?;
    let question = json!({
        "rings": rings(map),
        "range": row.range.is_finite().then_some(row.range),
        "walk": plain(&searched.walk.walk), "viewpoints": plain(&searched.walk.viewpoints),
    });
    let answer: Value = python.ask("the judge of walks", CHECK, &question)?;
    let number = |key: &str| answer[key].as_f64().with_context(|| format!("the judge says {key}"));
    let (length, floor) = (number("length")?, number("floor_area")?);
    let tiny = map.extent() * 1e-9;
    ensure!(
        (length - searched.walk.length).abs() <= tiny && answer["closed"] == true,
        "{}: the walk is {length} long, not {}",
        row.map,
        searched.walk.length
    );
    ensure!(number("off_floor")? <= tiny, "{}: the walk leaves the floor", row.map);
    ensure!(number("off_walk")? <= tiny, "{}: a viewpoint stands off the walk", row.map);
    let unseen_share = number("unseen_area")? / floor;
    ensure!(
        unseen_share <= leave + UNSEEN_SHARE_MAX
            && searched.walk.unseen_area <= leave * searched.walk.floor_area,
        "{}: {unseen_share} of the floor is unseen",
        row.map
    );
    Ok(Judged { searched, length, unseen_share })
}
