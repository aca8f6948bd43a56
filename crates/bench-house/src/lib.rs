//! Measurements of one server with thousands of watches, each against the clock of that server. They need
//! neither typesetting nor pictures; `bench` lists them beside its own.

mod deadlines;
mod house;
mod returning;
mod soak;

use bench_plan::Bench;

/// Name, what it measures, the function that runs it.
pub const BENCHES: &[(&str, &str, Bench)] = &[
    (
        "deadlines",
        "deadlines across restarts while reports are printed, each exactly once",
        deadlines::run,
    ),
    ("house", "many live watches on the desk; phones back after hours, all at once", house::run),
    ("soak", "the real program under lines for hours: what it holds may not grow", soak::run),
];
