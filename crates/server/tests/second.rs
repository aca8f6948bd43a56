//! What one person alone may not do: one asks, another confirms, or the first does after an announced
//! wait. Erased words are gone from every place, and the bundle still verifies.

mod stage;

use record::{Note, Words};
use reqwest::StatusCode;
use stage::sink::{sink, until};
use stage::{PASSWORD, Phone, Stage, between, cookie};

const SECRET: &str = "Mrs. Dorn in flat 4 told me so.";

/// A watch with a note, and the line of that note.
async fn noted(stage: &Stage) -> (ledger::WatchId, Phone, String) {
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    let line = phone.write(&watch, Note { of: None }, Words::from_text(SECRET));
    phone.sync().await;
    (watch, phone, line.to_string())
}

async fn asks(stage: &Stage, watch: &ledger::WatchId, line: &str) -> String {
    let form = [("line", line), ("why", "She asked for it in writing.")];
    let answer = stage.post(&format!("/watch/{watch}/erase"), &form).await;
    assert_eq!(answer.status(), StatusCode::SEE_OTHER, "{}", answer.text().await.unwrap());
    let page = stage.page("/second").await;
    between(&page, "action=\"/second/t-", "/").map(|id| format!("/second/t-{id}")).unwrap()
}

/// Every place where words of a line could still stand.
async fn holds(stage: &Stage, watch: &ledger::WatchId) -> Vec<&'static str> {
    let mut found = Vec::new();
    let page = stage.page(&format!("/watch/{watch}")).await;
    let api = stage.page(&format!("/api/watches/{watch}/lines.csv")).await;
    let bundle = stage.get(&format!("/watch/{watch}/bundle")).await.bytes().await.unwrap();
    let read = bundle::read(&bundle).map_err(|verdict| format!("{verdict:?}")).unwrap();
    let private = read.lines.iter().filter_map(|line| line.private.as_deref());
    let private: String = private.map(String::from_utf8_lossy).collect();
    for (name, text) in [("page", page), ("table", api), ("bundle", private)] {
        if text.contains("Dorn") {
            found.push(name);
        }
    }
    found
}

#[tokio::test]
async fn words_are_erased_by_two_and_the_record_still_verifies() {
    let mut stage = Stage::new().await;
    let second = stage.keeper().await;
    let (watch, mut phone, line) = noted(&stage).await;
    assert_eq!(holds(&stage, &watch).await, ["page", "table", "bundle"]);
    let act = asks(&stage, &watch, &line).await;
    // Whoever asked cannot confirm, and every page says that something waits.
    let alone = stage.post(&format!("{act}/confirm"), &[]).await;
    assert_eq!(alone.status(), StatusCode::UNPROCESSABLE_ENTITY);
    assert!(stage.page("/").await.contains("One thing waits for a second person."));
    assert_eq!(holds(&stage, &watch).await.len(), 3, "nothing is erased yet");
    let first = std::mem::replace(&mut stage.cookie, second);
    let page = stage.page("/second").await;
    assert!(page.contains("Rosa Quill asked") && page.contains("She asked for it in writing."));
    let done = stage.post(&format!("{act}/confirm"), &[]).await;
    assert_eq!(done.status(), StatusCode::SEE_OTHER);
    assert_eq!(holds(&stage, &watch).await, [""; 0], "it is gone everywhere");
    stage.wait_min(1);
    let again = stage.post(&format!("{act}/confirm"), &[]).await;
    assert_eq!(again.status(), StatusCode::NOT_FOUND, "it is done once");
    // The phone is told, with both names.
    let lines = phone.sync().await.lines;
    let erased = lines.iter().find(|given| given.line.kind == "erased").unwrap();
    assert_eq!(erased.line.body["line"], line.as_str());
    assert_ne!(erased.line.body["by"], erased.line.body["seconded_by"]);
    stage.cookie = first;
    // It stays gone after a start, and the line itself stays.
    let stage = stage.restart().await;
    assert_eq!(holds(&stage, &watch).await, [""; 0]);
    assert!(stage.page(&format!("/watch/{watch}")).await.contains(&line[..12]));
    stage.running.stop().await;
}

#[tokio::test]
async fn an_erased_photo_does_not_come_back_and_its_phone_stops_sending_it() {
    let mut stage = Stage::new().await;
    let second = stage.keeper().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    let bytes = b"what a camera saw".to_vec();
    let blob = ledger::Digest::of(&bytes);
    let photo = record::Photo { of: None, blob, len: 17, mime: "image/jpeg".to_owned() };
    let line = phone.write(&watch, photo.clone(), Words::default()).to_string();
    phone.sync().await;
    let path = format!("/blob/{blob}");
    let sent = phone.signed(reqwest::Method::PUT, &path, bytes.clone()).await;
    assert_eq!(sent.status(), StatusCode::NO_CONTENT);
    let act = asks(&stage, &watch, &line).await;
    stage.cookie = second;
    stage.post(&format!("{act}/confirm"), &[]).await;
    let kept = stage.folder.path().join(format!("blobs/kept/{}/{blob}", &blob.to_string()[..2]));
    assert!(!kept.exists());
    for start in 0..2 {
        let again = phone.signed(reqwest::Method::PUT, &path, bytes.clone()).await;
        assert_eq!(again.status(), StatusCode::OK, "no loss, nothing to try again");
        assert_eq!(again.text().await.unwrap(), "{\"is\":\"erased\"}");
        assert!(!kept.exists());
        let other = phone.signed(reqwest::Method::PUT, &path, b"a guess".to_vec()).await;
        assert_eq!(other.status(), StatusCode::UNPROCESSABLE_ENTITY, "a guess learns nothing");
        let asked = phone.signed(reqwest::Method::GET, &path, Vec::new()).await;
        assert_eq!(asked.status(), StatusCode::NOT_FOUND);
        if start == 0 {
            stage = stage.restart().await;
        }
    }
    // In another watch nobody has erased it.
    let (other, path_of_link) = stage.open_at("Tern House", "demo").await;
    let mut second_phone = stage.phone_in(&path_of_link, 9).await;
    second_phone.begins(&other);
    second_phone.write(&other, photo, Words::default());
    second_phone.sync().await;
    let sent = second_phone.signed(reqwest::Method::PUT, &path, bytes).await;
    assert_eq!(sent.status(), StatusCode::NO_CONTENT);
    assert!(kept.exists());
    stage.running.stop().await;
}

#[tokio::test]
async fn nothing_is_erased_while_a_hold_stands_and_what_was_asked_can_be_taken_back() {
    let mut stage = Stage::new().await;
    let second = stage.keeper().await;
    let (watch, _phone, line) = noted(&stage).await;
    let act = asks(&stage, &watch, &line).await;
    stage.post(&format!("/watch/{watch}/hold"), &[("words", "A claim was made.")]).await;
    let first = std::mem::replace(&mut stage.cookie, second);
    let refused = stage.post(&format!("{act}/confirm"), &[]).await;
    assert!(refused.text().await.unwrap().contains("while a hold stands"));
    assert_eq!(holds(&stage, &watch).await.len(), 3);
    let back = stage.post(&format!("{act}/withdraw"), &[]).await;
    assert_eq!(back.status(), StatusCode::SEE_OTHER);
    stage.cookie = first;
    assert!(stage.page("/second").await.contains("Nothing waits."));
    let again = [("line", line.as_str()), ("why", "Again.")];
    let again = stage.post(&format!("/watch/{watch}/erase"), &again).await;
    assert_eq!(again.status(), StatusCode::UNPROCESSABLE_ENTITY);
    stage.running.stop().await;
}

#[tokio::test]
async fn alone_only_after_the_mail_went_out_and_the_wait_is_over() {
    let (url, mails) = sink().await;
    let stage = Stage::with(|options| options.smtp = Some(url)).await;
    let ladder = stage.page("/alerts").await;
    assert!(ladder.contains("name=\"to_supervisor\""), "the supervisors' addresses are kept there");
    let (watch, _phone, line) = noted(&stage).await;
    stage.ladder(&[("to_supervisor", "chief@example.org es")]).await;
    let act = asks(&stage, &watch, &line).await;
    until("the announcement", async || !mails.lock().unwrap().is_empty()).await;
    let mail = mails.lock().unwrap()[0].clone();
    assert!(mail.contains("To: chief@example.org") && mail.contains("segunda persona"), "{mail}");
    assert!(!mail.contains("Dorn"), "what is to be erased goes nowhere");
    until("the page", async || stage.page("/second").await.contains("by one mail")).await;
    stage.wait_min(71 * 60);
    let early = stage.post(&format!("{act}/confirm"), &[]).await;
    assert_ne!(early.status(), StatusCode::SEE_OTHER);
    stage.wait_min(2 * 60);
    // Sixteen hours end a session.
    let form = [("login", "rosa"), ("password", PASSWORD)];
    let mut stage = stage;
    stage.cookie = cookie(&stage.post("/sign-in", &form).await);
    let done = stage.post(&format!("{act}/confirm"), &[]).await;
    assert_eq!(done.status(), StatusCode::SEE_OTHER, "{}", done.text().await.unwrap());
    assert_eq!(holds(&stage, &watch).await, [""; 0]);
    stage.running.stop().await;
}

#[tokio::test]
async fn the_key_of_the_server_is_changed_by_two_and_the_old_one_vouches() {
    let mut stage = Stage::new().await;
    let second = stage.keeper().await;
    let (watch, mut phone, _) = noted(&stage).await;
    let why = [("why", "A copy of the folder was lost.")];
    stage.post("/second/key", &why).await;
    let page = stage.page("/second").await;
    let act = between(&page, "action=\"/second/t-", "/").unwrap();
    let act = format!("/second/t-{act}");
    let key = stage.folder.path().join("keys/device.key");
    let before = std::fs::read(&key).unwrap();
    stage.post(&format!("{act}/confirm"), &[]).await;
    assert_eq!(std::fs::read(&key).unwrap(), before, "not by one alone");
    stage.cookie = second;
    let done = stage.post(&format!("{act}/confirm"), &[]).await;
    assert_eq!(done.status(), StatusCode::SEE_OTHER, "{}", done.text().await.unwrap());
    assert_ne!(std::fs::read(&key).unwrap(), before);
    stage.post(&format!("/watch/{watch}/note"), &[("words", "The panel is opened.")]).await;
    let lines = phone.sync().await.lines;
    let devices: std::collections::BTreeSet<_> = lines.iter().map(|l| l.line.dev).collect();
    assert_eq!(
        devices.len(),
        2,
        "the server writes with another device, and the phone believes it"
    );
    assert_eq!(holds(&stage, &watch).await, ["page", "table", "bundle"], "the bundle verifies");
    let stage = stage.restart().await;
    stage.post(&format!("/watch/{watch}/note"), &[("words", "The panel is shut.")]).await;
    phone.sync().await;
    assert_eq!(holds(&stage, &watch).await.len(), 3);
    stage.running.stop().await;
}
