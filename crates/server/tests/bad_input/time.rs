//! Clients that send slowly, and a server whose clock is wrong.

use crate::stage::Stage;
use reqwest::StatusCode;
use std::time::Duration;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

/// More than any limit on the way; nobody measures here, it only has to end.
const PATIENCE: Duration = Duration::from_secs(120);

/// Everything that comes back until the server hangs up.
async fn until_the_end(mut stream: TcpStream) -> String {
    let mut text = Vec::new();
    let end = tokio::time::timeout(PATIENCE, stream.read_to_end(&mut text)).await;
    assert!(end.is_ok(), "the server lets go");
    String::from_utf8_lossy(&text).into_owned()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_head_that_does_not_end_and_a_body_that_does_not_come_keep_nobody_waiting() {
    let stage = Stage::new().await;
    let local = stage.running.local;
    let mut slow = Vec::new();
    // Many who say half a head, and one who drips it.
    for _ in 0..200 {
        let mut stream = TcpStream::connect(local).await.unwrap();
        stream.write_all(b"GET / HTTP/1.1\r\nhost: ").await.unwrap();
        slow.push(stream);
    }
    let mut dripping = TcpStream::connect(local).await.unwrap();
    dripping.write_all(b"GET / HTTP/1.1\r\n").await.unwrap();
    let dripping = tokio::spawn(async move {
        loop {
            tokio::time::sleep(Duration::from_secs(1)).await;
            if dripping.write_all(b"x: y\r\n").await.is_err() {
                return;
            }
        }
    });
    let mut body = TcpStream::connect(local).await.unwrap();
    let head = format!(
        "POST /sign-in HTTP/1.1\r\nhost: {local}\r\norigin: http://{local}\r\nconnection: close\r\n\
         content-type: application/x-www-form-urlencoded\r\ncontent-length: 100\r\n\r\nlogin="
    );
    body.write_all(head.as_bytes()).await.unwrap();
    // Meanwhile the desk answers everybody else.
    for _ in 0..20 {
        assert_eq!(stage.get("/").await.status(), StatusCode::OK);
    }
    for stream in slow {
        until_the_end(stream).await;
    }
    tokio::time::timeout(PATIENCE, dripping).await.expect("dripping ends").unwrap();
    let answer = until_the_end(body).await;
    assert!(answer.starts_with("HTTP/1.1 408"), "{answer}");
    assert!(answer.contains("<main"), "a page that says what to do");
    stage.running.stop().await;
}

/// The server's clock was a day ahead and is set right at a start. Times of receipt never go back, the
/// chains go on, and nothing that was acknowledged is doubted.
#[tokio::test]
async fn a_clock_that_was_ahead_and_is_set_back_loses_nothing() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sync().await;
    stage.wait_min(10 * 60);
    phone.sees(&watch, "floor-1");
    phone.sync().await;
    let ahead = phone.head.clone().unwrap();
    let stage = stage.restart().await;
    phone.moves_to(stage.url());
    phone.sees(&watch, "floor-2");
    let read = phone.sync().await;
    assert!(phone.waiting.is_empty(), "{:?}", read.outcomes);
    assert!(phone.head.as_ref().unwrap().size > ahead.size, "the same log goes on");
    let bundle = stage.get(&format!("/watch/{watch}/bundle")).await.bytes().await.unwrap();
    let read = bundle::read(&bundle).map_err(|verdict| format!("{verdict:?}")).unwrap();
    let received: Vec<i64> = read.lines.iter().map(|line| line.leaf.rx).collect();
    assert!(received.is_sorted(), "no receipt is older than the one before: {received:?}");
    assert_eq!(stage.get(&format!("/watch/{watch}")).await.status(), StatusCode::OK);
    stage.running.stop().await;
}
