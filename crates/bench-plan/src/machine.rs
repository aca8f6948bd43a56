//! What a figure was measured on.

use anyhow::{Context, Result};

/// Cores, model and load, for the head of a page.
pub(crate) fn machine() -> String {
    let cores = std::thread::available_parallelism().map_or(0, usize::from);
    let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    let load = load.split(' ').next().unwrap_or("unknown").to_owned();
    let info = std::fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model = info.lines().find_map(|l| l.strip_prefix("model name")).unwrap_or("unknown");
    let model = model.trim_start_matches([' ', '\t', ':']);
    format!("{cores} cores of {model}, shared, load {load} at the beginning")
}

/// Seconds this thread has been on a core: what others do on the machine does not count (to the tick of the kernel).
pub fn thread_cpu_s() -> Result<f64> {
    let file = "/proc/thread-self/schedstat";
    let text = std::fs::read_to_string(file).with_context(|| {
        format!("{file} tells the processor time; this bench needs a Linux with it")
    })?;
    let ns: f64 = text.split(' ').next().unwrap_or_default().parse()?;
    Ok(ns / 1e9)
}
