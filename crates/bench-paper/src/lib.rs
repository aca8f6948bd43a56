//! Measurements of paper, ours and the peers' in one run. They need neither server nor store; `bench` lists them
//! beside its own.

mod paper;
mod printed;
mod sheet;

use bench_plan::Bench;

/// Name, what it measures, the function that runs it.
pub const BENCHES: &[(&str, &str, Bench)] = &[
    ("paper", "reports beside a headless browser and a Python library, size, memory", paper::run),
    ("sheet", "log sheets distorted by Pillow and OpenCV, read back", sheet::run),
];
