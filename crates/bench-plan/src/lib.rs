//! Measurements of geometry, floor plans and rounds, ours and the peers' in one run. They need neither server nor store,
//! so they build in a minute or two; `bench` holds the others and borrows from here what both need.

mod data;
mod gaps;
mod geodesic;
pub mod import;
pub mod machine;
pub mod map;
pub mod options;
pub mod python;
pub mod random;
mod rounds;
mod route;
mod share;
mod sight;
pub mod stopwatch;
pub mod survey;
mod tour;
mod tsplib;
mod walk_seen;
mod walks;

/// Runs one measurement with its arguments.
pub type Bench = fn(&[String]) -> anyhow::Result<()>;

/// Name, what it measures, the function that runs it.
pub const BENCHES: &[(&str, &str, Bench)] = &[
    ("data", "prints where the open data sets are read from", data::run),
    ("gaps", "the fewest guards who keep two classes of gap, and a proved bound", gaps::run),
    (
        "geodesic",
        "walking lengths between all pairs of places, some checked another way",
        geodesic::run,
    ),
    ("import", "imports an open indoor data set and counts what came of it", import::run),
    ("rounds", "tours, sharing and gaps beside OR-Tools, PyVRP and elkai", rounds::run),
    ("route", "a real building from its drawing to checked rounds", route::run),
    ("share", "the longest of M closed tours from one post, and a bound", share::run),
    ("sight", "visibility regions a second", sight::run),
    ("survey", "imports and surveys an open indoor data set", survey::run),
    ("tour", "the shortest closed tour of a TSPLIB file, and a bound", tour::run),
    ("walk-seen", "the shortest closed walk that sees all of a map", walk_seen::run),
    ("walks", "the same over the maps with known walks, judged by GEOS", walks::run),
];

/// Runs the bench that the first argument names; without one, or with another, their list.
pub fn main_of(program: &str, benches: &[&[(&str, &str, Bench)]]) -> std::process::ExitCode {
    use std::process::ExitCode;
    let mut args = std::env::args().skip(1);
    let name = args.next().unwrap_or_default();
    let rest: Vec<String> = args.collect();
    let all = || benches.iter().copied().flatten();
    let Some((_, _, run)) = all().find(|(known, _, _)| *known == name) else {
        eprintln!("usage: cargo x bench NAME …\n");
        for (known, what, _) in all() {
            eprintln!("  {known:<12} {what}");
        }
        return ExitCode::from(2);
    };
    match run(&rest) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{program} {name}: {error:#}");
            ExitCode::FAILURE
        }
    }
}
