//! Measurements of the fold and of the rules, and of the pure rooms natively and in wasm, ours and the peers' in one run.
//! They need neither server nor store; `bench` lists them beside its own.

mod browser;
mod codes;
mod company;
mod drawing;
mod fold;
mod nights;
mod statistics;
mod wasm;
mod watches;

use bench_plan::Bench;

/// Name, what it measures, the function that runs it.
pub const BENCHES: &[(&str, &str, Bench)] = &[
    ("codes", "the phone's reader of tags, as shipped, on frames of a camera", codes::run),
    ("company", "the nights of a company, judged beside DuckDB on the same looks", company::run),
    ("drawing", "what the drawing tool thinks, natively and in a headless Chromium", drawing::run),
    ("fold", "lines a second, late lines, live watches and what is due next", fold::run),
    ("nights", "dishonest nights: what each rule says of them and of honest ones", nights::run),
    ("statistics", "our statistics beside SciPy and statsmodels, asked live", statistics::run),
    ("wasm", "the questions of sameness natively and in a headless Chromium", wasm::run),
];
