//! Measurements, ours and the peers' in one run. Each bench is one file and one line in [`BENCHES`];
//! it prints its result as JSON, one line per measurement, and fails when data or a peer is missing.

mod company;
mod data;
mod fold;
mod gaps;
mod geodesic;
mod import;
mod map;
mod night;
mod nights;
mod options;
mod random;
mod route;
mod share;
mod sheet;
mod sight;
mod stopwatch;
mod store;
mod survey;
mod tour;
mod tsplib;
mod verify;
mod walk_seen;
mod watches;

use std::process::ExitCode;

type Bench = fn(&[String]) -> anyhow::Result<()>;

/// Name, what it measures, the function that runs it.
const BENCHES: &[(&str, &str, Bench)] = &[
    ("company", "the nights of a company, judged beside DuckDB on the same looks", company::run),
    ("data", "prints where the open data sets are read from", data::run),
    ("fold", "lines a second, late lines, live watches and what is due next", fold::run),
    (
        "geodesic",
        "walking lengths between all pairs of places, some checked another way",
        geodesic::run,
    ),
    ("import", "imports an open indoor data set and counts what came of it", import::run),
    ("night", "a whole watch on a real building: desk, phones, record, findings", night::run),
    ("nights", "dishonest nights: what each rule says of them and of honest ones", nights::run),
    ("sheet", "log sheets distorted by Pillow and OpenCV, read back", sheet::run),
    ("sight", "visibility regions a second", sight::run),
    ("store", "our append beside the bare database, syncs and verification", store::run),
    ("gaps", "the fewest guards who keep two classes of gap, and a proved bound", gaps::run),
    ("share", "the longest of M closed tours from one post, and a bound", share::run),
    ("route", "a real building from its drawing to checked rounds", route::run),
    ("tour", "the shortest closed tour of a TSPLIB file, and a bound", tour::run),
    ("verify", "a bundle of a million lines, beside openssl for its signatures", verify::run),
    ("survey", "imports and surveys an open indoor data set", survey::run),
    ("walk-seen", "the shortest closed walk that sees all of a map", walk_seen::run),
];

fn main() -> ExitCode {
    let mut args = std::env::args().skip(1);
    let name = args.next().unwrap_or_default();
    let rest: Vec<String> = args.collect();
    let Some((_, _, run)) = BENCHES.iter().find(|(known, _, _)| *known == name) else {
        eprintln!("usage: cargo x bench NAME …\n");
        for (known, what, _) in BENCHES {
            eprintln!("  {known:<12} {what}");
        }
        return ExitCode::from(2);
    };
    match run(&rest) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("bench {name}: {error:#}");
            ExitCode::FAILURE
        }
    }
}
