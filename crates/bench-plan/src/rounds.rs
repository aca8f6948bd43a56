//! `rounds [--seconds T] [--seed S]`: tours, sharing and gaps beside OR-Tools, PyVRP and elkai, in one run on one machine;
//! the tables go to `bench/results/rounds.md`. Every figure of a peer is recomputed here from the tours it hands over.

mod cases;
mod peers;

use crate::machine::machine;
use crate::options::Options;
use crate::stopwatch::Stopwatch;
use crate::tsplib::{self, Instance};
use anyhow::{Context, Result, ensure};
use cases::{GAPS, SHARES, TOURS};
use peers::{Peers, Question};
use planner::timetable::timetable;
use planner::{Demands, Sharing, Walks, fewest, share, share_bound, tour, tour_bound};
use std::fmt::Write as _;
use std::path::Path;

/// The searches for shared rounds count in this part of a unit; the peers in hundredths.
const PARTS: f64 = 10_000.0;
const HUNDREDTHS: f64 = 100.0;

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["seconds", "seed"])?;
    let (seconds, seed) = (options.get("seconds", 20.0)?, options.get("seed", 1)?);
    let peers = Peers::ready()?;
    let mut page = String::from("# Rounds beside other solvers\n\n");
    let _ = writeln!(
        page,
        "`cargo x bench rounds --seconds {seconds} --seed {seed}`: each row runs us and the peers one after the other on one \
         machine. {}; seconds are wall time, so other work on the machine counts against whoever runs then. Lengths of peers \
         are recomputed from their tours; a ratio above 1 means that we are better.\n\nMachine: {}.\n",
        peers.versions,
        machine(),
    );
    tours(&peers, seconds, seed, &mut page)?;
    shares(&peers, seconds, seed, &mut page)?;
    gaps(&peers, seconds, seed, &mut page)?;
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../bench/results/rounds.md");
    std::fs::write(&file, &page).with_context(|| format!("writing {}", file.display()))?;
    print!("{page}");
    Ok(())
}

/// What a row prints of a peer: its figure and how it compares with ours.
fn beside(theirs: Option<f64>, ours: f64) -> String {
    theirs.map_or("none found".to_owned(), |t| format!("{t:.2} ({:.3})", t / ours))
}

fn closed(instance: &Instance, round: &[usize]) -> f64 {
    let n = round.len();
    (0..n).map(|i| instance.distance(round[i], round[(i + 1) % n])).sum()
}

fn longest(instance: &Instance, rounds: &[Vec<usize>]) -> f64 {
    rounds.iter().map(|round| closed(instance, round)).fold(0.0, f64::max)
}

fn tours(peers: &Peers, seconds: f64, seed: u64, page: &mut String) -> Result<()> {
    let seconds = seconds / 4.0;
    let _ = writeln!(
        page,
        "## One closed tour\n\nTSPLIB, lengths by its own rounding, {seconds} s each; elkai: one run.\n\n\
         | instance | optimum | ours | bound | ours above optimum | elkai | OR-Tools | PyVRP | s: ours, elkai |\n\
         |---|---|---|---|---|---|---|---|---|"
    );
    for &(file, optimum) in TOURS {
        let instance = tsplib::read(file)?;
        let walks = instance.rounded();
        let clock = Stopwatch::start(seconds);
        let ours = clock.search(seed, |effort| tour(&walks, effort));
        let took_s = clock.seconds();
        let bound = tour_bound(&walks, ours.length, 1000);
        let ask = |peer: &'static str| -> Result<(Option<f64>, f64)> {
            let question = Question { peer, seconds, seed, ..Question::new(&instance, 1, 1.0) };
            let (rounds, took_s) = peers.ask(&question)?;
            Ok((rounds.map(|r| tour::length(&walks, &r[0]) as f64), took_s))
        };
        let ((elkai, elkai_s), (or_tools, _), (pyvrp, _)) =
            (ask("elkai")?, ask("or-tools")?, ask("pyvrp")?);
        let length = ours.length as f64;
        let _ = writeln!(
            page,
            "| {file} | {optimum} | {} | {bound} | {:.2} % | {} | {} | {} | {took_s:.1}, {elkai_s:.1} |",
            ours.length,
            (length / optimum as f64 - 1.0) * 100.0,
            beside(elkai, length),
            beside(or_tools, length),
            beside(pyvrp, length),
        );
        eprintln!("tour {file} {length}");
    }
    Ok(())
}

fn shares(peers: &Peers, seconds: f64, seed: u64, page: &mut String) -> Result<()> {
    let theirs_s = seconds / 2.0;
    let _ = writeln!(
        page,
        "\n## Longest of several tours\n\nUnrounded, post at node 1; {seconds} s for us (less where the star bound is met), \
         {theirs_s} s for each peer (OR-Tools: span; PyVRP: bisection on a hard cap).\n\n\
         | instance | guards | best known | ours | ours above best known | bound | OR-Tools | PyVRP | s, ours |\n\
         |---|---|---|---|---|---|---|---|---|"
    );
    for &(file, guards, known) in SHARES {
        let instance = tsplib::read(file)?;
        let walks = instance.in_parts(PARTS);
        let n = walks.len();
        let stay = vec![0; n];
        let mut sharing = Sharing {
            walks: &walks,
            stay: &stay,
            post: Some(0),
            guards,
            good_enough: 0,
            caps: None,
            may: None,
        };
        let star = (1..n).map(|s| 2.0 * instance.distance(0, s)).fold(0.0, f64::max);
        sharing.good_enough = share_bound(&sharing, 0).star;
        let clock = Stopwatch::start(seconds);
        let shared = clock.search(seed, |effort| share(&sharing, effort));
        let took_s = clock.seconds();
        let mean = share_bound(&sharing, 1000).best() - (n + guards) as i64 / guards as i64;
        let ours = longest(&instance, &shared.rounds);
        let ask = |peer: &'static str| -> Result<Option<f64>> {
            let question = Question {
                peer,
                seconds: theirs_s,
                seed,
                least: (star * HUNDREDTHS) as i64,
                most: (ours * 2.0 * HUNDREDTHS) as i64,
                ..Question::new(&instance, guards, HUNDREDTHS)
            };
            Ok(peers.ask(&question)?.0.map(|rounds| longest(&instance, &rounds)))
        };
        let (or_tools, pyvrp) = (ask("or-tools")?, ask("pyvrp")?);
        let _ = writeln!(
            page,
            "| {file} | {guards} | {known} | {ours:.2} | {:.2} % | {:.2} | {} | {} | {took_s:.1} |",
            (ours / known - 1.0) * 100.0,
            star.max(mean as f64 / PARTS),
            beside(or_tools, ours),
            beside(pyvrp, ours),
        );
        eprintln!("share {file} {guards} {ours:.2}");
    }
    Ok(())
}

/// Speed in units a millisecond and the look at each node, as in the cases' source.
const UNITS_PER_MS: f64 = 1.2 / 1000.0;
const STAY_MS: i64 = 20_000;

fn gaps(peers: &Peers, seconds: f64, seed: u64, page: &mut String) -> Result<()> {
    let (ours_s, theirs_s) = (seconds / 2.0, seconds / 10.0);
    let _ = writeln!(
        page,
        "\n## Fewest guards for two classes of gap\n\nNodes as stations, 1.2 m/s, 20 s a look; every fifth is owed the first gap. \
         {ours_s} s for us, less where bound and guards meet. Peers know closed routes from one station under a cap on their \
         length, so they are asked class by class ({theirs_s} s each), everything at the shorter gap too, and the fewer counts. \
         *Before* is the table that stood before: a tour split, a team for each class. Our plans passed the checker.\n\n\
         | instance, scale | gaps, s | ours | proved at least | class | before | OR-Tools | PyVRP | s, ours |\n\
         |---|---|---|---|---|---|---|---|---|"
    );
    let (mut met, mut apart) = (0, 0);
    for &(file, scale, high_s, gap_s, before) in GAPS {
        let instance = tsplib::read(file)?;
        let n = instance.points.len();
        let walks = Walks::from_fn(n, |a, b| {
            (instance.distance(a, b) * scale / UNITS_PER_MS).ceil() as i64
        })
        .closed();
        let often = |i: usize| i.is_multiple_of(5);
        let gap_ms = (0..n).map(|i| if often(i) { high_s } else { gap_s } * 1000).collect();
        let demands = Demands { walks, stay_ms: vec![STAY_MS; n], gap_ms };
        let clock = Stopwatch::start(ours_s);
        let found = clock.search(seed, |effort| fewest(&demands, effort));
        let took_s = clock.seconds();
        let found = found.context("a look is longer than its gap")?;
        checked(&demands, &found.plan)?;
        let ours = found.plan.guards();
        let ask = |peer| peers.fewest(peer, &demands, &instance.points, theirs_s, seed);
        let (or_tools, pyvrp) = (ask("or-tools")?, ask("pyvrp")?);
        let said = |guards: Option<usize>| guards.map_or("none".to_owned(), |g| g.to_string());
        met += usize::from(ours == found.bound.guards);
        apart = apart.max(ours - found.bound.guards);
        let _ = writeln!(
            page,
            "| {file}, {scale} | {high_s}, {gap_s} | {ours} | {} | {} | {before} | {} | {} | {took_s:.1} |",
            found.bound.guards,
            found.plan.class().code(),
            said(or_tools),
            said(pyvrp),
        );
        eprintln!("gaps {file} {high_s} {gap_s}: {ours}");
    }
    let rows = GAPS.len();
    let _ = writeln!(
        page,
        "\nBound and guards meet on {met} of {rows} rows and are at most {apart} apart. The bound holds for every schedule, \
         whatever its class."
    );
    Ok(())
}

fn checked(demands: &Demands, plan: &planner::Plan) -> Result<()> {
    let until = 3 * demands.gap_ms.iter().max().copied().unwrap_or(0);
    let n = demands.walks.len();
    let walk_ms: Vec<i64> = (0..n * n).map(|e| demands.walks.ms(e / n, e % n)).collect();
    let raw = planner::check::Raw {
        walk_ms: &walk_ms,
        stay_ms: &demands.stay_ms,
        gap_ms: &demands.gap_ms,
        may: &[],
    };
    let broken = planner::check::check(&raw, &timetable(demands, plan, until), until);
    ensure!(broken.is_empty(), "the checker refuses the plan: {:?}", broken[0]);
    Ok(())
}
