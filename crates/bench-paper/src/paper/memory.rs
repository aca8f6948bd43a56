//! The memory of a command and all that it starts.

use anyhow::{Context, Result, ensure};
use bench_plan::stopwatch::Stopwatch;
use std::collections::BTreeMap;
use std::process::{Command, Stdio};
use std::time::Duration;

/// How often it is read.
const EVERY: Duration = Duration::from_millis(10);

/// Seconds, and the greatest sum of proportional set sizes over the processes, KiB: memory that several share is
/// counted once (`smaps_rollup` of the Linux kernel).
pub(crate) fn greatest(mut command: Command) -> Result<(f64, u64)> {
    let watch = Stopwatch::start(0.0);
    let mut child = command
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .with_context(|| format!("could not start {command:?}"))?;
    let mut greatest = 0;
    let ended = loop {
        if let Some(ended) = child.try_wait()? {
            break ended;
        }
        greatest = greatest.max(sum_kib(child.id()));
        std::thread::sleep(EVERY);
    };
    ensure!(ended.success(), "{command:?} ended with {ended}");
    Ok((watch.seconds(), greatest))
}

fn sum_kib(root: u32) -> u64 {
    let parents = parents();
    let is_ours = |mut of: u32| {
        while of != root {
            match parents.get(&of) {
                Some(parent) if *parent > 1 => of = *parent,
                _ => return false,
            }
        }
        true
    };
    parents.keys().filter(|of| is_ours(**of)).filter_map(|of| proportional_kib(*of)).sum()
}

/// Every process and its parent.
fn parents() -> BTreeMap<u32, u32> {
    let entries = std::fs::read_dir("/proc").into_iter().flatten().flatten();
    let ids = entries.filter_map(|entry| entry.file_name().to_str()?.parse::<u32>().ok());
    ids.filter_map(|id| {
        let stat = std::fs::read_to_string(format!("/proc/{id}/stat")).ok()?;
        // After the name in parentheses: state, parent.
        let parent = stat.rsplit_once(')')?.1.split_whitespace().nth(1)?.parse().ok()?;
        Some((id, parent))
    })
    .collect()
}

fn proportional_kib(id: u32) -> Option<u64> {
    let rollup = std::fs::read_to_string(format!("/proc/{id}/smaps_rollup")).ok()?;
    let line = rollup.lines().find_map(|line| line.strip_prefix("Pss:"))?;
    line.split_whitespace().next()?.parse().ok()
}
