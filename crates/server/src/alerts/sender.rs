//! Sends what is in the outbox: each item until it was taken, until the alert is taken or taken back,
//! or until it helps nobody any more. One slow address keeps no other waiting.

use super::address::Address;
use super::message;
use super::outbox::{self, Outgoing, TOO_OLD_MS};
use crate::delivery::push::{self, Pushed, Subscription};
use crate::delivery::{mail, webhook};
use crate::problem::Problem;
use crate::server::App;
use futures_util::StreamExt;
use std::time::Duration;

/// How often the outbox is looked at without news.
const LOOK_EVERY: Duration = Duration::from_secs(2);
/// Addresses that are tried at the same time.
const AT_ONCE: usize = 16;
/// Waits between tries, ms: doubled each time (our own defaults).
const FIRST_WAIT_MS: i64 = 5_000;
const WAIT_MAX_MS: i64 = 300_000;
/// Items that are done are shown and remembered for so long, ms.
const REMEMBERED_MS: i64 = 3 * 24 * 3_600_000;

/// Runs until the server stops.
pub(crate) async fn run(app: App) {
    loop {
        // Whatever woke us, everything that is due is sent.
        let _ = tokio::time::timeout(LOOK_EVERY, app.outbox.notified()).await;
        if let Err(problem) = send_due(&app).await {
            tracing::error!(%problem, "the outbox could not be looked at");
        }
    }
}

async fn send_due(app: &App) -> Result<(), Problem> {
    let now_ms = app.clock.now_ms();
    let items = app.settings.all::<Outgoing>().await?;
    let mut due = Vec::new();
    for (key, item) in items {
        match item.next_ms {
            Some(next_ms) if next_ms <= now_ms => due.push((key, item)),
            None if now_ms - item.made_ms > REMEMBERED_MS => {
                app.settings.remove::<Outgoing>(&key).await?;
            }
            _ => {}
        }
    }
    futures_util::stream::iter(due)
        .for_each_concurrent(AT_ONCE, |(key, item)| async move {
            if let Err(problem) = send_one(app, &key, item).await {
                tracing::error!(%problem, key, "an alert could not be sent and not be noted");
            }
        })
        .await;
    Ok(())
}

async fn send_one(app: &App, key: &str, mut item: Outgoing) -> Result<(), Problem> {
    // Its words are those of the watch as it is now, also if that was put away meanwhile.
    crate::shelf::bring_back(app, &item.watch).await?;
    if is_needless(app, &item) {
        item.next_ms = None;
        return app.settings.put(key, &item).await;
    }
    let sent = deliver(app, key, &item).await;
    let now_ms = app.clock.now_ms();
    item.tries += 1;
    let fault = sent.err().map(|problem| problem.to_string());
    app.ways.note(item.to.channel(), now_ms, fault.clone());
    match &fault {
        None => (item.sent_ms, item.next_ms) = (Some(now_ms), None),
        Some(fault) => {
            tracing::warn!(
                fault,
                key,
                tries = item.tries,
                "an alert was not sent; it is tried again"
            );
            let wait_ms = (FIRST_WAIT_MS << (item.tries - 1).min(10)).min(WAIT_MAX_MS);
            item.next_ms = Some(now_ms + wait_ms);
        }
    }
    item.fault = fault;
    app.settings.put(key, &item).await?;
    app.tell(None);
    // It may have been taken back while it was on its way.
    if item.sent_ms.is_some() && !item.withdrawn && is_needless(app, &item) {
        outbox::fill(app, &item.watch).await?;
    }
    Ok(())
}

/// An alert that somebody has taken, that was taken back, or that is too old is not sent.
fn is_needless(app: &App, item: &Outgoing) -> bool {
    if app.clock.now_ms() - item.made_ms > TOO_OLD_MS {
        return true;
    }
    let book = app.book();
    let Some(live) = book.watch(&item.watch).filter(|_| !item.withdrawn) else { return false };
    let alert = live.standing.alerts.iter().find(|alert| alert.line == item.alert);
    alert.is_some_and(|alert| alert.withdrawn || alert.taken.is_some())
}

async fn deliver(app: &App, key: &str, item: &Outgoing) -> Result<(), Problem> {
    let house = app.house().lang;
    match &item.to {
        Address::Mail { to, lang } => {
            let message = message::of(app, item, lang.unwrap_or(house));
            let mail = mail::Mail {
                key: Some(key.to_owned()),
                to: to.clone(),
                subject: message.title,
                text: message.lines.join("\n") + "\n",
                pdf: None,
            };
            mail::send(app, mail).await
        }
        Address::Webhook { url } => {
            let message = message::of(app, item, house);
            webhook::send(app, url, key, &message.data).await
        }
        Address::Push { key: browser, .. } => push_to(app, browser, key, item).await,
    }
}

async fn push_to(app: &App, browser: &str, key: &str, item: &Outgoing) -> Result<(), Problem> {
    let Some(subscription) = app.settings.get::<Subscription>(browser).await? else {
        return Err(Problem::Machine("push: this browser no longer asks for it".to_owned()));
    };
    let person = subscription.person.as_ref().and_then(|p| app.book().people.get(p).cloned());
    let lang = person.map_or(app.house().lang, |person| person.language);
    let message = message::of(app, item, lang);
    let body = serde_json::json!({
        "key": key, "title": message.title, "text": message.lines.join("\n"),
        "link": message.link, "cause": item.cause, "withdrawn": item.withdrawn,
    });
    // RFC 8030 section 5.4: at most 32 characters of base64url.
    let topic: String = key.chars().filter(char::is_ascii_alphanumeric).take(32).collect();
    match push::send(app, &subscription, &topic, &body).await? {
        Pushed::Taken => Ok(()),
        Pushed::Gone => {
            app.settings.remove::<Subscription>(browser).await?;
            Err(Problem::Machine("push: the browser took its consent back".to_owned()))
        }
    }
}
