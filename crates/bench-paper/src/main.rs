//! `cargo x bench NAME` for paper.

use std::process::ExitCode;

fn main() -> ExitCode {
    bench_plan::main_of("bench", &[bench_paper::BENCHES])
}
