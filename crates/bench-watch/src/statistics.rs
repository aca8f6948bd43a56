//! `statistics [--seed S] [--rounds N]`: our statistics beside SciPy's and statsmodels', asked live with a
//! seed that no committed table has; the largest difference of each function, as a share of the larger value.

// Tests and bench read a table with the same code.
#[path = "../../rules/tests/reference/mod.rs"]
mod reference;

use anyhow::{Context, Result, ensure};
use bench_plan::options::Options;
use bench_plan::python::Python;
use serde_json::json;

const SCRIPT: &str = include_str!("statistics/reference.py");

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["seed", "rounds"])?;
    let (seed, rounds): (u64, u64) = (options.get("seed", 2)?, options.get("rounds", 2_000)?);
    let python = Python::with(&["scipy", "statsmodels"])?;
    let asked = python.ask("SciPy", SCRIPT, &json!({ "seed": seed, "rounds": rounds }))?;
    let table = asked["table"].as_str().context("SciPy prints a table")?;
    let beside = table.lines().next().unwrap_or_default().trim_start_matches("# ");
    let compared = reference::compare(table);
    for (name, (rows, worst)) in &compared {
        println!(
            "{}",
            json!({ "bench": "statistics", "function": name, "rows": rows, "worst": worst, "seed": seed, "beside": beside })
        );
    }
    let off = compared.values().filter(|(_, worst)| *worst > reference::SHARE_MAX).count();
    ensure!(compared.len() == 9 && off == 0, "further apart than {}", reference::SHARE_MAX);
    Ok(())
}
