//! One watch from the telephone call to its release, against a real server.

mod stage;

use phone::sync::Is;
use record::{Asked, Words};
use stage::Stage;
use std::time::Duration;

/// The engine looks five times a second.
async fn a_second() {
    tokio::time::sleep(Duration::from_millis(1_000)).await;
}

#[tokio::test]
async fn a_watch_from_the_call_to_the_release() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    a_second().await;
    let page = stage.page("/").await;
    assert!(page.contains("Nobody has begun"), "the watch is owed and nobody is there");
    assert!(!page.contains("data-alarm"), "whoever opened it is just sending somebody");
    stage.wait_min(11);
    phone.wait_min(11);
    a_second().await;
    assert!(stage.page("/").await.contains("data-alarm=\"on\""));

    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sees(&watch, "floor-2");
    let read = phone.sync().await;
    // The first line of its own chain came in with the enrolment: the old receipt.
    assert_eq!(read.outcomes.iter().filter(|o| o.is == Is::Again).count(), 1);
    assert_eq!(read.outcomes.iter().filter(|o| o.is == Is::Received).count(), 4);
    assert!(phone.waiting.is_empty(), "every line has a receipt that leads to the head");
    assert!(read.lines.len() >= 6, "the lines that opened the watch come down");
    assert!(read.unknown_devices.is_empty());
    a_second().await;
    let page = stage.page("/").await;
    assert!(page.contains("Gannet Hotel") && page.contains("1 watch: one on time now."));
    assert!(page.contains("Longest gap"), "the watch is kept");

    // The phone stays in touch, yet a floor is not seen in time: late, within a second.
    for _ in 0..31 {
        stage.wait_min(1);
        phone.wait_min(1);
        phone.sync().await;
    }
    a_second().await;
    let page = stage.page("/").await;
    assert!(page.contains("unseen 31"), "the zone is late on the desk");
    assert!(page.contains("Marta Ilves, phone in touch"));
    assert!(page.contains("I have this"));
    stage.post(&format!("/watch/{watch}/taken"), &[]).await;
    let page = stage.page("/").await;
    assert!(page.contains("Rosa Quill has this since"));
    assert!(!page.contains("data-alarm"), "the alarm is silent once somebody has it");
    assert!(page.contains("Ring Marta"));

    // Each alert stands in the record once, however often the desk looked.
    phone.sees(&watch, "floor-1");
    phone.sees(&watch, "floor-2");
    let read = phone.sync().await;
    let late = read.lines.iter().filter(|l| l.line.kind == "alerted");
    let late: Vec<_> = late.filter(|l| l.line.body["cause"] == "late").collect();
    assert_eq!(late.len(), 2, "one for each floor");

    let question =
        phone.write(&watch, Asked { of: None }, Words::from_text("May I close the roof door?"));
    phone.sync().await;
    a_second().await;
    let page = stage.page("/").await;
    assert!(page.contains("Marta Ilves asks: May I close the roof door?"));
    let answer = [("of", question.to_string()), ("words", "Yes.".to_owned())];
    let answer: Vec<(&str, &str)> = answer.iter().map(|(name, v)| (*name, v.as_str())).collect();
    stage.post(&format!("/watch/{watch}/answer"), &answer).await;
    let read = phone.sync().await;
    assert!(read.lines.iter().any(|l| l.line.kind == "answered" && l.private.is_some()));

    let release = [("by", "client"), ("written", "false"), ("words", "Alarm works again.")];
    stage.post(&format!("/watch/{watch}/release"), &release).await;
    assert!(stage.page("/").await.contains("No watch running"));
    let page = stage.page(&format!("/watch/{watch}")).await;
    assert!(page.contains("Released"));
    let read = phone.sync().await;
    assert!(read.lines.iter().any(|l| l.line.kind == "sealed"), "its chains are sealed");

    // A phone that comes back after the release: its line is taken, and the chains are sealed again.
    let seals = |read: &phone::sync::ReadReply| {
        read.lines.iter().filter(|l| l.line.kind == "sealed").count()
    };
    let before = seals(&read);
    phone.sees(&watch, "floor-2");
    phone.sync().await;
    let read = phone.sync().await;
    assert_eq!(seals(&read), before + 1);

    // The bundle verifies whole, judged by the crate that does not write the record.
    let zip = stage.get(&format!("/watch/{watch}/bundle")).await.bytes().await.unwrap();
    let verdict = bundle::verify(&zip, |_, _| {});
    assert!(verdict.ok, "{verdict:?}");
    stage.running.stop().await;
}

#[tokio::test]
async fn a_phone_without_signal_is_not_called_late() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sees(&watch, "floor-2");
    phone.sync().await;
    stage.wait_min(40);
    phone.wait_min(20);
    // Walked without signal, in time.
    phone.sees(&watch, "floor-1");
    phone.sees(&watch, "floor-2");
    a_second().await;
    let page = stage.page("/").await;
    assert!(page.contains("Not heard from for"), "nothing is known, so nothing is called late");
    assert!(page.contains("Rounds may be kept without signal"));
    assert!(!page.contains("unseen 4"), "an offline phone is never called late");

    phone.wait_min(20);
    let read = phone.sync().await;
    assert!(phone.waiting.is_empty());
    assert!(read.lines.iter().any(|l| l.line.kind == "unheard"));
    a_second().await;
    let page = stage.page("/").await;
    assert!(page.contains("Longest gap"), "the late lines show that all was well");
    let read = phone.sync().await;
    let withdrawn = read.lines.iter().filter(|l| l.line.kind == "alerted");
    let withdrawn = withdrawn.filter(|l| l.line.body.get("withdrawn").is_some()).count();
    assert_eq!(withdrawn, 2, "both alerts are taken back, visibly");
    stage.running.stop().await;
}

#[tokio::test]
async fn a_restart_loses_nothing_and_alerts_nothing_twice() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    stage.wait_min(11);
    phone.wait_min(11);
    a_second().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sync().await;
    let head = phone.head.clone().unwrap();
    let stage = stage.restart().await;
    stage.wait_min(11);
    let read = phone.sync().await;
    assert!(read.head.size >= head.size, "the log only grew");
    let page = stage.page("/").await;
    assert!(page.contains("Gannet Hotel") && page.contains(" next, in "));
    a_second().await;
    let read = phone.sync().await;
    let arrived = read.lines.iter().filter(|l| l.line.kind == "alerted").count();
    assert_eq!(arrived, 1, "that nobody had come was alerted once, before the restart");
    stage.running.stop().await;
}

#[tokio::test]
async fn the_demonstration_opens_a_watch_where_nothing_can_be_dialled() {
    let folder = tempfile::tempdir().unwrap();
    let running = server::serve(server::Options::in_folder(folder.path())).await.unwrap();
    let link = running.app.begin_link().unwrap();
    let demo = server::demo::seed(&running.app).await.unwrap().expect("the folder is empty");
    let form = [("login", demo.login.as_str()), ("password", demo.password.as_str())];
    let client = reqwest::Client::builder().redirect(reqwest::redirect::Policy::none());
    let client = client.build().unwrap();
    let url = running.app.public().to_owned();
    let sign_in = client.post(format!("{url}/sign-in")).header("origin", &url);
    let sign_in = sign_in.header("content-type", "application/x-www-form-urlencoded");
    let cookie = stage::cookie(&sign_in.body(stage::encoded(&form)).send().await.unwrap());
    let page = client.get(format!("{url}{}", demo.watch_path)).header("cookie", &cookie);
    let page = page.send().await.unwrap().text().await.unwrap();
    assert!(page.contains("Gannet Quay") && page.contains("nothing can be dialled here"));
    assert!(demo.phone_link.unwrap().contains("/phone/#enrol="));
    // The link to the first account is used up, and a second seeding changes nothing.
    let used = client.get(&link).send().await.unwrap();
    assert_eq!(used.status(), reqwest::StatusCode::UNPROCESSABLE_ENTITY);
    running.stop().await;
}
