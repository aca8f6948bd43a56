//! `deadlines [--watches N] [--zones N] [--minutes M] [--restarts N]`: deadlines by the hundred thousand, evenly
//! over some minutes of real time, while the server is stopped and started again and prints reports. Each
//! must stand in the record exactly once.

mod counted;
mod kept;

use crate::house;
use anyhow::{Context, Result, ensure};
use bench_plan::options::Options;
use counted::Deadline;
use kept::Kept;
use serde_json::json;
use server::{Running, StartError};
use simulation::{Desk, Opening};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::time::Duration;
use store::StoreError;

/// The gap of every zone, minutes: longer than it takes to open all the watches.
const GAP_MIN: u32 = 60;
const GAP_MS: i64 = GAP_MIN as i64 * 60_000;
/// What fell due meanwhile for other reasons is written before the first deadline, ms.
const AHEAD_MS: i64 = 90_000;
const PAUSE: Duration = Duration::from_millis(100);
/// Nothing is missing before so long after the last deadline.
const PATIENCE: Duration = Duration::from_secs(60);

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["watches", "zones", "minutes", "restarts"])?;
    let size = Size {
        watches: options.get("watches", 2_000)?,
        zones: options.get("zones", 50)?,
        minutes: options.get("minutes", 5)?,
        restarts: options.get("restarts", 3)?,
    };
    ensure!(size.minutes < i64::from(GAP_MIN) / 2, "less than half a gap of {GAP_MIN} min");
    simulation::choose_tls();
    tokio::runtime::Runtime::new()?.block_on(measure(&size))
}

struct Size {
    watches: usize,
    zones: u32,
    minutes: i64,
    restarts: u32,
}

/// While nobody was there to write, ms of the server's clock.
struct Down {
    from_ms: i64,
    until_ms: i64,
}

async fn measure(size: &Size) -> Result<()> {
    let folder = tempfile::tempdir()?;
    let mut options = server::Options::in_folder(folder.path());
    options.printer = Some(printer()?);
    let mut running = server::serve(options.clone()).await?;
    options.listen = running.local;
    let link = running.app.begin_link().context("an empty folder makes a link")?;
    let desk = Desk::begin(running.app.public(), &link, "lanterns along the quay").await?;
    let began_ms = running.app.clock.now_ms();
    let kept = open_all(&running, &desk, size).await?;
    let over_ms = size.minutes * 60_000;
    set_forward(&running, &mut options, over_ms);
    let looked_ms = running.app.clock.now_ms() - over_ms;
    let deadlines = kept::look(kept, size.zones, looked_ms, over_ms).await?;
    let first_ms = looked_ms + GAP_MS;
    let wait_ms = first_ms - AHEAD_MS - running.app.clock.now_ms();
    ensure!(wait_ms > 0, "opening took longer than the gap");
    set_forward(&running, &mut options, wait_ms);
    until(&running, first_ms).await;
    println!(
        "{}",
        json!({ "opened_min": (first_ms - GAP_MS - began_ms) / 60_000, "load": load()? })
    );
    let printing = Printing::begin(desk, &deadlines);
    let mut down = Vec::new();
    for number in 1..=size.restarts {
        until(&running, first_ms + over_ms * i64::from(number) / i64::from(size.restarts + 1))
            .await;
        let from_ms = running.app.clock.now_ms();
        running.stop().await;
        running = again(&options).await?;
        down.push(Down { from_ms, until_ms: running.app.clock.now_ms() });
    }
    until(&running, first_ms + over_ms).await;
    let reports = printing.end().await?;
    tokio::time::sleep(PATIENCE).await;
    running.stop().await;
    let found = counted::count(&options, &deadlines, &down).await?;
    found.print(size, &down, reports, &load()?);
    Ok(())
}

/// Starts it again. A report that is being printed ends first, for all of it is one process here.
async fn again(options: &server::Options) -> Result<Running> {
    loop {
        match server::serve(options.clone()).await {
            Err(StartError::Store(StoreError::InUse)) => tokio::time::sleep(PAUSE).await,
            started => return Ok(started?),
        }
    }
}

async fn open_all(running: &Running, desk: &Desk, size: &Size) -> Result<Vec<Kept>> {
    let from =
        jiff::Timestamp::now().in_tz("America/Chicago")?.strftime("%Y-%m-%dT%H:%M").to_string();
    let mut kept = Vec::new();
    for number in 0..size.watches {
        let order = Box::leak(format!("Order {number}").into_boxed_str());
        let opening = Opening { order, floors: size.zones, gap_min: GAP_MIN, ..house::OPENING };
        kept.push(Kept::open(running, desk, &opening, &from, number as u64).await?);
    }
    Ok(kept)
}

/// The server's clock, also of the one that is started next.
fn set_forward(running: &Running, options: &mut server::Options, by_ms: i64) {
    let by = Duration::from_millis(by_ms as u64);
    running.app.clock.advance(by);
    options.ahead += by;
}

async fn until(running: &Running, at_ms: i64) {
    let left_ms = at_ms - running.app.clock.now_ms();
    tokio::time::sleep(Duration::from_millis(left_ms.max(0) as u64)).await;
}

/// The program beside this one prints, as it does for a server in earnest.
fn printer() -> Result<PathBuf> {
    let program = std::env::current_exe()?.with_file_name("rattlewatch");
    ensure!(
        program.exists(),
        "{} is not there: cargo build --release -p rattlewatch --bin rattlewatch",
        program.display()
    );
    Ok(program)
}

/// How busy the machine is: its own averages over 1, 5 and 15 minutes.
fn load() -> Result<String> {
    let load = std::fs::read_to_string("/proc/loadavg")?;
    Ok(load.split_whitespace().take(3).collect::<Vec<_>>().join(" "))
}

/// Somebody who asks for one report after the other.
struct Printing {
    stop: Arc<AtomicBool>,
    printed: Arc<AtomicU32>,
    task: tokio::task::JoinHandle<()>,
}

impl Printing {
    fn begin(desk: Desk, deadlines: &[Deadline]) -> Printing {
        let (stop, printed) = (Arc::new(AtomicBool::new(false)), Arc::new(AtomicU32::new(0)));
        let watches: Vec<String> =
            deadlines.iter().take(50).map(|deadline| deadline.watch.to_string()).collect();
        let (stopped, count) = (stop.clone(), printed.clone());
        let task = tokio::spawn(async move {
            for watch in watches.iter().cycle() {
                if stopped.load(Ordering::Relaxed) {
                    return;
                }
                // While the server is down there is none.
                match desk.download(&format!("/watch/{watch}/report")).await {
                    Ok(pdf) if pdf.starts_with(b"%PDF") => {
                        count.fetch_add(1, Ordering::Relaxed);
                    }
                    _ => tokio::time::sleep(Duration::from_secs(1)).await,
                }
            }
        });
        Printing { stop, printed, task }
    }

    async fn end(self) -> Result<u32> {
        self.stop.store(true, Ordering::Relaxed);
        self.task.await?;
        Ok(self.printed.load(Ordering::Relaxed))
    }
}
