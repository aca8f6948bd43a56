//! The server commits, and the answer never arrives: the phone hangs up at any moment and asks again.
//! Each line has exactly one leaf, and the desk shows what the log has.

mod stage;

use ledger::LineId;
use phone::sync::{DEVICE_HEADER, Is, Request, RequestNote, SIGNATURE_HEADER};
use stage::{Phone, Stage};
use std::collections::BTreeMap;
use std::time::Duration;
use tokio::io::AsyncWriteExt;
use tokio::net::TcpStream;

/// How often a phone hangs up.
const DROPS: u64 = 1_000;
/// Lines written between two answers that arrive.
const LINES: u64 = 5;

/// What the phone has to say; it wants no news, which would grow with the night.
fn only_up(phone: &Phone) -> Request {
    Request { watches: Vec::new(), ..phone.request() }
}

/// Sends the request whole and hangs up after so long, whatever the server is doing then.
async fn hang_up(phone: &Phone, local: std::net::SocketAddr, after: Duration) {
    let body = serde_json::to_vec(&only_up(phone)).unwrap();
    let note = RequestNote::new(phone.dev(), "/sync", &body, phone.now_ms);
    let signature = phone.sign(note.text().as_bytes());
    let head = format!(
        "POST /sync HTTP/1.1\r\nhost: {local}\r\ncontent-type: application/json\r\n\
         {DEVICE_HEADER}: {}\r\n{SIGNATURE_HEADER}: {signature}\r\ncontent-length: {}\r\n\r\n",
        note.text(),
        body.len()
    );
    let mut stream = TcpStream::connect(local).await.unwrap();
    stream.write_all(&[head.as_bytes(), &body].concat()).await.unwrap();
    tokio::time::sleep(after).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_line_whose_answer_was_lost_has_one_leaf() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sync().await;
    let mut leaves: BTreeMap<LineId, u64> = BTreeMap::new();
    let mut again = 0;
    for drop in 0..DROPS {
        phone.now_ms += 1_000;
        phone.sees(&watch, if drop % 2 == 0 { "floor-1" } else { "floor-2" });
        // From before the first byte is read to long after the commit.
        hang_up(&phone, stage.running.local, Duration::from_micros(drop % 40 * 100)).await;
        if drop % LINES != LINES - 1 {
            continue;
        }
        let body = serde_json::to_vec(&only_up(&phone)).unwrap();
        let answer = phone.signed(reqwest::Method::POST, "/sync", body).await;
        for outcome in phone.read(&answer.json().await.unwrap()).outcomes {
            again += u64::from(outcome.is == Is::Again);
            let leaf = outcome.leaf.expect("each line is in the log");
            assert_eq!(leaves.insert(outcome.id, leaf.i), None, "one outcome for each line");
        }
        assert!(phone.waiting.is_empty());
    }
    assert_eq!(leaves.len() as u64, DROPS);
    assert!(again > DROPS / 4, "the answers of {again} lines were lost after the commit");
    let mut indexes: Vec<u64> = leaves.values().copied().collect();
    indexes.sort_unstable();
    indexes.dedup();
    assert_eq!(indexes.len() as u64, DROPS, "no two lines share a leaf");

    // What the desk folded is what the log has: asked of the desk, then counted in the bundle.
    let shown = stage.get(&format!("/api/watches/{watch}/lines")).await;
    let shown: Vec<serde_json::Value> = shown.json().await.unwrap();
    let seen = shown.iter().filter(|line| line["kind"] == "seen").count() as u64;
    assert_eq!(seen, DROPS);
    let zip = stage.get(&format!("/watch/{watch}/bundle")).await.bytes().await.unwrap();
    let opened = bundle::open(&zip);
    assert!(opened.verdict.ok, "{:?}", opened.verdict.faults);
    let seen = opened.lines.iter().filter(|sealed| sealed.line.kind == "seen").count() as u64;
    assert_eq!(seen, DROPS);
    stage.running.stop().await;
}
