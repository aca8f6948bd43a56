//! `cargo x bench NAME` for the fold, the rules and wasm.

use std::process::ExitCode;

fn main() -> ExitCode {
    bench_plan::main_of("bench", &[bench_watch::BENCHES])
}
