//! Alerts that fall due while phones come back: how long after its deadline each one stands in the record.

use super::OPENING;
use anyhow::{Context, Result};
use jiff::{Timestamp, ToSpan};
use ledger::WatchId;
use serde_json::{Value, json};
use server::Running;
use simulation::{Desk, Opening};
use std::time::Duration;
use store::Store;

/// So many fall due at the same instant.
const WATCHES: usize = 100;
/// Lines of a watch looked at: it has no more than its opening and its alerts.
const LINES_MAX: u32 = 200;

/// Watches to which nobody comes.
pub(super) struct Awaited {
    watches: Vec<WatchId>,
    due_ms: i64,
}

/// The phones begin to come back so long before these watches begin.
const AHEAD_MS: i64 = 10_000;

/// Opens them; nobody arrives when they begin, at the next full minute but one of the server's clock.
pub(super) async fn open(running: &Running, desk: &Desk) -> Result<Awaited> {
    let now = Timestamp::from_millisecond(running.app.clock.now_ms())?;
    let due = now.checked_add(2.minutes())?.in_tz("America/Chicago")?;
    let due = due.with().second(0).subsec_nanosecond(0).build()?;
    let from = due.strftime("%Y-%m-%dT%H:%M").to_string();
    let mut watches = Vec::new();
    for number in 0..WATCHES {
        let order = Box::leak(format!("Awaited {number}").into_boxed_str());
        watches.push(desk.open(&Opening { order, ..OPENING }, &from).await?.0);
    }
    Ok(Awaited { watches, due_ms: due.timestamp().as_millisecond() })
}

impl Awaited {
    /// How long to wait before the phones come back, so that all falls due while they do, ms.
    pub(super) fn wait_ms(&self, running: &Running) -> i64 {
        (self.due_ms - AHEAD_MS - running.app.clock.now_ms()).max(0)
    }

    /// Waits until all are past their deadline, and prints how late each alert was written down.
    pub(super) async fn report(self, running: &Running, options: &server::Options) -> Result<()> {
        let left_ms = self.due_ms + 15_000 - running.app.clock.now_ms();
        tokio::time::sleep(Duration::from_millis(left_ms.max(0) as u64)).await;
        let store = Store::open_reader(&options.store()).await?;
        let (mut after_ms, mut twice): (Vec<i64>, usize) = (Vec::new(), 0);
        for watch in &self.watches {
            let lines = store.lines_of_watch(watch, None, LINES_MAX).await?;
            let alerts = lines.iter().filter_map(|line| {
                let parsed: Value = serde_json::from_slice(&line.signed.bytes).ok()?;
                let body = (parsed["kind"] == "alerted").then(|| parsed["body"].clone())?;
                (body["due_ms"] == self.due_ms && body["step"] == 0)
                    .then_some(line.place.rx.ms - self.due_ms)
            });
            let alerts: Vec<i64> = alerts.collect();
            twice += alerts.len().saturating_sub(1);
            after_ms.extend(alerts.first());
        }
        store.close().await;
        after_ms.sort_unstable();
        let at = |share: f64| after_ms.get(((after_ms.len() as f64 - 1.0) * share) as usize);
        println!(
            "{}",
            json!({
                "bench": "house", "what": "alerts", "fell_due": self.watches.len(),
                "written": after_ms.len(), "written_twice": twice,
                "after_p50_ms": at(0.5).context("an alert")?, "after_p99_ms": at(0.99),
                "after_max_ms": after_ms.last(), "goal_ms": 5_000,
            })
        );
        Ok(())
    }
}
