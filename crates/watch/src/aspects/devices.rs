//! Devices: what each wrote on this watch, when it was last heard, what is missing of its chain.

use crate::fold::Item;
use crate::watch::Watch;
use ledger::order::Map;
use ledger::{DeviceId, LineId};
use record::{Clock, Heartbeat};
use serde::Serialize;

/// A device that wrote on this watch.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Device {
    /// Which.
    pub dev: DeviceId,
    /// How many of its lines count here.
    pub lines: u64,
    /// The highest number in its chain.
    pub last_seq: u64,
    /// Numbers that are missing below it, first and last of each run.
    pub missing: Vec<(u64, u64)>,
    /// Places of its chain with more than one line: none of them counts.
    pub forks: Vec<Fork>,
    /// The newest recorded time of a line, ms UTC.
    pub last_recorded_ms: i64,
    /// When the server last received a line from it, ms UTC.
    pub last_heard_ms: Option<i64>,
    /// Charge, percent, as last told on this watch.
    pub battery: Option<u8>,
    /// Times at which it noticed that its clocks disagree: the line, and the step, ms.
    pub clock_steps: Vec<(LineId, i64)>,
}

/// More than one line at one place of a chain.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fork {
    /// The place.
    pub seq: u64,
    /// The lines.
    pub lines: Vec<LineId>,
}

#[derive(Default)]
pub(crate) struct Fold {
    heard: Map<DeviceId, Heard>,
}

#[derive(Default)]
struct Heard {
    lines: u64,
    last_recorded_ms: Option<i64>,
    battery: Option<u8>,
    clock_steps: Vec<(LineId, i64)>,
}

impl Fold {
    pub(crate) fn any(&mut self, item: &Item<'_>) {
        let heard = self.heard.or_default(item.kept.dev);
        heard.lines += 1;
        heard.last_recorded_ms = heard.last_recorded_ms.max(Some(item.written.when.recorded_ms));
    }

    pub(crate) fn heartbeat(&mut self, item: &Item<'_>, body: &Heartbeat) {
        let heard = self.heard.or_default(item.kept.dev);
        heard.battery = body.battery.or(heard.battery);
    }

    pub(crate) fn clock(&mut self, item: &Item<'_>, body: &Clock) {
        let heard = self.heard.or_default(item.kept.dev);
        heard.clock_steps.push((item.id(), body.wall_step_ms));
    }

    pub(crate) fn finish(mut self, watch: &Watch, now_ms: i64) -> Vec<Device> {
        watch
            .chains
            .iter()
            .map(|(dev, chain)| {
                let heard = self.heard.remove(dev).unwrap_or_default();
                Device {
                    dev: *dev,
                    lines: heard.lines,
                    last_seq: chain.last_key_value().map_or(0, |(seq, _)| *seq),
                    missing: missing(chain.keys().copied()),
                    forks: chain
                        .iter()
                        .filter(|(_, place)| place.alone().is_none())
                        .map(|(seq, place)| Fork { seq: *seq, lines: place.iter().collect() })
                        .collect(),
                    last_recorded_ms: heard.last_recorded_ms.unwrap_or(i64::MIN),
                    last_heard_ms: chain
                        .values()
                        .flat_map(|place| place.iter())
                        .filter_map(|id| Some(watch.sealing(id)?.rx_ms))
                        .filter(|rx_ms| *rx_ms <= now_ms)
                        .max(),
                    battery: heard.battery,
                    clock_steps: heard.clock_steps,
                }
            })
            .collect()
    }
}

fn missing(numbers: impl Iterator<Item = u64>) -> Vec<(u64, u64)> {
    let mut runs = Vec::new();
    let mut expected = 0;
    for number in numbers {
        if number > expected {
            runs.push((expected, number - 1));
        }
        expected = number + 1;
    }
    runs
}
