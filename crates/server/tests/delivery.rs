//! The report goes out by mail to a real SMTP conversation, once, and the record says so.

mod stage;

use stage::sink::{sink, until};
use stage::{Stage, between};
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::time::Duration;

/// Stands in for the program that prints: checks how it is called and writes a page.
fn printer(folder: &Path) -> std::path::PathBuf {
    let path = folder.join("printer.sh");
    let calls = folder.join("calls").display().to_string();
    let script = format!(
        "#!/bin/sh\n[ \"$1 $2 $3 $5\" = \"print night --from -o\" ] && [ -s \"$4\" ] || exit 2\n\
         printf '%%PDF-1.7 night' > \"$6\"\ncp \"$4\" {folder}/last.zip\n\
         shift 6\necho \"$@\" >> {calls}\n",
        folder = folder.display()
    );
    std::fs::write(&path, script).unwrap();
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o755)).unwrap();
    path
}

#[tokio::test]
async fn the_report_of_a_released_watch_is_mailed() {
    let (url, mails) = sink().await;
    let tools = tempfile::tempdir().unwrap();
    let program = printer(tools.path());
    let stage = Stage::with(|options| {
        options.smtp = Some(url);
        options.printer = Some(program);
    })
    .await;
    let wrong = stage.post("/delivery", &[("report_to", "not an address")]).await;
    assert!(wrong.text().await.unwrap().contains("is no mail address"));
    stage.post("/delivery", &[("report_to", "marshal@example.org")]).await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sync().await;
    let release = [("by", "client"), ("written", "true"), ("words", "")];
    stage.post(&format!("/watch/{watch}/release"), &release).await;
    until("the mail", async || !mails.lock().unwrap().is_empty()).await;
    let mail = mails.lock().unwrap()[0].clone();
    assert!(mail.contains("To: marshal@example.org"), "{mail}");
    assert!(mail.contains("application/pdf"));
    assert!(mail.contains("Subject: Gannet Hotel: night report, whole watch from"), "{mail}");
    until("the state", async || stage.page("/delivery").await.contains("Sent ")).await;
    let page = stage.page(&format!("/watch/{watch}")).await;
    assert!(page.contains("Report") || page.contains("report"), "the record says that it went out");
    tokio::time::sleep(Duration::from_secs(2)).await;
    assert_eq!(mails.lock().unwrap().len(), 1, "once");
    stage.running.stop().await;
}

/// A phone was without signal when the watch was released: what it sends later makes an amendment that
/// goes to everybody who got the report, once, and the record says what each of the two rests on.
#[tokio::test]
async fn a_phone_that_returns_late_amends_the_report() {
    let (url, mails) = sink().await;
    let tools = tempfile::tempdir().unwrap();
    let program = printer(tools.path());
    let stage = Stage::with(|options| {
        options.smtp = Some(url);
        options.printer = Some(program);
    })
    .await;
    let to = "marshal@example.org\nowner@example.org";
    stage.post("/delivery", &[("report_to", to)]).await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sync().await;
    let late = phone.sees(&watch, "floor-2");
    let release = [("by", "client"), ("written", "true"), ("words", "")];
    stage.post(&format!("/watch/{watch}/release"), &release).await;
    until("the report", async || mails.lock().unwrap().len() == 2).await;
    // Whoever gets it now would be one of two who got different pages under the same number.
    stage.post("/delivery", &[("report_to", "somebody.else@example.org")]).await;

    // It stayed away for so long that the watch was put away meanwhile.
    until("it rests", async || {
        stage.wait_min(6);
        tokio::time::sleep(Duration::from_millis(500)).await;
        stage.page("/metrics").await.contains("\nrattlewatch_watches_in_memory 0\n")
    })
    .await;
    phone.sync().await;
    // So long that the watch could rest again: not before the amendment is planned.
    stage.wait_min(11);
    until("the amendment", async || mails.lock().unwrap().len() == 4).await;
    let amended: Vec<String> = mails.lock().unwrap()[2..].to_vec();
    for (mail, to) in amended.iter().zip(["marshal@example.org", "owner@example.org"]) {
        assert!(mail.contains("Subject: Gannet Hotel: night report, amendment 1"), "{mail}");
        assert!(amended.iter().any(|mail| mail.contains(&format!("To: {to}"))), "{to}");
    }
    let calls = std::fs::read_to_string(tools.path().join("calls")).unwrap();
    let calls: Vec<&str> = calls.lines().collect();
    assert!(calls[..2].iter().all(|call| !call.contains("--amends")), "{calls:?}");
    assert!(calls[2..].iter().all(|call| call.ends_with("--amends 1")), "{calls:?}");
    let counted = |call: &str| between(call, "--counted ", " ").unwrap();
    assert_eq!(counted(calls[0]), counted(calls[1]), "the same lines for everybody");
    assert_ne!(counted(calls[1]), counted(calls[2]));
    assert_eq!(counted(calls[2]), counted(calls[3]));
    until("the state", async || {
        stage.page("/delivery").await.matches("amendment 1, whole watch from").count() == 2
    })
    .await;

    // The record alone tells what the amendment changes.
    let bundle = bundle::open(&std::fs::read(tools.path().join("last.zip")).unwrap());
    assert!(bundle.verdict.ok, "{:?}", bundle.verdict.faults);
    let mut held = watch::Watch::new(watch.clone());
    for line in bundle.lines {
        held.add(watch::Held { line: line.line, sealing: None, words: None });
    }
    let first = held.about(i64::MAX).deliveries.into_iter().find(|sent| sent.number == 1);
    let reported = first.unwrap().report.unwrap();
    let before = held.as_counted(reported.counted).unwrap();
    let changes = held.changes_since(&before, i64::MIN, reported.until_ms);
    assert_eq!(changes.iter().map(|change| change.line).collect::<Vec<_>>(), [late]);

    stage.wait_min(5);
    tokio::time::sleep(Duration::from_secs(3)).await;
    assert_eq!(mails.lock().unwrap().len(), 4, "the reports' own lines amend nothing");
    stage.running.stop().await;
}

#[tokio::test]
async fn a_shift_is_reported_when_it_ends_and_the_release_takes_its_place_if_it_comes_first() {
    let (url, mails) = sink().await;
    let tools = tempfile::tempdir().unwrap();
    let program = printer(tools.path());
    let stage = Stage::with(|options| {
        options.smtp = Some(url);
        options.printer = Some(program);
    })
    .await;
    stage.post("/delivery", &[("report_to", "marshal@example.org")]).await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.ends(&watch);
    phone.sync().await;
    tokio::time::sleep(Duration::from_secs(2)).await;
    assert!(mails.lock().unwrap().is_empty(), "photos and the signature may still follow");
    stage.wait_min(1);
    phone.wait_min(1);
    until("the report", async || mails.lock().unwrap().len() == 1).await;
    let mail = mails.lock().unwrap()[0].clone();
    assert!(mail.contains("Subject: Gannet Hotel: night report, shift from"), "{mail}");
    let calls = std::fs::read_to_string(tools.path().join("calls")).unwrap();
    assert!(calls.contains("--of shift"), "{calls}");

    phone.begins(&watch);
    phone.ends(&watch);
    phone.sync().await;
    let release = [("by", "client"), ("written", "true"), ("words", "")];
    stage.post(&format!("/watch/{watch}/release"), &release).await;
    stage.wait_min(2);
    until("the whole watch", async || mails.lock().unwrap().len() >= 2).await;
    tokio::time::sleep(Duration::from_secs(3)).await;
    let mails = mails.lock().unwrap().clone();
    let subjects: Vec<&str> = mails
        .iter()
        .filter_map(|mail| mail.lines().find(|line| line.starts_with("Subject: ")))
        .collect();
    assert_eq!(subjects.len(), 2, "one report says it all: {subjects:?}");
    assert!(mails[1].contains("whole watch from"), "{}", mails[1]);
    stage.running.stop().await;
}

#[tokio::test]
async fn a_report_that_cannot_be_printed_is_said_and_kept() {
    let (url, mails) = sink().await;
    let stage = Stage::with(|options| {
        options.smtp = Some(url);
        options.printer = Some("/bin/false".into());
    })
    .await;
    stage.post("/delivery", &[("report_to", "marshal@example.org")]).await;
    let (watch, _) = stage.open().await;
    let release = [("by", "client"), ("written", "true"), ("words", "")];
    stage.post(&format!("/watch/{watch}/release"), &release).await;
    until("the fault", async || stage.page("/delivery").await.contains("Not sent. Tries so far"))
        .await;
    assert!(stage.page("/delivery").await.contains("Try again now"));
    assert!(mails.lock().unwrap().is_empty());
    stage.running.stop().await;
}
