//! Measurements, ours and the peers' in one run. Each bench is one file and one line in [`BENCHES`];
//! it prints its result as JSON, one line per measurement, and fails when data or a peer is missing.

mod night;
mod store;
mod verify;

use bench_plan::Bench;
use std::process::ExitCode;

/// Name, what it measures, the function that runs it.
const BENCHES: &[(&str, &str, Bench)] = &[
    ("night", "a whole watch on a real building: desk, phones, record, findings", night::run),
    ("store", "our append beside the bare database, syncs and verification", store::run),
    ("verify", "a bundle of a million lines, beside openssl for its signatures", verify::run),
];

fn main() -> ExitCode {
    bench_plan::main_of(
        "bench",
        &[
            BENCHES,
            bench_house::BENCHES,
            bench_paper::BENCHES,
            bench_plan::BENCHES,
            bench_watch::BENCHES,
        ],
    )
}
