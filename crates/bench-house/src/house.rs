//! `house [--watches N] [--phones N] [--hours H]`: many live watches on one server, the desk's first page
//! over all of them; then phones that come back after hours without signal, all at once, each with its
//! backlog, while alerts about other watches fall due.

mod drain;
mod falls_due;

use anyhow::{Context, Result};
use bench_plan::options::Options;
use bench_plan::stopwatch::Stopwatch;
use ledger::WatchId;
use record::{HowSeen, RoundBegan, Seen, ShiftBegan, StopId, Words, ZoneId};
use serde_json::json;
use server::Running;
use simulation::{Desk, Opening, Phone};

const FLOORS: u32 = 6;
pub(crate) const OPENING: Opening = Opening {
    name: "Quay House",
    address: "4 Quay Street",
    floors: FLOORS,
    gap_min: 30,
    out: "fire_alarm",
    guard: "Marta Ilves",
    language: "en",
    order: "Order 26-118",
    plan: None,
};
/// So many pages are asked for, one after another.
const PAGES: usize = 50;

/// One watch with the phone that keeps it.
struct Guarded {
    watch: WatchId,
    phone: Phone,
}

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["watches", "phones", "hours"])?;
    let watches: usize = options.get("watches", 5_000)?;
    let (phones, hours) = (options.get("phones", 1_000)?, options.get("hours", 8)?);
    simulation::choose_tls();
    tokio::runtime::Runtime::new()?.block_on(measure(watches, phones, hours))
}

async fn measure(watches: usize, phones: usize, hours: u64) -> Result<()> {
    let folder = tempfile::tempdir()?;
    let options = server::Options::in_folder(folder.path());
    let running = server::serve(options.clone()).await?;
    let link = running.app.begin_link().context("an empty folder makes a link")?;
    let desk = Desk::begin(running.app.public(), &link, "lanterns along the quay").await?;
    let from =
        jiff::Timestamp::now().in_tz("America/Chicago")?.strftime("%Y-%m-%dT%H:%M").to_string();
    let (before_kib, clock) = (resident_kib()?, Stopwatch::start(0.0));
    let mut guarded = Vec::new();
    for number in 0..watches.max(phones) {
        // The same form again within seconds would be the same press.
        let order = Box::leak(format!("Order {number}").into_boxed_str());
        let (watch, path) = desk.open(&Opening { order, ..OPENING }, &from).await?;
        if number < phones {
            let now_ms = running.app.clock.now_ms();
            let phone = Phone::new(running.app.public(), number as u64, now_ms);
            guarded.push(begun(&desk, &path, watch, phone).await?);
        }
    }
    let per_watch_kib = (resident_kib()? - before_kib) as f64 / watches.max(phones) as f64;
    let opened_s = clock.seconds();
    let page = first_page(&desk).await?;
    println!(
        "{}",
        json!({
            "bench": "house", "what": "tonight", "watches": watches.max(phones), "phones": phones,
            "opened_per_s": (watches.max(phones) as f64 / opened_s).round(),
            "memory_per_watch_kib": per_watch_kib.round(), "page_bytes": page.bytes,
            "page_p50_ms": page.p50_ms, "page_p99_ms": page.p99_ms,
        })
    );
    drain::drain(&running, &desk, &options, guarded, hours).await?;
    running.stop().await;
    Ok(())
}

/// Lets the phone in; its guard arrives and looks at every floor.
async fn begun(desk: &Desk, path: &str, watch: WatchId, mut phone: Phone) -> Result<Guarded> {
    desk.let_in(path, &mut phone).await?;
    phone.write(&watch, ShiftBegan { until_ms: None, silent: false }, Words::default())?;
    phone.write(&watch, RoundBegan { round: 1 }, Words::default())?;
    let mut guarded = Guarded { watch, phone };
    guarded.looks_round(1)?;
    guarded.phone.sync().await?;
    Ok(guarded)
}

impl Guarded {
    fn looks_round(&mut self, round: u32) -> Result<()> {
        for floor in 1..=FLOORS {
            let name = format!("floor-{floor}");
            let seen = Seen {
                stop: StopId::new(&*name)?,
                zone: ZoneId::new(name)?,
                how: HowSeen::Hand,
                tag: None,
                round,
                fix: false,
            };
            self.phone.write(&self.watch, seen, Words::default())?;
        }
        Ok(())
    }
}

struct Page {
    bytes: usize,
    p50_ms: f64,
    p99_ms: f64,
}

async fn first_page(desk: &Desk) -> Result<Page> {
    let (mut took_ms, mut bytes) = (Vec::new(), 0);
    for _ in 0..PAGES {
        let clock = Stopwatch::start(0.0);
        bytes = desk.page("/").await?.len();
        took_ms.push(clock.seconds() * 1e3);
    }
    took_ms.sort_by(f64::total_cmp);
    let at = |share: f64| took_ms[((PAGES - 1) as f64 * share) as usize].round();
    Ok(Page { bytes, p50_ms: at(0.5), p99_ms: at(0.99) })
}

/// What this process holds in memory, KiB: the server and the scripted phones.
fn resident_kib() -> Result<i64> {
    let status = std::fs::read_to_string("/proc/self/status")?;
    let line = status.lines().find(|line| line.starts_with("VmRSS:")).context("its memory")?;
    line.split_whitespace().nth(1).context("a figure")?.parse().context("a figure")
}

/// The server and whoever is on duty.
fn set_forward(running: &Running, guarded: &mut [Guarded], minutes: u64) {
    set_forward_ms(running, guarded, minutes as i64 * 60_000);
}

fn set_forward_ms(running: &Running, guarded: &mut [Guarded], by_ms: i64) {
    running.app.clock.advance(std::time::Duration::from_millis(by_ms as u64));
    for one in guarded {
        one.phone.now_ms += by_ms;
    }
}
