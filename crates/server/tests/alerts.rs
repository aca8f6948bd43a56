//! Alerts from the deadline to whoever must know: steps, channels, once in the record, again and again
//! on the way until they are taken.

mod stage;

use sqlx::SqlitePool;
use stage::sink::{receiver, sink, until};
use stage::{Phone, Stage};
use std::time::Duration;

/// The house's ladder with these addresses, and after how many minutes a sign of life is owed.
async fn ladder(stage: &Stage, rota: &str, supervisor: &str, life: &str) {
    let changed = [
        ("to_rota", rota),
        ("to_supervisor", supervisor),
        ("wait_client", "15"),
        ("due_soon", "2"),
        ("notification", "15"),
        ("delivery", "30"),
        ("life", life),
    ];
    stage.ladder(&changed).await;
}

/// Waits for the entry: the page knows that a zone is over its gap before it is written, and the waits of
/// the steps count from it.
async fn raised(stage: &Stage, watch: &ledger::WatchId, cause: &str) {
    let (path, cause) = (format!("/api/watches/{watch}"), format!("\"cause\":\"{cause}\""));
    until("the entry", async || stage.page(&path).await.contains(&cause)).await;
}

/// The alerts in the record: cause, step, channel, taken back.
async fn alerted(phone: &mut Phone) -> Vec<(String, u64, String, bool)> {
    let read = phone.sync().await;
    let lines = read.lines.iter().filter(|given| given.line.kind == "alerted");
    let text = |value: &serde_json::Value| value.as_str().unwrap_or_default().to_owned();
    let alerts = lines.map(|given| {
        let body = &given.line.body;
        let step = body["step"].as_u64().unwrap();
        (text(&body["cause"]), step, text(&body["channel"]), body.get("withdrawn").is_some())
    });
    alerts.collect()
}

#[tokio::test]
async fn a_late_round_climbs_until_somebody_takes_it() {
    let (smtp, mails) = sink().await;
    let (hook, calls) = receiver(1).await;
    let stage = Stage::with(|options| options.smtp = Some(smtp)).await;
    let rota = format!("{hook}\nwatch@example.org es");
    ladder(&stage, &rota, "chief@example.org", "0").await;
    let secret = stage::between(&stage.page("/alerts").await, "whsec_", "<").unwrap();
    let judge = standardwebhooks::Webhook::new(&format!("whsec_{secret}")).unwrap();
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sees(&watch, "floor-2");
    phone.sync().await;
    // The phone stays in touch, and nobody walks.
    stage.wait_min(31);
    phone.wait_min(31);
    phone.sync().await;
    until("the desk's alert", async || stage.page("/").await.contains("data-alarm")).await;
    raised(&stage, &watch, "late").await;
    assert!(calls.lock().unwrap().is_empty(), "nobody else is told before the wait is over");

    stage.wait_min(2);
    phone.wait_min(2);
    phone.sync().await;
    until("the webhook", async || !calls.lock().unwrap().is_empty()).await;
    until("the mail", async || mails.lock().unwrap().len() >= 2).await;
    // The receiver failed once: the same message comes again under the same id.
    stage.wait_min(1);
    phone.wait_min(1);
    phone.sync().await;
    until("the second try", async || calls.lock().unwrap().len() >= 3).await;
    let calls_now = calls.lock().unwrap().clone();
    let ids: Vec<_> = calls_now.iter().map(|(headers, _)| headers["webhook-id"].clone()).collect();
    assert_eq!(ids.iter().filter(|id| **id == ids[0]).count(), 2, "at least once, one id: {ids:?}");
    let signed = calls_now.iter().filter(|(h, body)| judge.verify(body.as_bytes(), h).is_ok());
    // The server's clock was moved forward by the test; the signature itself still holds.
    assert!(signed.count() == 0, "the reference library refuses messages from the future");
    for (headers, body) in &calls_now {
        let at_s = headers["webhook-timestamp"].to_str().unwrap().parse().unwrap();
        let id = headers["webhook-id"].to_str().unwrap();
        let signature = judge.sign(id, at_s, body.as_bytes()).unwrap();
        assert_eq!(headers["webhook-signature"], signature.as_str());
        let message: serde_json::Value = serde_json::from_str(body).unwrap();
        assert_eq!(message["type"], "alert.raised");
        assert_eq!(message["data"]["cause"], "late");
        assert_eq!(message["data"]["demo"], true);
    }
    let mail = mails.lock().unwrap()[0].clone();
    assert!(mail.contains("To: watch@example.org") && mail.contains("Message-ID: <a-"), "{mail}");
    assert!(mail.contains("De servicio"), "in the language beside the address: {mail}");

    // Somebody takes it: the supervisor is never told.
    stage.post(&format!("/watch/{watch}/taken"), &[]).await;
    stage.wait_min(10);
    phone.wait_min(10);
    let told = mails.lock().unwrap().len();
    tokio::time::sleep(Duration::from_secs(4)).await;
    assert_eq!(mails.lock().unwrap().len(), told);
    assert!(!mails.lock().unwrap().iter().any(|mail| mail.contains("chief@")));
    let mut lines = alerted(&mut phone).await;
    lines.retain(|(cause, ..)| cause == "late");
    lines.sort();
    let of = |step: u64, channel: &str| ("late".to_owned(), step, channel.to_owned(), false);
    // Two zones: each alert once, each step and channel once.
    let expected = [of(0, "desk"), of(2, "mail"), of(2, "webhook")];
    let expected: Vec<_> = expected.iter().flat_map(|one| [one.clone(), one.clone()]).collect();
    assert_eq!(lines, expected);
    let page = stage.page("/delivery").await;
    assert!(page.contains("watch@example.org") && page.contains("Ways out"));
    stage.running.stop().await;
}

#[tokio::test]
async fn an_alert_outlives_a_restart_and_is_taken_back_where_it_was_told() {
    let (hook, calls) = receiver(0).await;
    let stage = Stage::new().await;
    ladder(&stage, &hook, "", "0").await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sees(&watch, "floor-2");
    phone.sync().await;
    stage.wait_min(40);
    until("the alert", async || stage.page("/").await.contains("Not heard from for")).await;
    raised(&stage, &watch, "unheard").await;
    // The server is gone while the wait runs: its clock starts again at the real time, so the alert
    // lies ahead of it, and stays as it is.
    let stage = stage.restart().await;
    stage.wait_min(43);
    until("the webhook", async || calls.lock().unwrap().len() >= 2).await;
    // Both zones were seen in time, without signal.
    phone.wait_min(20);
    phone.sees(&watch, "floor-1");
    phone.sees(&watch, "floor-2");
    phone.wait_min(23);
    phone.sync().await;
    let back = |calls: &stage::sink::Calls| {
        let calls = calls.lock().unwrap();
        calls.iter().filter(|(_, body)| body.contains("alert.withdrawn")).count()
    };
    until("the withdrawal", async || back(&calls) == 2).await;
    let lines = alerted(&mut phone).await;
    let first =
        lines.iter().filter(|(cause, step, _, back)| cause == "unheard" && *step == 0 && !*back);
    assert_eq!(first.count(), 2, "each once, over the restart");
    stage.running.stop().await;
}

#[tokio::test]
async fn other_causes_are_alerts_too() {
    let stage = Stage::new().await;
    ladder(&stage, "", "", "20").await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sees(&watch, "floor-2");
    phone.sync().await;
    // The phone speaks, its guard does not: a sign of life is owed, and the gap is soon over.
    for _ in 0..2 {
        stage.wait_min(14);
        phone.wait_min(14);
        phone.sync().await;
        tokio::time::sleep(Duration::from_millis(600)).await;
    }
    let page = stage.page("/").await;
    assert!(page.contains(": no sign of life."), "{page}");
    assert!(page.contains("I have this"));
    let lines = alerted(&mut phone).await;
    let has = |cause: &str| lines.iter().any(|(c, ..)| c == cause);
    assert!(has("no_sign_of_life") && has("due_soon"), "{lines:?}");
    assert!(!has("late"));
    let soon = lines.iter().filter(|(cause, ..)| cause == "due_soon");
    assert!(soon.clone().all(|(_, _, channel, _)| channel == "phone"), "a warning is no alarm");

    // The guard goes home and nobody has come.
    let entry = record::ShiftEnded { all_clear: true, signature: None, rounds: 1, lines: 5 };
    phone.write(&watch, entry, record::Words::default());
    phone.sync().await;
    until("no relief", async || stage.page("/").await.contains("nobody has taken over")).await;
    stage.running.stop().await;
}

#[tokio::test]
async fn a_watch_has_a_ladder_of_its_own() {
    let stage = Stage::new().await;
    let (watch, _) = stage.open().await;
    let path = format!("/watch/{watch}/alerts");
    assert!(stage.page(&path).await.contains("does as the house does"));
    let wrong = stage.post(&path, &[("wait_rota", "soon"), ("to_rota", "nobody")]).await;
    assert_eq!(wrong.status().as_u16(), 200);
    let text = wrong.text().await.unwrap();
    assert!(text.contains("A whole number of minutes") && text.contains("Each line is a mail"));
    assert!(stage.page(&path).await.contains("does as the house does"), "nothing was kept");
    stage.post(&path, &[("as_house", "1")]).await;
    stage.running.stop().await;
}

/// The recipe of `docs/alerts.md`, run as it stands there.
#[tokio::test]
async fn the_recipe_for_text_messages_hands_over_each_alert_once() {
    let stage = Stage::new().await;
    let port = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
    let hook = format!("http://127.0.0.1:{port}/");
    ladder(&stage, &hook, "", "0").await;
    let secret = stage::between(&stage.page("/alerts").await, "whsec_", "<").unwrap();
    let folder = tempfile::tempdir().unwrap();
    let (sent, program) = (folder.path().join("sent"), folder.path().join("send.sh"));
    // Fails the first time, as an operator does at night.
    let script = format!(
        "#!/bin/sh\n[ -e \"$0.once\" ] || {{ touch \"$0.once\"; exit 1; }}\ncat >> {}\n",
        sent.display()
    );
    std::fs::write(&program, script).unwrap();
    let recipe = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/recipes/webhook_to_sms.py");
    let mut child = tokio::process::Command::new("python3")
        .arg(recipe)
        .arg(port.to_string())
        .args(["sh".as_ref(), program.as_os_str()])
        .env("WEBHOOK_SECRET", format!("whsec_{secret}"))
        // The test moves the server's clock forward.
        .env("WEBHOOK_TOLERANCE_S", "100000")
        .kill_on_drop(true)
        .spawn()
        .expect("python3 is needed for the recipe");
    let (_, _) = stage.open().await;
    tokio::time::sleep(Duration::from_secs(1)).await;
    let tonight = stage.page("/").await;
    assert!(
        !tonight.contains("data-alarm"),
        "whoever opened it is just sending somebody: {tonight}"
    );
    stage.wait_min(11);
    until("the desk's alert", async || stage.page("/").await.contains("data-alarm")).await;
    stage.wait_min(3);
    tokio::time::sleep(Duration::from_secs(1)).await;
    stage.wait_min(1);
    let text = || std::fs::read_to_string(&sent).unwrap_or_default();
    until("the text message", async || !text().is_empty()).await;
    assert_eq!(text(), "Demonstration: Gannet Hotel: not arrived\n");
    let unsigned = stage.client.post(&hook).body("{}").send().await.unwrap();
    assert_eq!(unsigned.status().as_u16(), 401);
    child.kill().await.unwrap();
    stage.running.stop().await;
}

/// Statements that make stored lines unreadable, those still to come as well, and keep what they were. Lines go on
/// being appended: only whoever reads one back fails, as with a database that is gone just after it answered.
const UNREADABLE: [&str; 3] = [
    "CREATE TABLE kept AS SELECT place, signature FROM lines",
    "UPDATE lines SET signature = x'00'",
    "CREATE TRIGGER unreadable AFTER INSERT ON lines BEGIN
       INSERT INTO kept VALUES (NEW.place, NEW.signature);
       UPDATE lines SET signature = x'00' WHERE place = NEW.place;
     END",
];

const READABLE: [&str; 3] = [
    "DROP TRIGGER unreadable",
    "UPDATE lines SET signature = (SELECT signature FROM kept WHERE kept.place = lines.place)",
    "DROP TABLE kept",
];

async fn states(database: &SqlitePool, statements: &[&'static str]) {
    let mut all = database.begin().await.unwrap();
    for statement in statements {
        sqlx::query(*statement).execute(&mut *all).await.unwrap();
    }
    all.commit().await.unwrap();
}

/// How many first alerts of a cause the database holds.
async fn stored(database: &SqlitePool, cause: &str) -> i64 {
    let like = format!("%\"cause\":\"{cause}\"%\"step\":0%");
    let count = "SELECT count(*) FROM lines WHERE CAST(bytes AS TEXT) LIKE ?";
    sqlx::query_scalar(count).bind(like).fetch_one(database).await.unwrap()
}

/// An alert is durable before it is folded. Where folding it fails, the next look must not write it again, and what
/// a phone wrote meanwhile must count as soon as it can be read.
#[tokio::test(flavor = "multi_thread")]
async fn an_alert_that_is_durable_and_could_not_be_folded_is_not_written_twice() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sees(&watch, "floor-2");
    phone.sync().await;
    // A new head, which no line has quoted: the first that quotes it asks the database when it was received.
    stage.get(&format!("/watch/{watch}/bundle")).await.bytes().await.unwrap();
    let path = format!("sqlite:{}", stage.folder.path().join("record.db").display());
    let database = SqlitePool::connect(&path).await.unwrap();
    states(&database, &UNREADABLE).await;

    stage.wait_min(31);
    phone.wait_min(31);
    until("the alerts in the log", async || stored(&database, "unheard").await >= 2).await;
    // Longer than several looks take.
    tokio::time::sleep(Duration::from_secs(3)).await;
    assert_eq!(stored(&database, "unheard").await, 2, "one for each zone");
    let desk = stage.page("/").await;
    assert!(!desk.contains("data-alarm"), "the alerts are in the log and not in the fold: {desk}");

    states(&database, &READABLE).await;
    raised(&stage, &watch, "unheard").await;
    tokio::time::sleep(Duration::from_secs(2)).await;
    assert_eq!(stored(&database, "unheard").await, 2);
    let shown = alerted(&mut phone).await;
    let first = shown.iter().filter(|(cause, step, ..)| cause == "unheard" && *step == 0);
    assert_eq!(first.count(), 2, "{shown:?}");
    stage.running.stop().await;
}
