//! Receivers of mail and webhooks that keep what they are given.

use axum::http::HeaderMap;
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader};
use tokio::net::{TcpListener, TcpStream};

pub(crate) type Mails = Arc<Mutex<Vec<String>>>;

/// A mail server that takes everything (RFC 5321, the least of it).
pub(crate) async fn sink() -> (String, Mails) {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let url = format!("smtp://{}", listener.local_addr().unwrap());
    let mails = Mails::default();
    let kept = mails.clone();
    tokio::spawn(async move {
        while let Ok((stream, _)) = listener.accept().await {
            tokio::spawn(converse(stream, kept.clone()));
        }
    });
    (url, mails)
}

async fn converse(stream: TcpStream, mails: Mails) {
    let (read, mut write) = stream.into_split();
    let mut lines = BufReader::new(read).lines();
    write.write_all(b"220 sink\r\n").await.unwrap();
    let mut mail: Option<String> = None;
    while let Ok(Some(line)) = lines.next_line().await {
        let answer = match (&mut mail, line.as_str()) {
            (Some(text), ".") => {
                mails.lock().unwrap().push(std::mem::take(text));
                mail = None;
                "250 taken\r\n"
            }
            (Some(text), line) => {
                text.push_str(line);
                text.push('\n');
                continue;
            }
            (None, line) if line.starts_with("DATA") => {
                mail = Some(String::new());
                "354 go on\r\n"
            }
            (None, line) if line.starts_with("QUIT") => "221 bye\r\n",
            (None, _) => "250 ok\r\n",
        };
        if write.write_all(answer.as_bytes()).await.is_err() {
            return;
        }
    }
}

/// What came in at a webhook: its headers and body.
pub(crate) type Calls = Arc<Mutex<Vec<(HeaderMap, String)>>>;

/// A receiver of webhooks; the first `failing` calls are answered with 503.
pub(crate) async fn receiver(failing: usize) -> (String, Calls) {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let url = format!("http://{}/hook", listener.local_addr().unwrap());
    let calls = Calls::default();
    let kept = calls.clone();
    let take = move |headers: HeaderMap, body: String| {
        let kept = kept.clone();
        async move {
            let mut calls = kept.lock().unwrap();
            calls.push((headers, body));
            match calls.len() > failing {
                true => axum::http::StatusCode::NO_CONTENT,
                false => axum::http::StatusCode::SERVICE_UNAVAILABLE,
            }
        }
    };
    let router = axum::Router::new().route("/hook", axum::routing::post(take));
    tokio::spawn(async move { axum::serve(listener, router).await.unwrap() });
    (url, calls)
}

/// Waits until something holds, at most a minute.
pub(crate) async fn until(what: &str, holds: impl AsyncFn() -> bool) {
    for _ in 0..600 {
        if holds().await {
            return;
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    panic!("waited a minute in vain: {what}");
}
