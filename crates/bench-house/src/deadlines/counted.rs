//! What the record says of the deadlines afterwards.

use super::{Down, Size};
use anyhow::Result;
use ledger::WatchId;
use record::ZoneId;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use store::{Store, StoredLine};

/// Stored lines read at a time.
const PAGE: u32 = 2_000;

/// When a zone's gap ends.
pub(super) struct Deadline {
    pub(super) watch: WatchId,
    pub(super) zone: ZoneId,
    pub(super) due_ms: i64,
}

/// What came of them.
#[derive(Default)]
pub(super) struct Counted {
    deadlines: usize,
    missing: usize,
    twice: usize,
    /// How long after its deadline each one was written that fell due while the server ran, ms.
    after_ms: Vec<i64>,
    /// How long after the next start each one was written that fell due while it did not, ms.
    caught_up_ms: Vec<i64>,
}

/// Reads all of the record.
pub(super) async fn count(
    options: &server::Options,
    deadlines: &[Deadline],
    down: &[Down],
) -> Result<Counted> {
    let store = Store::open_reader(&options.store()).await?;
    let watches: BTreeSet<&WatchId> = deadlines.iter().map(|deadline| &deadline.watch).collect();
    let mut written: BTreeMap<(WatchId, String, i64), Vec<i64>> = BTreeMap::new();
    for watch in watches {
        let mut after = None;
        loop {
            let lines = store.lines_of_watch(watch, after.as_ref(), PAGE).await?;
            let Some(last) = lines.last() else { break };
            after = Some(last.place.clone());
            for (zone, due_ms, rx_ms) in lines.iter().filter_map(of_alert) {
                written.entry((watch.clone(), zone, due_ms)).or_default().push(rx_ms);
            }
        }
    }
    store.close().await;
    let mut counted = Counted { deadlines: deadlines.len(), ..Counted::default() };
    for deadline in deadlines {
        let key = (deadline.watch.clone(), deadline.zone.to_string(), deadline.due_ms);
        counted.add(deadline.due_ms, written.get(&key).map_or(&[], Vec::as_slice), down);
    }
    Ok(counted)
}

/// Zone, deadline and receipt of the first entry of an alert about a gap.
fn of_alert(line: &StoredLine) -> Option<(String, i64, i64)> {
    let parsed: Value = serde_json::from_slice(&line.signed.bytes).ok()?;
    let body = &parsed["body"];
    let about_gap = body["cause"] == "late" || body["cause"] == "unheard";
    let first = parsed["kind"] == "alerted" && body["step"] == 0 && body["withdrawn"] != true;
    let found = (body["zone"].as_str()?.to_owned(), body["due_ms"].as_i64()?, line.place.rx.ms);
    (about_gap && first).then_some(found)
}

impl Counted {
    fn add(&mut self, due_ms: i64, written_ms: &[i64], down: &[Down]) {
        let Some(rx_ms) = written_ms.first() else {
            self.missing += 1;
            return;
        };
        self.twice += usize::from(written_ms.len() > 1);
        match down.iter().find(|down| (down.from_ms..down.until_ms).contains(&due_ms)) {
            Some(down) => self.caught_up_ms.push(rx_ms - down.until_ms),
            None => self.after_ms.push(rx_ms - due_ms),
        }
    }

    pub(super) fn print(mut self, size: &Size, down: &[Down], reports: u32, load: &str) {
        self.after_ms.sort_unstable();
        self.caught_up_ms.sort_unstable();
        let down_ms: Vec<i64> = down.iter().map(|down| down.until_ms - down.from_ms).collect();
        println!(
            "{}",
            json!({
                "bench": "deadlines", "watches": size.watches, "zones": size.zones,
                "deadlines": self.deadlines, "over_min": size.minutes, "missing": self.missing,
                "written_twice": self.twice, "reports_meanwhile": reports, "restarts": size.restarts,
                "down_ms": down_ms, "after_p50_ms": at(&self.after_ms, 0.5),
                "after_p99_ms": at(&self.after_ms, 0.99), "after_max_ms": self.after_ms.last(),
                "goal_p99_ms": 1_000, "due_while_down": self.caught_up_ms.len(),
                "caught_up_max_ms": self.caught_up_ms.last(), "load": load,
            })
        );
    }
}

fn at(sorted: &[i64], share: f64) -> Option<i64> {
    sorted.get(((sorted.len() as f64 - 1.0) * share) as usize).copied()
}
