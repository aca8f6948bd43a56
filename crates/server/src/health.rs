//! `GET /health`: how the server is, in words; nothing about anybody's watches.

use crate::server::App;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::IntoResponse;

/// Says what works and what does not; 503 when lines cannot be taken in.
pub(crate) async fn show(State(app): State<App>) -> impl IntoResponse {
    let head = app.store.head(&app.origin).await;
    let room = app.store.room();
    let mut says = vec![match &head {
        Ok(head) => format!("The log {} has {} lines.", head.origin, head.size),
        Err(_) => "The log cannot be read: look at the server's own messages.".to_owned(),
    }];
    says.push(match &room {
        Ok(room) => format!("{} MiB are free on the fullest disk.", room.free_bytes / (1 << 20)),
        Err(_) => "The room on the disks cannot be read.".to_owned(),
    });
    says.push(match app.options.smtp {
        Some(_) => "Mail is handed to the server that was named.".to_owned(),
        None => "No mail server is named: reports are not sent by mail.".to_owned(),
    });
    let status =
        if head.is_ok() && room.is_ok() { StatusCode::OK } else { StatusCode::SERVICE_UNAVAILABLE };
    (status, says.join("\n") + "\n")
}
