//! `cargo x bench NAME` for what needs no server.

use std::process::ExitCode;

fn main() -> ExitCode {
    bench_plan::main_of("bench", &[bench_plan::BENCHES])
}
