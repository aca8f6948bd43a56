//! The event stream of a page: its living part again whenever something changed, and a beat, so that
//! a page that hears nothing knows that it has stopped.

use crate::Problem;
use crate::page::Reader;
use crate::server::{App, News};
use axum::response::sse::{Event, Sse};
use futures_util::Stream;
use maud::Markup;
use std::convert::Infallible;
use std::future::Future;
use std::time::Duration;
use tokio::sync::{broadcast, mpsc};
use tokio_stream::wrappers::ReceiverStream;

const BEAT_EVERY: Duration = Duration::from_secs(5);
/// Times in words grow stale without news.
const DRAW_EVERY: Duration = Duration::from_secs(15);
/// Changes that come together are drawn once.
const GATHER: Duration = Duration::from_millis(150);

/// Streams what `draw` makes, at once, after each news that `concerns` the page, and now and then.
pub(crate) fn stream<F>(
    app: App,
    reader: Reader,
    concerns: impl Fn(&News) -> bool + Send + Sync + 'static,
    draw: impl Fn(App, Reader) -> F + Send + Sync + 'static,
) -> Sse<impl Stream<Item = Result<Event, Infallible>>>
where
    F: Future<Output = Result<Markup, Problem>> + Send,
{
    let (sender, receiver) = mpsc::channel(4);
    let mut news = app.news.subscribe();
    let mut ending = app.ending.subscribe();
    tokio::spawn(async move {
        let mut beat = tokio::time::interval(BEAT_EVERY);
        let mut redraw = tokio::time::interval(DRAW_EVERY);
        loop {
            let event = tokio::select! {
                _ = sender.closed() => return,
                () = end(&mut ending) => return,
                _ = beat.tick() => Event::default().event("beat").data("."),
                wanted = next(&mut news, &concerns) => {
                    if !wanted {
                        return;
                    }
                    tokio::time::sleep(GATHER).await;
                    while news.try_recv().is_ok() {}
                    match part(&app, &reader, &draw).await {
                        Some(event) => event,
                        None => return,
                    }
                }
                _ = redraw.tick() => match part(&app, &reader, &draw).await {
                    Some(event) => event,
                    None => return,
                },
            };
            if sender.send(Ok(event)).await.is_err() {
                return;
            }
        }
    });
    Sse::new(ReceiverStream::new(receiver))
}

async fn end(ending: &mut tokio::sync::watch::Receiver<bool>) {
    // A server that is gone has ended too.
    let _ = ending.wait_for(|ends| *ends).await;
}

/// Waits for news that concern the page; false when the server stops.
async fn next(news: &mut broadcast::Receiver<News>, concerns: &impl Fn(&News) -> bool) -> bool {
    loop {
        match news.recv().await {
            Ok(item) if concerns(&item) => return true,
            Ok(_) => {}
            // So many news that some were dropped: draw everything.
            Err(broadcast::error::RecvError::Lagged(_)) => return true,
            Err(broadcast::error::RecvError::Closed) => return false,
        }
    }
}

async fn part<F>(app: &App, reader: &Reader, draw: &impl Fn(App, Reader) -> F) -> Option<Event>
where
    F: Future<Output = Result<Markup, Problem>>,
{
    let reader = Reader { now_ms: app.clock.now_ms(), ..reader.clone() };
    // Whoever was signed out, left, or may see less meanwhile sees no more: the stream ends and the
    // page says so.
    if !crate::account::caller::still(app, reader.caller.as_ref()?).await {
        return None;
    }
    let now = crate::page::frame::now(&reader).into_string();
    match draw(app.clone(), reader).await {
        Ok(part) => Some(Event::default().event("part").data(now + &part.into_string())),
        Err(problem) => {
            tracing::error!(%problem, "a living page could not be drawn");
            None
        }
    }
}
