//! `docs/duties.md` promises a test for every duty; each named one must exist, and no row be empty.

use anyhow::{Context, Result};
use std::collections::BTreeSet;
use std::fs;

const FILE: &str = "docs/duties.md";

/// Names what is missing.
pub(crate) fn check(sources: &[String], faults: &mut Vec<String>) -> Result<()> {
    let mut tests = BTreeSet::new();
    for source in sources {
        let text = fs::read_to_string(source).with_context(|| source.clone())?;
        tests.extend(functions(&text).map(str::to_owned));
    }
    let table = fs::read_to_string(FILE).context(FILE)?;
    for row in table.lines().filter(|line| line.starts_with('|') && !line.starts_with("|---")) {
        let cells: Vec<&str> = row.trim_matches('|').split('|').map(str::trim).collect();
        if cells.first() == Some(&"duty") {
            continue;
        }
        if cells.len() != 3 || cells.iter().any(|cell| cell.is_empty()) {
            faults.push(format!("{FILE}: a row wants a duty, a place and a test: {row}"));
            continue;
        }
        for test in cells[2].split('`').skip(1).step_by(2).filter(|test| !tests.contains(*test)) {
            faults.push(format!("{FILE}: no test is called `{test}`"));
        }
    }
    Ok(())
}

fn functions(text: &str) -> impl Iterator<Item = &str> {
    text.lines().filter_map(|line| {
        let line = line.trim_start();
        let line = line.strip_prefix("async ").unwrap_or(line);
        line.strip_prefix("fn ")?.split_once('(').map(|(name, _)| name)
    })
}
