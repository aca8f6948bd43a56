//! A watch that is over is put away after a while: nothing that could be read of it before is missing after, late lines
//! reach it, and a start reads only its label.

mod stage;

use ledger::WatchId;
use stage::sink::until;
use stage::{Phone, Stage, between};
use std::time::Duration;

async fn in_memory(stage: &Stage) -> usize {
    let metrics = stage.page("/metrics").await;
    let count = between(&metrics, "\nrattlewatch_watches_in_memory ", "\n");
    count.expect("it is among the metrics").parse().unwrap()
}

/// Lets the watch rest until its lines have left the memory.
async fn rests(stage: &Stage) {
    // The pass over the reports that says nothing is owed takes its turn by the real clock.
    tokio::time::sleep(Duration::from_secs(3)).await;
    stage.wait_min(11);
    until("it is put away", async || {
        stage.wait_min(1);
        in_memory(stage).await == 0
    })
    .await;
}

async fn released(stage: &Stage) -> (WatchId, Phone) {
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    stage.wait_min(60);
    phone.wait_min(60);
    phone.ends(&watch);
    phone.sync().await;
    let release = [("by", "client"), ("written", "true"), ("words", "")];
    stage.post(&format!("/watch/{watch}/release"), &release).await;
    (watch, phone)
}

/// Its lines as programs read them.
async fn told(stage: &Stage, watch: &WatchId) -> Vec<String> {
    let lines = stage.page(&format!("/api/watches/{watch}/lines")).await;
    let lines: Vec<serde_json::Value> = serde_json::from_str(&lines).unwrap();
    let looks = |line: &serde_json::Value| line["kind"] != "looked_at";
    lines.iter().filter(|line| looks(line)).map(ToString::to_string).collect()
}

#[tokio::test]
async fn what_is_put_away_is_read_as_before_and_takes_late_lines() {
    let stage = Stage::new().await;
    let (watch, mut phone) = released(&stage).await;
    let hours = stage.page("/roster/hours.csv?from=2026-01-01&until=2099-01-01").await;
    assert_eq!(hours.lines().count(), 2, "{hours}");
    let before = told(&stage, &watch).await;
    rests(&stage).await;

    // Lists and tables need nothing back.
    let again = stage.page("/roster/hours.csv?from=2026-01-01&until=2099-01-01").await;
    assert_eq!(again, hours);
    assert!(!stage.page("/").await.contains("Gannet Hotel"), "it runs no longer");
    assert_eq!(in_memory(&stage).await, 0);
    // A reader has it brought back.
    assert_eq!(told(&stage, &watch).await[..before.len()], before[..]);
    assert!(stage.page(&format!("/watch/{watch}")).await.contains("Floor 1"));
    assert_eq!(in_memory(&stage).await, 1);

    rests(&stage).await;
    phone.sees(&watch, "floor-2");
    let read = phone.sync().await;
    assert_eq!(read.outcomes.len(), 1, "{read:?}");
    assert!(stage.page(&format!("/watch/{watch}")).await.contains("Floor 2"));
    // As last time: filled from a watch that rests.
    rests(&stage).await;
    let sites = stage.page("/sites").await;
    let site = between(&sites, "href=\"/sites/s", "\"").map(|rest| format!("s{rest}")).unwrap();
    let form = stage.page(&format!("/watch/new?site={site}")).await;
    assert!(form.contains("Order of 3 March"), "whose order it was");
    stage.running.stop().await;
}

#[tokio::test]
async fn a_start_reads_the_label_unless_a_line_came_after() {
    let stage = Stage::new().await;
    let (watch, mut phone) = released(&stage).await;
    rests(&stage).await;
    let stage = stage.restart().await;
    assert_eq!(in_memory(&stage).await, 0, "only the label was read");
    let sites = stage.page("/sites").await;
    let site = between(&sites, "href=\"/sites/s", "\"").map(|rest| format!("s{rest}")).unwrap();
    let page = stage.page(&format!("/sites/{site}")).await;
    assert!(page.contains(&format!("href=\"/watch/{watch}\"")), "it is in the list of its site");
    assert_eq!(in_memory(&stage).await, 0);

    phone.moves_to(stage.url());
    phone.sees(&watch, "floor-2");
    phone.sync().await;
    let stage = stage.restart().await;
    assert_eq!(in_memory(&stage).await, 1, "the label is older than the newest line");
    assert!(stage.page(&format!("/watch/{watch}")).await.contains("Floor 2"));
    stage.running.stop().await;
}

/// Changes what is noted of the house's own chain while no server runs.
fn renote(options: &store::Options, change: impl Fn(String) -> String + Send + 'static) {
    let options = options.clone();
    let noted = std::thread::spawn(move || {
        let runtime = tokio::runtime::Runtime::new().unwrap();
        runtime.block_on(async {
            let store = store::Store::open(&options).await.unwrap();
            let bytes = store.derived("house-chain-1", "note").await.unwrap().expect("it is noted");
            let changed = change(String::from_utf8(bytes).unwrap());
            store.write_derived("house-chain-1", "note", changed.as_bytes()).await.unwrap();
            store.close().await;
        });
    });
    noted.join().unwrap();
}

#[tokio::test]
async fn who_may_speak_is_noted_so_that_a_start_reads_only_what_came_after() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    // Two ticks of the log settle a note.
    minutes_pass(&stage).await;
    let revoked = |note: String| {
        assert!(note.contains(r#""role":"guard""#), "{note}");
        note.replace(r#""revoked":false"#, r#""revoked":true"#)
    };
    let stage = stage.restart_with(|_, options| renote(&options.store(), revoked)).await;
    phone.moves_to(stage.url());
    phone.sees(&watch, "floor-1");
    let request = serde_json::to_vec(&phone.request()).unwrap();
    let refused = phone.signed(reqwest::Method::POST, "/sync", request.clone()).await;
    assert_eq!(refused.status(), 401, "the note was believed");

    // One that cannot be read is none: the whole chain says who may speak.
    let cut = |note: String| note[..note.len() / 2].to_owned();
    let stage = stage.restart_with(|_, options| renote(&options.store(), cut)).await;
    phone.moves_to(stage.url());
    assert!(!phone.sync().await.outcomes.is_empty());
    stage.running.stop().await;
}

async fn minutes_pass(stage: &Stage) {
    for _ in 0..4 {
        stage.wait_min(1);
        tokio::time::sleep(Duration::from_millis(600)).await;
    }
}
