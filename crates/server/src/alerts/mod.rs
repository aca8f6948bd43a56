//! What is due: looks at each watch when something may have come due, and writes each alert once.
//!
//! Nothing is stored but the lines themselves. At every start the folds say what is due and what was
//! alerted already, so a deadline that passed while the server was down is caught up at once.

mod demand;

use crate::book::Book;
use crate::clock::STEP_MS;
use crate::scribe::nobody;
use crate::server::App;
use crate::standing::Standing;
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
        }
    }
}

/// Looks at every watch whose instant has come.
pub(crate) async fn look(app: &App) {
    let due = app.book_mut().take_due(app.clock.now_ms());
    for watch in due {
        if let Err(problem) = look_at(app, &watch).await {
            tracing::error!(%watch, %problem, "an alert could not be written; it is tried again");
            app.book_mut().plan_look(&watch, app.clock.now_ms() + 1_000);
        }
    }
}

async fn look_at(app: &App, watch: &WatchId) -> Result<(), crate::Problem> {
    let now_ms = app.clock.now_ms();
    renew(app, watch, now_ms);
    let decide = || {
        let book = app.book();
        let standing = book.watch(watch).map(|live| live.standing.clone());
        standing.map_or(Vec::new(), |standing| demand::owed(&standing, &book, now_ms))
    };
    // Looking without the scribe's turn first keeps the common case, nothing owed, cheap.
    if !decide().is_empty() {
        let nobody = nobody();
        let written = app.scribe.write_if(app, watch, &nobody, || {
            renew(app, watch, now_ms);
            decide()
        });
        written.await?;
        renew(app, watch, now_ms);
    }
    let mut book = app.book_mut();
    let next_ms = book.watch(watch).map(|live| next_look(&live.standing, &book, now_ms));
    if let Some(at_ms) = next_ms.flatten() {
        book.plan_look(watch, at_ms);
    }
    drop(book);
    app.tell(Some(watch.clone()));
    Ok(())
}

/// Folds the watch as it is now.
fn renew(app: &App, watch: &WatchId, now_ms: i64) {
    let state = app.book().watch(watch).map(|live| live.fold.about(now_ms));
    if let Some(state) = state {
        app.book_mut().live(watch).standing = Standing::of(&state);
    }
}

/// The next instant at which something can come due without a line coming in.
fn next_look(standing: &Standing, book: &Book, now_ms: i64) -> Option<i64> {
    if standing.is_over(now_ms) {
        return None;
    }
    let due = standing.due.iter().map(|due| due.due_ms + 1);
    let begins = [standing.from_ms].into_iter().chain(standing.until_ms);
    let silent = standing.on_duty.iter().filter_map(|duty| {
        let heard_ms = book.any_device(duty.dev)?.heard_ms?;
        Some(heard_ms + crate::book::TOUCH_MS)
    });
    due.chain(begins).chain(silent).filter(|at_ms| *at_ms > now_ms).min()
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
