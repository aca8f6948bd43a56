//! The return of the phones.

use super::{Guarded, falls_due, set_forward, set_forward_ms};
use crate::returning::{self, AT_ONCE};
use anyhow::{Context, Result};
use bench_plan::stopwatch::Stopwatch;
use serde_json::json;
use server::Running;
use simulation::Desk;
/// A round begins so often while there is no signal, minutes.
const EVERY_MIN: u64 = 25;

/// All but the first are without signal for hours, each round written, while the server raises its alerts
/// about them; then they come back at once, and meanwhile nobody comes to a hundred other watches.
pub(super) async fn drain(
    running: &Running,
    desk: &Desk,
    options: &server::Options,
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
    let lines: usize = guarded.iter().map(|one| one.phone.waiting()).sum();
    let phones = guarded.len() - 1;
    let awaited = falls_due::open(running, desk).await?;
    set_forward_ms(running, &mut guarded, awaited.wait_ms(running));
    let rest = guarded.split_off(1);
    let clock = Stopwatch::start(0.0);
    returning::all(rest.into_iter().map(|one| one.phone)).await?;
    let took_s = clock.seconds();
    println!(
        "{}",
        json!({
            "bench": "house", "what": "backlog", "phones": phones, "hours": hours, "lines": lines,
            "at_once": AT_ONCE, "drained_s": took_s, "lines_per_s": (lines as f64 / took_s).round(),
            "goal_drained_s": 600,
        })
    );
    awaited.report(running, options).await
}
