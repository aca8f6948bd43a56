//! A disk that fills up under a watch: photos stay on the phone first, lines after them, and as long as the server
//! can write anything at all it writes and sends what is late.

mod stage;

use reqwest::{Method, StatusCode};
use stage::sink::{sink, until};
use stage::{Stage, between};

/// Free bytes of the disk that the tests run on.
async fn free_bytes(stage: &Stage) -> u64 {
    let health = stage.page("/health").await;
    let mib = health.lines().find_map(|line| line.split_once(" MiB are free"));
    mib.expect("it says how much is free").0.parse::<u64>().unwrap() << 20
}

/// Starts again where so many parts of a hundred of the reserve are free.
async fn with_free(stage: Stage, percent: u64, smtp: Option<String>) -> Stage {
    let reserve = free_bytes(&stage).await / percent * 100;
    stage
        .restart_with(|_, options| {
            options.reserve_bytes = Some(reserve);
            options.smtp = smtp;
        })
        .await
}

#[tokio::test]
async fn late_rounds_are_told_while_phones_wait_for_room() {
    let (smtp, mails) = sink().await;
    let stage = Stage::new().await;
    let supervisor = [("wait_supervisor", "2"), ("to_supervisor", "chief@example.org")];
    stage.ladder(&supervisor).await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sync().await;

    // 40 of 100: neither photos nor lines of phones, but our own.
    let stage = with_free(stage, 40, Some(smtp)).await;
    let tonight = stage.page("/").await;
    assert!(tonight.contains("no line of a phone comes in"), "{tonight}");
    assert!(tonight.contains(watch.as_str()), "the watch is there to be looked at");
    assert!(stage.page("/health").await.contains("neither photos nor lines"));
    let before = lines(&stage, &watch).await;
    phone.sees(&watch, "floor-2");
    let request = serde_json::to_vec(&phone.request()).unwrap();
    let answer = phone.signed(Method::POST, "/sync", request).await;
    assert_eq!(answer.status(), StatusCode::SERVICE_UNAVAILABLE);
    let says = answer.text().await.unwrap();
    assert!(says.contains("Make room"), "{says}");
    stage.wait_min(40);
    phone.wait_min(40);
    // Still there and still refused: nothing that it has walked is called late.
    let photo = b"not much of a photo".to_vec();
    let path = format!("/blob/{}", ledger::Digest::of(&photo));
    let refused = phone.signed(Method::PUT, &path, photo).await;
    assert_eq!(refused.status(), StatusCode::SERVICE_UNAVAILABLE);
    let path = format!("/api/watches/{watch}");
    until("the alert", async || stage.page(&path).await.contains("\"cause\":\"unheard\"")).await;
    stage.wait_min(3);
    assert!(!stage.page(&path).await.contains("\"cause\":\"late\""));
    until("the supervisor's mail", async || !mails.lock().unwrap().is_empty()).await;

    // With room again the phone's line is taken, once.
    let stage = stage.restart().await;
    phone.wait_min(-40);
    phone.sync().await;
    let seen = |lines: &str| lines.matches("\"kind\":\"seen\"").count();
    let after = lines(&stage, &watch).await;
    assert_eq!(seen(&after), seen(&before) + 1, "{after}");
    assert!(!stage.page("/").await.contains("disk"), "all is well again");
}

#[tokio::test]
async fn a_disk_that_is_quite_full_still_shows_the_night() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sync().await;

    // 20 of 100: nothing can be written.
    let stage = with_free(stage, 20, None).await;
    assert!(stage.page("/").await.contains(watch.as_str()));
    stage.page(&format!("/watch/{watch}")).await;
    let release = [("by", "client"), ("written", "true"), ("words", "")];
    let refused = stage.post(&format!("/watch/{watch}/release"), &release).await;
    assert_eq!(refused.status(), StatusCode::SERVICE_UNAVAILABLE);
    let page = refused.text().await.unwrap();
    assert!(
        between(&page, "<h1", "</h1>").is_some_and(|title| title.contains("disk is full")),
        "{page}"
    );
}

#[tokio::test]
async fn photos_wait_before_lines_do() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sync().await;

    let stage = with_free(stage, 75, None).await;
    assert!(stage.page("/").await.contains("nearly full"));
    phone.sees(&watch, "floor-1");
    phone.sync().await;
    let photo = b"not much of a photo".to_vec();
    let path = format!("/blob/{}", ledger::Digest::of(&photo));
    let refused = phone.signed(Method::PUT, &path, photo.clone()).await;
    assert_eq!(refused.status(), StatusCode::SERVICE_UNAVAILABLE);

    let stage = with_free(stage, 300, None).await;
    let tonight = stage.page("/").await;
    assert!(tonight.contains("MiB left"), "{tonight}");
    assert!(phone.signed(Method::PUT, &path, photo).await.status().is_success());
}

async fn lines(stage: &Stage, watch: &ledger::WatchId) -> String {
    stage.page(&format!("/api/watches/{watch}/lines")).await
}
