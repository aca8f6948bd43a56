//! What is due: looks at each watch when something may have come due, and writes each alert once.
//!
//! Nothing is stored but the lines themselves. At every start the folds say what is due and what was
//! alerted already, so a deadline that passed while the server was down is caught up at once.

mod address;
pub(crate) mod causes;
mod demand;
pub(crate) mod ladder;
mod looking;
mod message;
mod outbox;
mod page;
mod sender;
mod steps;

pub(crate) use address::Address;
pub(crate) use looking::{look, look_only, renew_now};
pub(crate) use outbox::Outgoing;
pub(crate) use page::{house, keep_house, keep_own, of_watch, renew_secret, try_out};
pub(crate) use sender::run as send;

use crate::clock::STEP_MS;
use crate::scribe::nobody;
use crate::server::App;
use ledger::WatchId;
use record::{Clock as ClockStep, Tick};
use std::time::Duration;

/// How often the agenda is looked at: the most that an alert waits, ms.
const LOOK_EVERY: Duration = Duration::from_millis(200);

/// A line that says that the log is alive, while any watch is open.
const TICK_EVERY_MS: i64 = 60_000;

/// Runs until the server stops.
pub(crate) async fn run(app: App) {
    let mut every = tokio::time::interval(LOOK_EVERY);
    every.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    let mut clocks = (app.clock.now_ms(), app.clock.mono_ms());
    let mut ticked_mono_ms = clocks.1;
    loop {
        every.tick().await;
        look(&app).await;
        let (now_ms, mono_ms) = (app.clock.now_ms(), app.clock.mono_ms());
        note_step(&app, clocks, (now_ms, mono_ms)).await;
        clocks = (now_ms, mono_ms);
        if mono_ms - ticked_mono_ms >= TICK_EVERY_MS {
            ticked_mono_ms = mono_ms;
            tick(&app).await;
            crate::house_chain::note(&app).await;
            crate::shelf::put_away(&app).await;
        }
    }
}

async fn tick(app: &App) {
    let now_ms = app.clock.now_ms();
    let open = app.book().watches().filter(|(_, live)| !live.standing.is_over(now_ms)).count();
    if open == 0 {
        return;
    }
    let entry = Tick { watches: open as u32 };
    let written = app.scribe.write(app, &WatchId::org(), &nobody(), vec![entry.into()]).await;
    if let Err(problem) = written {
        tracing::error!(%problem, "the tick could not be written");
    }
    if let Err(problem) = app.publish().await {
        tracing::error!(%problem, "the head could not be signed");
    }
}

/// A wall clock that moved against the monotonic one is written down: times on either side of the
/// step do not compare.
async fn note_step(app: &App, before: (i64, i64), after: (i64, i64)) {
    let (wall_ms, mono_ms) = (after.0 - before.0, after.1 - before.1);
    if (wall_ms - mono_ms).abs() <= STEP_MS {
        return;
    }
    let entry = ClockStep { wall_step_ms: wall_ms - mono_ms, asleep: false };
    let written = app.scribe.write(app, &WatchId::org(), &nobody(), vec![entry.into()]).await;
    if let Err(problem) = written {
        tracing::error!(%problem, "a step of the clock could not be written");
    }
}
