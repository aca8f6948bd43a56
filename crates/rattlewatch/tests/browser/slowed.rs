//! How long things take on a slow phone: Chromium with its processor slowed down six times. Nothing here
//! fails for being slow; what is measured is printed, and stands in `bench/results/phone.md`.
//! `RATTLEWATCH_TAPS=300` and `RATTLEWATCH_STARTS=20` measure more than a test run does.

use crate::OPENING;
use crate::begun::Begun;
use crate::chrome::{Phone, Window};
use anyhow::{Context, Result, ensure};
use serde_json::json;

/// So many times slower.
const SLOWER: u32 = 6;

/// Touches what comes next; answers with the milliseconds until the screen counts it as kept and has drawn
/// that. The number on the screen goes up only when the browser has said that the transaction is on the disk.
const TAP: &str = r#"
  const done = arguments[arguments.length - 1];
  const sent = () => document.getElementById("sent")?.textContent ?? "";
  const before = sent();
  const next = document.getElementById("all-clear") ?? document.getElementById("i-am-here");
  const began = performance.now();
  const watch = new MutationObserver(() => {
    if (sent() === before || !/\d/.test(sent())) return;
    watch.disconnect();
    requestAnimationFrame(() => done(performance.now() - began));
  });
  watch.observe(document.body, { subtree: true, childList: true, characterData: true });
  next.click();
"#;

/// Opens the card; answers with the milliseconds until its first words have been drawn.
const CARD: &str = r#"
  const done = arguments[arguments.length - 1];
  const began = performance.now();
  document.getElementById("fire").click();
  const look = () => {
    const site = document.getElementById("card-site");
    if (site && site.offsetHeight > 0) requestAnimationFrame(() => done(performance.now() - began));
    else requestAnimationFrame(look);
  };
  look();
"#;

/// Runs in a page before anything of it: notes when something stands on the screen, ms after the page was
/// asked for.
const NOTES: &str = r#"
  window.shown = {};
  const look = () => {
    for (const id of ["sent", "card-site"]) {
      const element = document.getElementById(id);
      if (element && element.offsetHeight > 0) window.shown[id] ??= performance.now();
    }
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
"#;

/// How large the program's memory is, bytes. Loading a module again gives the one that runs.
const MEMORY: &str = r#"
  const done = arguments[arguments.length - 1];
  import(new URL("phone.js", document.baseURI)).then((program) => program.default())
    .then((wasm) => done(wasm.memory.buffer.byteLength));
"#;

impl Window {
    /// What the page's main thread has done so far, s of its own time: all of it, scripts, layout. Other programs
    /// on the machine do not count, a slowed processor neither.
    async fn own_time(&self) -> Result<[f64; 3]> {
        let cdp = self.driver.cdp();
        let clock = json!({ "timeDomain": "threadTicks" });
        cdp.send_raw("Performance.enable", clock).await?;
        let answer = cdp.send_raw("Performance.getMetrics", json!({})).await?;
        let metrics = answer["metrics"].as_array().context("metrics")?;
        let metric = |name: &str| {
            let found = metrics.iter().find(|metric| metric["name"] == name);
            found.and_then(|metric| metric["value"].as_f64()).unwrap_or_default()
        };
        let layout = metric("LayoutDuration") + metric("RecalcStyleDuration");
        Ok([metric("TaskDuration"), metric("ScriptDuration"), layout])
    }

    async fn memory_kib(&self) -> Result<f64> {
        Ok(self.milliseconds(MEMORY).await? / 1024.0)
    }

    async fn slowed(&self, rate: u32) -> Result<()> {
        self.driver
            .cdp()
            .send_raw("Emulation.setCPUThrottlingRate", json!({ "rate": rate }))
            .await?;
        Ok(())
    }

    async fn milliseconds(&self, script: &str) -> Result<f64> {
        let took = self.driver.execute_async(script, Vec::new()).await?;
        took.json().as_f64().context("a number")
    }

    async fn notes(&self) -> Result<()> {
        let source = json!({ "source": NOTES });
        self.driver.cdp().send_raw("Page.addScriptToEvaluateOnNewDocument", source).await?;
        Ok(())
    }

    /// When this was first seen, ms after the page was asked for.
    async fn shown(&self, id: &str) -> Result<f64> {
        self.shows(id).await?;
        let script = format!("return window.shown[{id:?}] ?? null");
        let shown = self.driver.execute(script, Vec::new()).await?;
        shown.json().as_f64().with_context(|| format!("#{id} was never drawn"))
    }
}

/// Half were faster, 99 of 100 were faster, how many.
fn spread(name: &str, mut took: Vec<f64>) {
    took.sort_by(f64::total_cmp);
    let at = |share: f64| took[((took.len() - 1) as f64 * share).round() as usize];
    println!("{name}: p50 {:.0} ms, p99 {:.0} ms, {} times", at(0.5), at(0.99), took.len());
}

fn times(variable: &str, usual: usize) -> usize {
    std::env::var(variable).ok().and_then(|n| n.parse().ok()).unwrap_or(usual)
}

/// `3 waiting` as a number.
fn count(waiting: &str) -> usize {
    waiting.split_whitespace().next().and_then(|n| n.parse().ok()).unwrap_or(0)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_slow_phone_taps_starts_and_shows_the_card() -> Result<()> {
    let Begun { mut house, mut phone, sink: _sink, .. } = Begun::enrolled(&OPENING).await?;
    phone.tap("i-am-here").await?;
    phone.says("sent", "All sent").await?;
    house.kill();
    phone.tap("i-am-here").await?;

    for rate in [1, SLOWER] {
        phone.slowed(rate).await?;
        let mut taps = Vec::new();
        let before = phone.own_time().await?;
        for _ in 0..times("RATTLEWATCH_TAPS", 10) {
            taps.push(phone.milliseconds(TAP).await?);
        }
        let after = phone.own_time().await?;
        let each = |at: usize| (after[at] - before[at]) * 1000.0 / taps.len() as f64;
        println!(
            "own time of the main thread for a tap: {:.1} ms, scripts {:.1}, layout {:.1}",
            each(0),
            each(1),
            each(2)
        );
        spread(&format!("tap to saved, {rate} times slower"), taps);
        let mut cards = Vec::new();
        for _ in 0..times("RATTLEWATCH_STARTS", 2) {
            cards.push(phone.milliseconds(CARD).await?);
            phone.back().await?;
        }
        spread(&format!("card over the screen, {rate} times slower"), cards);
        println!("memory of the program: {:.0} KiB", phone.memory_kib().await?);
    }
    let kept = phone.shows("sent").await?.text().await?;

    let (mut starts, mut cards) = (Vec::new(), Vec::new());
    for _ in 0..times("RATTLEWATCH_STARTS", 2) {
        phone = Phone::charged(phone.dies()?).await?;
        phone.notes().await?;
        phone.slowed(SLOWER).await?;
        phone.goto(&format!("{}/phone/", house.url)).await?;
        phone.says("sent", "waiting").await?;
        // A line more may have come, about the start itself.
        let again = phone.shows("sent").await?.text().await?;
        ensure!(count(&again) >= count(&kept), "{kept} before, {again} after the start");
        starts.push(phone.shown("sent").await?);
        phone.goto(&format!("{}/phone/card", house.url)).await?;
        cards.push(phone.shown("card-site").await?);
    }
    let mut firsts = Vec::new();
    for _ in 0..times("RATTLEWATCH_STARTS", 2) {
        phone = Phone::charged(phone.dies()?).await?;
        phone.notes().await?;
        phone.slowed(SLOWER).await?;
        phone.goto(&format!("{}/phone/card", house.url)).await?;
        firsts.push(phone.shown("card-site").await?);
    }
    println!("{kept} on the phone");
    spread(&format!("cold start without network, ready, {SLOWER} times slower"), starts);
    spread(&format!("the card as a page of its own, {SLOWER} times slower"), cards);
    spread(&format!("the card as the first page of all, {SLOWER} times slower"), firsts);
    Ok(())
}
