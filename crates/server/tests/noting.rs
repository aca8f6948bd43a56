//! Who reads a watch outside their own work, and who takes a table away, stands in the record.

mod stage;

use ledger::WatchId;
use reqwest::{StatusCode, header};
use stage::{Stage, between};

const MIN_OF_AN_HOUR: u64 = 61;

/// Asks for a page as somebody with that cookie.
async fn reads(stage: &Stage, path: &str, cookie: &str) -> StatusCode {
    let request = stage.client.get(format!("{}{path}", stage.url()));
    request.header(header::COOKIE, cookie).send().await.unwrap().status()
}

/// In which roles the watch was read, in order.
async fn read_as(stage: &Stage, watch: &WatchId) -> Vec<String> {
    let bodies = stage.bodies(watch, "viewed").await;
    bodies.iter().map(|body| body["role"].as_str().unwrap().to_owned()).collect()
}

/// Which tables were taken, in order.
async fn taken(stage: &Stage, watch: &WatchId) -> Vec<String> {
    let bodies = stage.bodies(watch, "exported").await;
    bodies.iter().map(|body| body["table"].as_str().unwrap_or("bundle").to_owned()).collect()
}

#[tokio::test]
async fn a_reading_outside_the_own_work_is_an_entry_once_an_hour() {
    let stage = Stage::new().await;
    let (watch, _) = stage.with_phone().await;
    let auditor = stage.signs_in("Ada Moor", "ada", "auditor").await;
    let lead = stage.signs_in("Lea Finn", "lea", "shift_lead").await;
    let client = stage.signs_in("Cleo Park", "cleo", "client").await;
    let page = format!("/watch/{watch}");

    // Whoever runs the watch works there.
    assert_eq!(stage.get(&page).await.status(), StatusCode::OK);
    assert!(read_as(&stage, &watch).await.is_empty());
    // Somebody else's is not there, and leaves nothing.
    assert_eq!(reads(&stage, &page, &client).await, StatusCode::NOT_FOUND);
    assert_eq!(reads(&stage, "/watch/w-0", &auditor).await, StatusCode::NOT_FOUND);
    assert!(read_as(&stage, &watch).await.is_empty());

    for path in [page.clone(), format!("{page}/rounds"), page.clone(), format!("{page}/alerts")] {
        assert_eq!(reads(&stage, &path, &auditor).await, StatusCode::OK, "{path}");
    }
    assert_eq!(read_as(&stage, &watch).await, ["auditor"], "one reading");
    assert_eq!(reads(&stage, &page, &lead).await, StatusCode::OK);
    assert_eq!(read_as(&stage, &watch).await, ["auditor", "shift_lead"], "not planned there");
    // An id that is written otherwise is the same watch.
    let other_way = page.replace("/watch/w-", "/watch/%77%2D");
    assert_eq!(reads(&stage, &other_way, &auditor).await, StatusCode::OK);
    stage.wait_min(MIN_OF_AN_HOUR);
    assert_eq!(reads(&stage, &other_way, &auditor).await, StatusCode::OK);
    assert_eq!(read_as(&stage, &watch).await, ["auditor", "shift_lead", "auditor"]);
    assert!(stage.page(&page).await.contains("Record read by auditor"));

    // Once it is released, the desk's people read it from outside too.
    stage.post(&format!("{page}/release"), &[("by", "authority"), ("written", "true")]).await;
    let before = read_as(&stage, &watch).await.len();
    stage.page(&page).await;
    stage.page(&page).await;
    assert_eq!(read_as(&stage, &watch).await[before..], ["proprietor"]);
    let zip = stage.get(&format!("{page}/bundle")).await.bytes().await.unwrap();
    let verdict = bundle::verify(&zip, |_, _| {});
    assert!(verdict.ok, "{verdict:?}");
    stage.running.stop().await;
}

#[tokio::test]
async fn a_table_that_is_taken_is_an_entry_with_its_taker() {
    let stage = Stage::new().await;
    let (watch, _) = stage.with_phone().await;
    let org = WatchId::org();
    for path in ["/roster/hours.csv", "/roster/calendar.ics", "/api/watches.csv", "/api/watches"] {
        assert_eq!(stage.get(path).await.status(), StatusCode::OK, "{path}");
    }
    assert_eq!(taken(&stage, &org).await, ["hours", "roster", "tonight"]);
    let lines = format!("/api/watches/{watch}/lines");
    for path in [lines.clone(), format!("{lines}.csv"), format!("/api/watches/{watch}/findings")] {
        assert_eq!(stage.get(&path).await.status(), StatusCode::OK, "{path}");
    }
    assert_eq!(taken(&stage, &watch).await, ["lines", "findings"]);

    // A program has its own entry, which names it.
    let page = stage.post("/tokens", &[("name", "wall screen")]).await.text().await.unwrap();
    let token = format!("rattlewatch_{}", between(&page, "rattlewatch_", "<").unwrap());
    for _ in 0..3 {
        let request = stage.client.get(format!("{}{lines}", stage.url()));
        let request = request.header(header::AUTHORIZATION, format!("Bearer {token}"));
        let shown: serde_json::Value = request.send().await.unwrap().json().await.unwrap();
        let named = |line: &&serde_json::Value| line["words"] == "wall screen";
        let line = shown.as_array().unwrap().iter().find(named).expect("it names the program");
        assert_eq!(line["says"], "Table taken out: every entry");
    }
    assert_eq!(taken(&stage, &watch).await, ["lines", "findings", "lines"]);
    let by: Vec<_> = stage.bodies(&watch, "exported").await;
    assert_ne!(by[0]["by"], by[2]["by"]);
    let token_id = by[2]["by"].as_str().unwrap();
    assert!(token_id.starts_with("t-") && !token.contains(&token_id[2..]), "{token_id}");
    stage.wait_min(MIN_OF_AN_HOUR);
    assert_eq!(stage.get("/roster/hours.csv").await.status(), StatusCode::OK);
    assert_eq!(taken(&stage, &org).await, ["hours", "roster", "tonight", "hours"]);
    stage.running.stop().await;
}
