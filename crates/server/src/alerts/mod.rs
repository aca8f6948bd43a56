//! What is due: looks at each watch when something may have come due, and writes each alert once.
//!
//! Nothing is stored but the lines themselves. At every start the folds say what is due and what was
//! alerted already, so a deadline that passed while the server was down is caught up at once.

mod address;
pub(crate) mod causes;
mod demand;
pub(crate) mod ladder;
mod message;
mod outbox;
mod page;
mod sender;
mod steps;

pub(crate) use address::Address;
pub(crate) use outbox::Outgoing;
pub(crate) use page::{house, keep_house, keep_own, of_watch, renew_secret, try_out};
pub(crate) use sender::run as send;

use crate::book::Book;
use crate::clock::STEP_MS;
use crate::scribe::{Statement, nobody};
use crate::server::App;
use crate::standing::Standing;
use causes::Case;
use ledger::WatchId;
use record::{Channel, Clock as ClockStep, Tick};
use std::collections::BTreeSet;
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

/// As [`look`], for a server that stands by: it shows what is due and writes nothing.
pub(crate) fn look_only(app: &App) {
    let due = app.book_mut().take_due(app.clock.now_ms());
    for watch in due {
        renew_now(app, &watch);
        app.tell(Some(watch));
    }
}

/// Folds a watch as it is now, and notes when it is to be looked at again.
pub(crate) fn renew_now(app: &App, watch: &WatchId) {
    let now_ms = app.clock.now_ms();
    renew(app, watch, now_ms);
    let mut book = app.book_mut();
    let next_ms = book.watch(watch).and_then(|live| next_look(live, &book, watch, now_ms));
    if let Some(at_ms) = next_ms {
        book.plan_look(watch, at_ms);
    }
}

async fn look_at(app: &App, watch: &WatchId) -> Result<(), crate::Problem> {
    let now_ms = app.clock.now_ms();
    renew(app, watch, now_ms);
    let ways = ways(app, watch, now_ms).await?;
    // Looking without the scribe's turn first keeps the common case, nothing owed, cheap.
    if !owed(app, watch, &ways, now_ms).is_empty() {
        let nobody = nobody();
        let written = app.scribe.write_if(app, watch, &nobody, || {
            renew(app, watch, now_ms);
            owed(app, watch, &ways, now_ms)
        });
        written.await?;
        // A state tells of lines up to its instant: those just written are a moment younger.
        renew(app, watch, app.clock.now_ms());
    }
    let stated = app.book().watch(watch).map_or(0, |live| outbox::stated(&live.standing));
    if app.book().watch(watch).is_some_and(|live| live.filled != stated) {
        outbox::fill(app, watch).await?;
        app.book_mut().live(watch).filled = stated;
    }
    let mut book = app.book_mut();
    let next_ms = book.watch(watch).and_then(|live| next_look(live, &book, watch, now_ms));
    if let Some(at_ms) = next_ms {
        book.plan_look(watch, at_ms);
    }
    drop(book);
    app.tell(Some(watch.clone()));
    Ok(())
}

/// What must be written now: new alerts, steps that alerts have reached, withdrawals.
fn owed(app: &App, watch: &WatchId, ways: &[BTreeSet<Channel>], now_ms: i64) -> Vec<Statement> {
    let book = app.book();
    let Some(live) = book.watch(watch) else { return Vec::new() };
    let ladder = book.ladders.of(watch);
    let mut owed = demand::owed(&case(live, &book, watch, now_ms), &live.standing.conditions);
    owed.extend(steps::owed(&live.standing, ladder, ways, now_ms));
    owed
}

/// By which channels each step reaches somebody; asked only when something has not been taken.
async fn ways(
    app: &App,
    watch: &WatchId,
    now_ms: i64,
) -> Result<Vec<BTreeSet<Channel>>, crate::Problem> {
    let (standing, ladder) = {
        let book = app.book();
        let Some(live) = book.watch(watch) else { return Ok(Vec::new()) };
        let untaken = live.standing.lasting(now_ms).iter().any(|alert| alert.taken.is_none());
        if !untaken {
            return Ok(Vec::new());
        }
        (live.standing.clone(), book.ladders.of(watch).clone())
    };
    let mut ways = Vec::new();
    for step in &ladder.steps {
        let addresses = address::of_step(app, &standing, standing.site.as_ref(), step).await?;
        ways.push(addresses.iter().map(Address::channel).collect());
    }
    Ok(ways)
}

fn case<'a>(live: &'a crate::book::Live, book: &'a Book, watch: &WatchId, now_ms: i64) -> Case<'a> {
    Case {
        standing: &live.standing,
        documents: &live.documents,
        book,
        ladder: book.ladders.of(watch),
        undelivered_ms: book.undelivered.get(watch).copied(),
        now_ms,
    }
}

/// Folds the watch as it is now.
fn renew(app: &App, watch: &WatchId, now_ms: i64) {
    let state = app.book().watch(watch).map(|live| live.fold.about(now_ms));
    let Some(state) = state else { return };
    let mut book = app.book_mut();
    book.live(watch).standing = Standing::of(&state);
    let conditions = book.watch(watch).map(|live| causes::all(&case(live, &book, watch, now_ms)));
    book.live(watch).standing.conditions = conditions.unwrap_or_default();
}

/// The next instant at which something can come due without a line coming in.
fn next_look(live: &crate::book::Live, book: &Book, watch: &WatchId, now_ms: i64) -> Option<i64> {
    let standing = &live.standing;
    let ahead = standing.conditions.iter().map(|condition| condition.from_ms);
    let climbs = steps::next(standing, book.ladders.of(watch), now_ms);
    let silent = standing.on_duty.iter().filter_map(|duty| {
        let heard_ms = book.any_device(duty.dev)?.heard_ms?;
        Some(heard_ms + crate::book::TOUCH_MS)
    });
    let tails = standing.tails.iter().map(|tail| tail.until_ms);
    let until = standing.until_ms.filter(|_| !standing.is_over(now_ms));
    let all = ahead.chain(climbs).chain(silent).chain(tails).chain(until);
    all.filter(|at_ms| *at_ms > now_ms).min()
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
