//! `cargo x bench NAME` for one server with thousands of watches.

use std::process::ExitCode;

fn main() -> ExitCode {
    bench_plan::main_of("bench", &[bench_house::BENCHES])
}
