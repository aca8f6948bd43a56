//! The return of the phones.

use super::{Guarded, set_forward};
use anyhow::{Context, Result, ensure};
use bench_plan::stopwatch::Stopwatch;
use serde_json::json;
use server::Running;
use simulation::Desk;
use std::time::Duration;
use tokio::task::JoinSet;

/// So many phones speak at the same time.
const AT_ONCE: usize = 32;
/// A round begins so often while there is no signal, minutes.
const EVERY_MIN: u64 = 25;

/// All but the first are without signal for hours, each round written; then they come back at once. The
/// first walks as they do and is in touch, and stops walking 30 minutes before they return: its alert falls
/// due while they are being heard.
pub(super) async fn drain(
    running: &Running,
    desk: &Desk,
    mut guarded: Vec<Guarded>,
    hours: u64,
) -> Result<()> {
    let (mut round, mut minute) = (1, 0);
    while minute + EVERY_MIN <= hours * 60 {
        set_forward(running, &mut guarded, EVERY_MIN);
        (round, minute) = (round + 1, minute + EVERY_MIN);
        for one in &mut guarded {
            one.looks_round(round)?;
        }
        let first = guarded.first_mut().context("a phone in touch")?;
        first.phone.sync().await?;
    }
    set_forward(running, &mut guarded, 29);
    let live = &mut guarded[0];
    live.phone.sync().await?;
    let watch = live.watch.clone();
    let lines: usize = guarded.iter().map(|one| one.phone.waiting()).sum();
    let phones = guarded.len() - 1;
    let rest = guarded.split_off(1);
    // 55 s into the last minute: the alert is due 5 s after they begin to come back.
    running.app.clock.advance(Duration::from_secs(55));
    let clock = Stopwatch::start(0.0);
    let (all, alert_s) = tokio::join!(return_all(rest), alerted(desk, watch.as_str()));
    all?;
    let (took_s, alert_s) = (clock.seconds(), alert_s?);
    println!(
        "{}",
        json!({
            "bench": "house", "what": "backlog", "phones": phones, "hours": hours, "lines": lines,
            "at_once": AT_ONCE, "drained_s": took_s, "lines_per_s": (lines as f64 / took_s).round(),
            "goal_drained_s": 600, "alert_after_due_s": alert_s - 5.0, "goal_alert_s": 5,
        })
    );
    Ok(())
}

async fn return_all(guarded: Vec<Guarded>) -> Result<()> {
    let mut speaking = JoinSet::new();
    for mut one in guarded {
        if speaking.len() >= AT_ONCE {
            speaking.join_next().await.context("somebody speaks")???;
        }
        speaking.spawn(async move {
            one.phone.sync().await?;
            ensure!(one.phone.waiting() == 0, "lines without a receipt are left");
            Ok::<(), anyhow::Error>(())
        });
    }
    while let Some(done) = speaking.join_next().await {
        done??;
    }
    Ok(())
}

/// When the watch's own page says that a zone is over, s from now.
async fn alerted(desk: &Desk, watch: &str) -> Result<f64> {
    let clock = Stopwatch::start(0.0);
    loop {
        if desk.page(&format!("/watch/{watch}")).await?.contains("data-alarm") {
            return Ok(clock.seconds());
        }
        ensure!(clock.seconds() < 600.0, "no alert within ten minutes");
        tokio::time::sleep(Duration::from_millis(200)).await;
    }
}
