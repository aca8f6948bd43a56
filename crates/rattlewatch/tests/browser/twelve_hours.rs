//! A night of rounds every ten minutes without a network: what the page holds in memory grows with what was
//! written and with nothing else. A test run walks half an hour; `RATTLEWATCH_HOURS=12` the whole night. The
//! numbers are printed and stand in `bench/results/phone.md`.

use crate::OPENING;
use crate::chrome::{Phone, Window};
use crate::house::House;
use crate::sink::Sink;
use anyhow::{Context, Result, ensure};
use serde_json::json;
use simulation::{Desk, Opening};
use std::time::Duration;

/// Minutes from round to round.
const EVERY_MIN: u64 = 10;

const QUIET: Opening = Opening { gap_min: 15, ..OPENING };

/// Bytes that a page holds after everything unused was given back.
struct Held {
    script: i64,
    buffers: i64,
    nodes: i64,
    listeners: i64,
}

impl Window {
    async fn held(&self) -> Result<Held> {
        let cdp = self.driver.cdp();
        cdp.send_raw("HeapProfiler.collectGarbage", json!({})).await?;
        let heap = cdp.send_raw("Runtime.getHeapUsage", json!({})).await?;
        let dom = cdp.send_raw("Memory.getDOMCounters", json!({})).await?;
        let number = |value: &serde_json::Value| value.as_f64().map(|n| n as i64);
        Ok(Held {
            script: number(&heap["usedSize"]).context("the heap is measured")?,
            buffers: number(&heap["backingStorageSize"]).unwrap_or_default(),
            nodes: number(&dom["nodes"]).context("nodes are counted")?,
            listeners: number(&dom["jsEventListeners"]).context("listeners are counted")?,
        })
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_a_night_holds_in_memory() -> Result<()> {
    let sink = Sink::start().await?;
    let mut house = House::start(&sink.url)?;
    let desk = Desk::begin(&house.url, &house.begin_link, "lanterns along the quay").await?;
    let (_, path) = desk.open(&QUIET, "2026-01-01T20:00").await?;
    let phone = Phone::start().await?;
    phone.clocks_obey().await?;
    phone.enrol(&house.url, &desk, &path).await?;
    phone.tap("i-am-here").await?;
    phone.says("sent", "All sent").await?;
    house.kill();
    let minutes = std::env::var("RATTLEWATCH_HOURS").ok().and_then(|n| n.parse::<u64>().ok());
    let rounds = minutes.map_or(3, |hours| hours * 60 / EVERY_MIN);
    let mut first = None;
    for round in 1..=rounds {
        phone.is_ahead(Duration::from_secs(round * EVERY_MIN * 60)).await?;
        for id in ["i-am-here", "i-am-here", "all-clear"] {
            phone.tap(id).await?;
        }
        if round == 1 || round % 6 == 0 || round == rounds {
            let held = phone.held().await?;
            println!(
                "round {round}: script {} kB, buffers {} kB, {} nodes, {} listeners",
                held.script / 1024,
                held.buffers / 1024,
                held.nodes,
                held.listeners
            );
            let first = first.get_or_insert((held.nodes, held.listeners));
            // The screen is the same after every round: so is what it is made of, but for a dozen.
            ensure!(held.nodes <= first.0 + 60, "{} nodes were {}", held.nodes, first.0);
            ensure!(
                held.listeners <= first.1 + 20,
                "{} listeners were {}",
                held.listeners,
                first.1
            );
        }
    }
    let lines = phone.shows("sent").await?.text().await?;
    println!("{lines} after {rounds} rounds");
    Ok(())
}
