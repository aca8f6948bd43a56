//! Requests of phones that are malformed, too large, played back, forged or not theirs.

mod stage;

use ledger::{Digest, Signature, WatchId};
use phone::sync::{EnrolReply, Is, LineFrom, RequestNote};
use record::Words;
use reqwest::{Method, StatusCode};
use stage::{Phone, Stage, between};

#[tokio::test]
async fn a_stranger_s_phone_gets_nothing() {
    let stage = Stage::new().await;
    let (_, phone) = stage.with_phone().await;
    let stranger = Phone::new(stage.url(), 99);
    let body = serde_json::to_vec(&phone.request()).unwrap();
    let answer = stranger.signed(Method::POST, "/sync", body.clone()).await;
    assert_eq!(answer.status(), StatusCode::UNAUTHORIZED);
    // Somebody else's note over another body, path or time.
    let note = RequestNote::new(phone.dev(), "/sync", b"other", phone.now_ms);
    let (text, signature) = (note.text(), Signature([1; 64]));
    let forged = phone.with_headers(Method::POST, "/sync", body.clone(), &text, &signature).await;
    assert_eq!(forged.status(), StatusCode::UNAUTHORIZED);
    let mut late = Phone::new(stage.url(), 7);
    late.now_ms -= 13 * 3_600_000;
    let answer = late.signed(Method::POST, "/sync", body).await;
    let says = answer.text().await.unwrap();
    assert!(says.contains("clock"), "the answer says what to set right: {says}");
    stage.running.stop().await;
}

#[tokio::test]
async fn a_request_played_back_changes_nothing() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    let body = serde_json::to_vec(&phone.request()).unwrap();
    let first = phone.signed(Method::POST, "/sync", body.clone()).await;
    let size = size_of(first).await;
    for _ in 0..3 {
        let again = phone.signed(Method::POST, "/sync", body.clone()).await;
        assert_eq!(size_of(again).await, size, "nothing is stored twice");
    }
    stage.running.stop().await;
}

async fn size_of(answer: reqwest::Response) -> u64 {
    assert_eq!(answer.status(), StatusCode::OK);
    let reply: phone::sync::Reply = answer.json().await.unwrap();
    reply.head.lines().nth(1).unwrap().parse().unwrap()
}

#[tokio::test]
async fn a_poisoned_line_blocks_no_other() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    let mut request = phone.request();
    let mut spoiled = request.lines[1].clone();
    spoiled.line = spoiled.line.replace("shift_began", "shift_ended");
    request.lines.insert(0, spoiled);
    let foreign = WatchId::new("w-not-mine").unwrap();
    phone.write(&foreign, record::Asked { of: None }, Words::default());
    request.lines.push(phone.request().lines.last().unwrap().clone());
    let body = serde_json::to_vec(&request).unwrap();
    let answer = phone.signed(Method::POST, "/sync", body).await;
    let reply: phone::sync::Reply = answer.json().await.unwrap();
    let count = |is| reply.outcomes.iter().filter(|outcome| outcome.is == is).count();
    assert_eq!((count(Is::Refused), count(Is::Received), count(Is::Again)), (2, 2, 1), "{reply:?}");
    stage.running.stop().await;
}

#[tokio::test]
async fn a_gap_is_held_and_a_fork_is_told() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.sync().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    let missing = phone.waiting.remove(1);
    let read = phone.sync().await;
    let held: Vec<_> = read.outcomes.iter().filter(|o| o.is == Is::Held).collect();
    assert_eq!(held.len(), 1);
    assert_eq!(held[0].missing, Some((1, 1)), "the server says which is missing");
    phone.waiting.insert(0, missing);
    phone.sync().await;
    assert!(phone.waiting.is_empty(), "nothing was dropped");

    // The same key on a second phone that began from the same copy.
    let mut copy = Phone::new(stage.url(), 7);
    copy.member = phone.member.clone();
    copy.begins(&watch);
    copy.now_ms += 1;
    copy.waiting.clear();
    let mut twin = Phone::new(stage.url(), 7);
    twin.member = phone.member.clone();
    twin.now_ms += 5_000;
    twin.begins(&watch);
    let read = twin.sync().await;
    assert!(read.outcomes.iter().any(|o| o.is == Is::Forked), "{:?}", read.outcomes);
    stage.running.stop().await;
}

#[tokio::test]
async fn malformed_and_oversized_bodies_get_a_clear_answer() {
    let stage = Stage::new().await;
    let (_, phone) = stage.with_phone().await;
    for body in [&b"{"[..], b"[]", b"{\"v\":1}", b"\xff\xfe", b""] {
        let status = phone.signed(Method::POST, "/sync", body.to_vec()).await.status();
        assert!(status.is_client_error(), "{status}");
    }
    let newer = br#"{"v":9,"t0":0}"#.to_vec();
    let answer = phone.signed(Method::POST, "/sync", newer).await;
    assert_eq!(answer.status(), StatusCode::UNPROCESSABLE_ENTITY);
    let huge = vec![b' '; 9 * 1024 * 1024];
    assert_eq!(
        phone.signed(Method::POST, "/sync", huge).await.status(),
        StatusCode::PAYLOAD_TOO_LARGE
    );
    stage.running.stop().await;
}

#[tokio::test]
async fn a_blob_is_kept_only_under_its_own_digest() {
    let stage = Stage::new().await;
    let (_, phone) = stage.with_phone().await;
    let photo = b"\xff\xd8 not really a photo".to_vec();
    let path = format!("/blob/{}", Digest::of(&photo));
    assert_eq!(phone.signed(Method::HEAD, &path, Vec::new()).await.status(), StatusCode::NOT_FOUND);
    let wrong = phone.signed(Method::PUT, &path, b"other".to_vec()).await;
    assert_eq!(wrong.status(), StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(
        phone.signed(Method::PUT, &path, photo.clone()).await.status(),
        StatusCode::NO_CONTENT
    );
    assert_eq!(phone.signed(Method::HEAD, &path, Vec::new()).await.status(), StatusCode::OK);
    let got = phone.signed(Method::GET, &path, Vec::new()).await;
    assert_eq!(got.headers()["content-disposition"], "attachment");
    assert_eq!(got.bytes().await.unwrap(), photo);
    assert_eq!(stage.get(&path).await.status(), StatusCode::UNAUTHORIZED, "no page may read blobs");
    stage.running.stop().await;
}

#[tokio::test]
async fn a_link_lets_one_phone_in_and_only_after_the_desk_said_so() {
    let stage = Stage::new().await;
    let (_, path) = stage.open().await;
    let token = between(&stage.page(&path).await, "#enrol=", "<").unwrap();
    let mut first = Phone::new(stage.url(), 1);
    let mut second = Phone::new(stage.url(), 2);
    first.ask_in(&token).await;
    let request = second.enrol_request(&token);
    assert!(
        matches!(second.enrol(&request).await, EnrolReply::Refused { .. }),
        "the link is taken"
    );
    let request = first.enrol_request("a-token-that-nobody-made");
    assert!(matches!(first.enrol(&request).await, EnrolReply::Refused { .. }));
    // Before anybody compared the code nothing can be sent.
    let body = br#"{"v":1,"t0":0}"#.to_vec();
    let early = first.signed(Method::POST, "/sync", body.clone()).await;
    assert_eq!(early.status(), StatusCode::UNAUTHORIZED);
    stage.post(&path, &[("same", "false")]).await;
    let answer = first.signed(Method::GET, &format!("/enrol/{token}"), Vec::new()).await;
    let reply: EnrolReply = answer.json().await.unwrap();
    assert!(matches!(reply, EnrolReply::Refused { .. }));
    assert_eq!(first.signed(Method::POST, "/sync", body).await.status(), StatusCode::UNAUTHORIZED);
    stage.running.stop().await;
}

#[tokio::test]
async fn a_revoked_phone_is_heard_no_more() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sync().await;
    let device = format!("/device/{}/revoke", phone.dev());
    assert_eq!(stage.post(&device, &[]).await.status(), StatusCode::SEE_OTHER);
    let body = serde_json::to_vec(&phone.request()).unwrap();
    let answer = phone.signed(Method::POST, "/sync", body).await;
    assert_eq!(answer.status(), StatusCode::UNAUTHORIZED);
    let page = stage.page(&format!("/watch/{watch}")).await;
    assert!(page.contains("Marta Ilves"), "what was said before stays");
    stage.running.stop().await;
}

/// A phone without network is read off its screen by another one, which sends its lines.
#[tokio::test]
async fn a_phone_brings_what_it_took_along_for_another() {
    let stage = Stage::new().await;
    let (watch, mut dark) = stage.with_phone().await;
    dark.begins(&watch);
    dark.sees(&watch, "floor-1");
    let carried = dark.request().lines;
    let person = dark.member.as_ref().unwrap().person.id.clone();
    let link = stage.post(&format!("/people/{person}/enrol"), &[]).await;
    let mut carrier = stage.phone_in(&stage::location(&link), 21).await;
    carrier.sync().await;
    let brought = async |phone: &Phone, lines: Vec<phone::sync::SentLine>| -> phone::sync::Reply {
        let request = phone::sync::Request { lines, ..phone.request() };
        let body = serde_json::to_vec(&request).unwrap();
        let answer = phone.signed(Method::POST, "/sync", body).await;
        assert_eq!(answer.status(), StatusCode::OK);
        answer.json().await.unwrap()
    };
    // What is brought was written before: it does not put the dark phone in touch.
    stage.wait_min(40);
    carrier.wait_min(40);
    // Its chain for the house stays with it; what it wrote of the watch is taken, and changed is not.
    let mut forged = carried[3].clone();
    forged.line = forged.line.replace("floor-1", "floor-2");
    let mut lines = carried.clone();
    lines.push(forged);
    let reply = brought(&carrier, lines.clone()).await;
    let is: Vec<Is> = reply.outcomes.iter().map(|outcome| outcome.is).collect();
    assert_eq!(is, [Is::Refused, Is::Received, Is::Received, Is::Received, Is::Refused]);
    stage::sink::until("a dark phone is said to be", async || {
        stage.page("/").await.contains("Not heard from for 40")
    })
    .await;
    let again = brought(&carrier, carried[1..].to_vec()).await;
    assert!(again.outcomes.iter().all(|outcome| outcome.is == Is::Again), "{again:?}");
    let given = carrier.sync().await.lines;
    let leaf = given.iter().find(|given| given.line.kind == "seen").expect("it is in the log");
    assert_eq!(leaf.leaf.dev, dark.dev(), "whoever carries a line is not its author");
    // Nobody brings what only this server writes, and what a lost phone wrote stays out.
    dark.sees(&watch, "floor-2");
    let late = dark.request().lines.pop().unwrap();
    stage.post(&format!("/device/{}/revoke", dark.dev()), &[]).await;
    let reply = brought(&carrier, vec![late]).await;
    let says = reply.outcomes[0].says.clone().unwrap_or_default();
    assert_eq!(reply.outcomes[0].is, Is::Refused);
    assert!(says.contains("not let in to its watch, or no longer"), "{says}");
    let bundle = stage.get(&format!("/watch/{watch}/bundle")).await.bytes().await.unwrap();
    bundle::read(&bundle).map_err(|verdict| format!("{verdict:?}")).unwrap();
    stage.running.stop().await;
}

/// A phone is lost in the middle of a shift: two presses on the desk, and the shift goes on.
#[tokio::test]
async fn another_phone_takes_the_shift_over_without_a_gap() {
    let stage = Stage::new().await;
    let (watch, mut old) = stage.with_phone().await;
    old.begins(&watch);
    old.sees(&watch, "floor-1");
    old.sees(&watch, "floor-2");
    old.sync().await;
    let other = stage.open().await;
    let person = old.member.as_ref().unwrap().person.id.clone();
    stage.wait_min(10);
    let page = stage.page(&format!("/watch/{watch}")).await;
    assert!(page.contains("Give this guard another phone"));
    // First press. The old phone still counts.
    let asked = stage.post(&format!("/watch/{watch}/phone"), &[("person", person.as_str())]).await;
    let link = stage::location(&asked);
    old.now_ms = stage.running.app.clock.now_ms();
    old.sees(&watch, "floor-1");
    old.sync().await;
    // Second press: the codes are the same.
    let mut new = stage.phone_in(&link, 21).await;
    assert!(stage.page(&link).await.contains("trusted no longer"));
    let members = new.member.as_ref().unwrap();
    assert!(!members.watches.contains(&other.0), "what the old one saw");
    assert!(members.watches.contains(&watch));
    assert_eq!(members.person.id, person);
    let body = serde_json::to_vec(&old.request()).unwrap();
    assert_eq!(old.signed(Method::POST, "/sync", body).await.status(), StatusCode::UNAUTHORIZED);
    // The new one holds the whole shift and goes on in it, without another beginning.
    let lines = new.sync().await.lines;
    assert!(lines.iter().any(|given| given.line.kind == "shift_began"));
    let said: Vec<&str> = lines.iter().map(|given| given.line.kind.as_str()).collect();
    assert!(said.ends_with(&["enrolled", "revoked"]), "the watch's own record says it: {said:?}");
    new.sees(&watch, "floor-2");
    new.sync().await;
    let page = stage.page(&format!("/watch/{watch}")).await;
    assert!(page.contains("Device let in") && page.contains("Device trusted no longer"));
    let bundle = stage.get(&format!("/watch/{watch}/bundle")).await.bytes().await.unwrap();
    let read = bundle::read(&bundle).map_err(|verdict| format!("{verdict:?}")).unwrap();
    let mut held = watch::Watch::new(watch.clone());
    for line in read.lines.iter().filter(|line| line.line.watch == watch) {
        held.add(watch::Held { line: line.line.clone(), sealing: None, words: None });
    }
    let state = held.about(stage.running.app.clock.now_ms());
    assert_eq!(state.on_duty.len(), 1, "one guard, one shift");
    assert_eq!(state.on_duty[0].dev, new.dev());
    assert_eq!(state.shifts.len(), 1);
    assert_eq!(state.shifts[0].until_ms, None, "no moment without a guard");
    stage.running.stop().await;
}

/// What waits on a phone, as it keeps it.
fn as_stored(phone: &Phone) -> Vec<phone::stored::StoredLine> {
    let stored = |sent: &phone::sync::SentLine| phone::stored::StoredLine {
        id: sent.signed().id(),
        line: sent.line.clone(),
        sig: sent.sig,
        private: sent.private.clone(),
        receipt: None,
        leaf: None,
        aside: None,
    };
    phone.request().lines.iter().map(stored).collect()
}

/// A phone that will not send any more gave its lines out as a file.
#[tokio::test]
async fn the_file_of_a_phone_is_taken_in_at_the_desk() {
    let stage = Stage::new().await;
    let (watch, mut dark) = stage.with_phone().await;
    dark.begins(&watch);
    dark.sees(&watch, "floor-1");
    dark.sees(&watch, "floor-2");
    let lines = as_stored(&dark);
    let path = format!("/watch/{watch}/phone-file");
    let bring = async |file: String| {
        let answer = stage.send_file(&path, &[], ("file", "waiting.jsonl"), file.as_bytes()).await;
        (answer.status(), answer.text().await.unwrap())
    };
    let (status, page) = bring("a letter\n".to_owned()).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.contains("No line of a phone stands in this file"), "{page}");
    let mut forged = lines[3].clone();
    forged.line = forged.line.replace("floor-1", "floor-3");
    let file = phone::file::write(lines.iter().chain([&forged])) + "half a ro";
    let digest = Digest::of(file.as_bytes());
    let (status, page) = bring(file).await;
    assert_eq!(status, StatusCode::OK);
    let body = between(&page, "<main", "</main>").unwrap();
    assert!(body.contains("1 row holds no line of a phone: 7"), "{body}");
    assert!(body.contains("1 line was not taken"), "{body}");
    assert!(body.contains("Its signature does not fit"), "{body}");
    // Who brought it in is an entry, with the digest by which the file is known again.
    let brought = stage.bodies(&watch, "file_brought").await;
    assert_eq!(brought.len(), 1, "what holds no line leaves none");
    assert_eq!(brought[0]["file"], digest.to_string());
    assert_eq!(brought[0]["devices"], serde_json::json!([dark.dev()]));
    let counts = ["taken", "before", "left"].map(|name| brought[0][name].as_u64().unwrap());
    // The line with which the phone was let in is there already.
    assert_eq!(counts, [lines.len() as u64 - 1, 1, 2]);
    let shown = stage.page(&format!("/watch/{watch}")).await;
    assert!(shown.contains("Marta Ilves"), "{shown}");
    // The phone comes back after all: everything is there already.
    let reply = dark.sync().await;
    assert!(reply.outcomes.iter().all(|outcome| outcome.is == Is::Again), "{reply:?}");
    let (_, page) = bring(phone::file::write(&lines)).await;
    assert!(page.contains("were here already"), "{page}");
    let again = stage.bodies(&watch, "file_brought").await.pop().unwrap();
    assert_eq!((&again["taken"], &again["before"]), (&0.into(), &lines.len().into()));
    let shown = stage.page(&format!("/watch/{watch}")).await;
    assert!(shown.contains("file brought in; lines taken: 0, here before: 5"), "{shown}");
    // What a phone wrote that is trusted no longer stays out, whoever brings it.
    dark.sees(&watch, "floor-3");
    let late = as_stored(&dark);
    stage.post(&format!("/device/{}/revoke", dark.dev()), &[]).await;
    let (_, page) = bring(phone::file::write(&late)).await;
    assert!(page.contains("not let in to this watch, or no longer"), "{page}");
    stage.running.stop().await;
}

/// A photo that waited on a phone is known by the line that names it, and by nothing else.
#[tokio::test]
async fn a_photo_that_waited_comes_in_after_the_line_that_names_it() {
    let stage = Stage::new().await;
    let (watch, mut dark) = stage.with_phone().await;
    dark.begins(&watch);
    let bytes = b"what a camera saw".to_vec();
    let blob = Digest::of(&bytes);
    let photo = record::Photo { of: None, blob, len: 17, mime: "image/jpeg".to_owned() };
    dark.write(&watch, photo, Words::default());
    let path = format!("/watch/{watch}/phone-file");
    let bring = async |name: &str, bytes: &[u8]| {
        let answer = stage.send_file(&path, &[], ("file", name), bytes).await;
        (answer.status(), answer.text().await.unwrap())
    };
    let kept = stage.folder.path().join(format!("blobs/kept/{}/{blob}", &blob.to_string()[..2]));
    let (status, _) = bring("photo.jpg", &bytes).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "no line names it yet");
    assert!(!kept.exists());
    let (status, _) = bring("lines.jsonl", phone::file::write(&as_stored(&dark)).as_bytes()).await;
    assert_eq!(status, StatusCode::OK);
    let (status, page) = bring("photo.jpg", &bytes).await;
    assert_eq!(status, StatusCode::OK);
    assert!(page.contains("1 photo or signature taken"), "{page}");
    assert_eq!(std::fs::read(&kept).unwrap(), bytes);
    stage.running.stop().await;
}
