//! `GET /health`: how the server is, in words; nothing about anybody's watches.

use crate::nightly::LastScrub;
use crate::server::App;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::IntoResponse;
use axum::response::sse::{Event, Sse};
use futures_util::{Stream, StreamExt, stream};
use serde::Deserialize;
use std::convert::Infallible;
use std::sync::atomic::Ordering;
use std::time::Duration;
use store::Room;

/// Few and soon over: whoever asks often gains nothing by it.
const BEATS: u8 = 4;
const BEAT_EVERY: Duration = Duration::from_millis(300);

/// What is asked: `?to=read` whether it answers reads.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Asked {
    #[serde(default)]
    to: String,
}

/// Says what works and what does not; 503 when lines cannot be taken in, or the record does not hold.
///
/// A server that stands by is none to send lines to: 503, unless it was asked whether it answers reads.
pub(crate) async fn show(State(app): State<App>, Query(asked): Query<Asked>) -> impl IntoResponse {
    let head = app.store.head(&app.origin()).await;
    let room = app.store.room();
    let scrub = app.last_scrub();
    let leads = !app.stands_by || asked.to == "read";
    let mut says = vec![match &head {
        Ok(head) => format!("The log {} has {} lines.", head.origin, head.size),
        Err(_) => "The log cannot be read: look at the server's own messages.".to_owned(),
    }];
    says.push(match &room {
        Ok(room) => of_room(*room),
        Err(_) => "The room on the disks cannot be read.".to_owned(),
    });
    says.push(match app.options.smtp {
        Some(_) => "Mail is handed to the server that was named.".to_owned(),
        None => "No mail server is named: reports are not sent by mail.".to_owned(),
    });
    says.extend(scrub.as_ref().map(of_scrub));
    let holds = scrub.is_none_or(|scrub| scrub.faults.is_empty());
    if app.stands_by {
        if app.lacks_key.load(Ordering::Relaxed) {
            let lacks = "It cannot take over: the server's key was changed while another server led. Copy \
                         device.key and every device.N.key from keys/ of that server into keys/ of this one.";
            says.insert(0, lacks.to_owned());
        }
        says.insert(
            0,
            "This server stands by: it answers reads, another one takes lines.".to_owned(),
        );
    }
    let status = match head.is_ok() && room.is_ok() && holds && leads {
        true => StatusCode::OK,
        false => StatusCode::SERVICE_UNAVAILABLE,
    };
    (status, says.join("\n") + "\n")
}

/// `GET /health/stream`: a few beats and an end, by which a proxy that holds answers back is found out.
pub(crate) async fn beats() -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    Sse::new(stream::iter(0..BEATS).then(async |beat| {
        if beat > 0 {
            tokio::time::sleep(BEAT_EVERY).await;
        }
        Ok(Event::default().event("beat").data("."))
    }))
}

fn of_room(room: Room) -> String {
    let mib = |bytes: u64| bytes / (1 << 20);
    let free = format!("{} MiB are free on the fullest disk", mib(room.free_bytes));
    let (alarm, least) = (mib(room.alarm_bytes()), mib(room.reserve_bytes));
    if room.refuses_lines() {
        return format!("{free}: neither photos nor lines of phones are taken in. Make room.");
    }
    if room.refuses_photos() {
        return format!(
            "{free}: no photo is taken in, and below {} MiB no line of a phone. Make room.",
            least / 2
        );
    }
    match room.is_low() {
        true => format!(
            "{free}, less than {alarm} MiB. Make room; below {least} MiB no photo is taken in."
        ),
        false => format!("{free}."),
    }
}

fn of_scrub(scrub: &LastScrub) -> String {
    let at = jiff::Timestamp::from_millisecond(scrub.at_ms).unwrap_or_default();
    let (lines, blobs, at) = (scrub.lines, scrub.blobs, at.strftime("%Y-%m-%d %H:%M UTC"));
    match scrub.faults.len() {
        0 => format!("All {lines} lines and {blobs} blobs were read again at {at} and hold."),
        count => format!(
            "{count} faults among {lines} lines and {blobs} blobs, read again at {at}: keep the disk \
             as it is and restore a backup. The server's own messages name each."
        ),
    }
}
