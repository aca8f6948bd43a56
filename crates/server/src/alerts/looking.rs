//! Looks at watches when something may have come due, many at a time: what all of them owe is signed
//! and appended together, so that a thousand deadlines at once wait for one disk, not for a thousand.

use super::address::{self, Address};
use super::causes::{self, Case};
use super::{demand, outbox, steps};
use crate::book::{Book, Live};
use crate::delivery::push::Subscription;
use crate::problem::Problem;
use crate::scribe::{Statement, nobody};
use crate::server::App;
use crate::standing::Standing;
use ledger::WatchId;
use record::Channel;
use std::collections::BTreeSet;

/// So many watches are looked at together; more would keep the first waiting for the last.
const TOGETHER: usize = 128;

/// After something went wrong it is tried again, ms.
const AGAIN_MS: i64 = 1_000;

/// Browsers and phones that asked for push messages, by key.
type Subscriptions = [(String, Subscription)];

/// Looks at every watch whose instant has come.
pub(crate) async fn look(app: &App) {
    if !app.book().behind.is_empty() {
        app.scribe.catch_up(app).await;
    }
    let due = app.book_mut().take_due(app.clock.now_ms());
    if due.is_empty() {
        return;
    }
    let due = brought_back(app, due).await;
    let subscriptions = match app.settings.all::<Subscription>().await {
        Ok(subscriptions) => subscriptions,
        Err(problem) => return due.iter().for_each(|watch| again(app, watch, &problem)),
    };
    for together in due.chunks(TOGETHER) {
        if look_at(app, together, &subscriptions).await.is_ok() {
            continue;
        }
        // One that cannot be written keeps no other from it.
        for watch in together {
            if let Err(problem) = look_at(app, std::slice::from_ref(watch), &subscriptions).await {
                again(app, watch, &problem);
            }
        }
    }
}

/// What was put away and comes due after all is brought back first.
async fn brought_back(app: &App, due: Vec<WatchId>) -> Vec<WatchId> {
    let (away, mut here): (Vec<_>, Vec<_>) = {
        let book = app.book();
        // A look at what is here is no reader for whom it would have to stay.
        due.into_iter().partition(|watch| book.is_put_away(watch))
    };
    for watch in away {
        match crate::shelf::bring_back(app, &watch).await {
            Ok(()) => here.push(watch),
            Err(problem) => again(app, &watch, &problem),
        }
    }
    here
}

fn again(app: &App, watch: &WatchId, problem: &Problem) {
    tracing::error!(%watch, %problem, "an alert could not be written; it is tried again");
    app.book_mut().plan_look(watch, app.clock.now_ms() + AGAIN_MS);
}

/// As [`look`], for a server that stands by: it shows what is due and writes nothing.
pub(crate) async fn look_only(app: &App) {
    let due = app.book_mut().take_due(app.clock.now_ms());
    for watch in brought_back(app, due).await {
        renew_now(app, &watch);
        app.tell(Some(watch));
    }
}

/// Folds a watch as it is now, and notes when it is to be looked at again.
pub(crate) fn renew_now(app: &App, watch: &WatchId) {
    let now_ms = app.clock.now_ms();
    renew(app, watch, now_ms);
    plan_next(app, watch, now_ms);
}

async fn look_at(
    app: &App,
    watches: &[WatchId],
    subscriptions: &Subscriptions,
) -> Result<(), Problem> {
    let now_ms = app.clock.now_ms();
    watches.iter().for_each(|watch| renew(app, watch, now_ms));
    // Looking without the scribe's turn first keeps the common case, nothing owed, cheap.
    let owes = |watch: &&WatchId| !owed(app, watch, subscriptions, now_ms).is_empty();
    let owing: Vec<&WatchId> = watches.iter().filter(owes).collect();
    if !owing.is_empty() {
        let nobody = nobody();
        let decide = || {
            let decided = owing.iter().map(|watch| {
                renew(app, watch, now_ms);
                ((*watch).clone(), owed(app, watch, subscriptions, now_ms))
            });
            decided.collect()
        };
        app.scribe.write_all_if(app, &nobody, decide).await?;
    }
    for watch in watches {
        let wrote = owing.contains(&watch);
        after(app, watch, subscriptions, (now_ms, wrote)).await?;
    }
    Ok(())
}

/// What follows once everything that a watch owed is written.
async fn after(
    app: &App,
    watch: &WatchId,
    subscriptions: &Subscriptions,
    (looked_ms, wrote): (i64, bool),
) -> Result<(), Problem> {
    let mut now_ms = looked_ms;
    if wrote {
        // Our own lines ask for another look, which is this one: a line of somebody else that comes in
        // from here on asks again.
        app.book_mut().forget_look(watch);
        // A state tells of lines up to its instant: those just written are a moment younger.
        now_ms = app.clock.now_ms();
        renew(app, watch, now_ms);
        if !owed(app, watch, subscriptions, now_ms).is_empty() {
            app.book_mut().plan_look(watch, now_ms);
        }
    }
    let stated = app.book().watch(watch).map_or(0, |live| outbox::stated(&live.standing));
    if app.book().watch(watch).is_some_and(|live| live.filled != stated) {
        outbox::fill(app, watch).await?;
        app.book_mut().live(watch).filled = stated;
    }
    plan_next(app, watch, now_ms);
    app.tell(Some(watch.clone()));
    Ok(())
}

/// What must be written now: new alerts, steps that alerts have reached, withdrawals.
fn owed(app: &App, watch: &WatchId, subscriptions: &Subscriptions, now_ms: i64) -> Vec<Statement> {
    let ways = ways(app, watch, subscriptions, now_ms);
    let book = app.book();
    let Some(live) = book.watch(watch) else { return Vec::new() };
    let ladder = book.ladders.of(watch);
    let mut owed = demand::owed(&case(live, &book, watch, now_ms), &live.standing.conditions);
    owed.extend(steps::owed(&live.standing, ladder, &ways, now_ms));
    owed
}

/// By which channels each step reaches somebody; looked for only when something has not been taken.
fn ways(
    app: &App,
    watch: &WatchId,
    subscriptions: &Subscriptions,
    now_ms: i64,
) -> Vec<BTreeSet<Channel>> {
    let book = app.book();
    let Some(live) = book.watch(watch) else { return Vec::new() };
    let standing = &live.standing;
    if standing.lasting(now_ms).iter().all(|alert| alert.taken.is_some()) {
        return Vec::new();
    }
    let steps = book.ladders.of(watch).steps.iter();
    let addresses = steps
        .map(|step| address::among(&book, subscriptions, standing, standing.site.as_ref(), step));
    addresses.map(|addresses| addresses.iter().map(Address::channel).collect()).collect()
}

fn case<'a>(live: &'a Live, book: &'a Book, watch: &WatchId, now_ms: i64) -> Case<'a> {
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
    let state = app.book().watch(watch).and_then(|live| live.about(now_ms));
    let Some(state) = state else { return };
    let mut book = app.book_mut();
    book.live(watch).standing = Standing::of(&state);
    let conditions = book.watch(watch).map(|live| causes::all(&case(live, &book, watch, now_ms)));
    book.live(watch).standing.conditions = conditions.unwrap_or_default();
}

fn plan_next(app: &App, watch: &WatchId, now_ms: i64) {
    let mut book = app.book_mut();
    let next_ms = book.watch(watch).and_then(|live| next_look(live, &book, watch, now_ms));
    if let Some(at_ms) = next_ms {
        book.plan_look(watch, at_ms);
    }
}

/// The next instant at which something can come due without a line coming in.
fn next_look(live: &Live, book: &Book, watch: &WatchId, now_ms: i64) -> Option<i64> {
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
