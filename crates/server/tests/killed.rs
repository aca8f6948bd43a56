//! `kill -9` of the server at any moment: what a phone holds a receipt for is still in the log, at the
//! same place, and the log only grew.

mod stage;

use ledger::LineId;
use phone::sync::Is;
use stage::{Phone, Stage};
use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

const FOLDER: &str = "RATTLEWATCH_TEST_FOLDER";
const LISTEN: &str = "RATTLEWATCH_TEST_LISTEN";
/// How often the server is killed.
const KILLS: u64 = 6;

/// Not a test of its own: the process that is killed. Without its variables it does nothing.
#[test]
fn the_server_that_is_killed() {
    let (Ok(folder), Ok(listen)) = (std::env::var(FOLDER), std::env::var(LISTEN)) else { return };
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async {
        let mut options = server::Options::in_folder(Path::new(&folder));
        options.listen = listen.parse().unwrap();
        let _running = server::serve(options).await.unwrap();
        std::future::pending::<()>().await;
    });
}

fn start(folder: &Path, listen: SocketAddr) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "the_server_that_is_killed", "--nocapture"])
        .env(FOLDER, folder)
        .env(LISTEN, listen.to_string())
        .stdout(Stdio::null())
        .spawn()
        .unwrap()
}

async fn answers(phone: &Phone, request: &[u8]) -> Option<phone::sync::Reply> {
    phone.try_signed("/sync", request.to_vec()).await?.json().await.ok()
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_acknowledged_is_lost_when_the_server_is_killed() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.sync().await;
    let (local, folder) = (stage.running.local, stage.folder);
    stage.running.stop().await;
    // Where each line stands, as its receipt said.
    let mut receipts: BTreeMap<LineId, u64> = BTreeMap::new();
    let mut all = Vec::new();
    phone.begins(&watch);
    for kill in 0..KILLS {
        let mut child = start(folder.path(), local);
        let living = async {
            loop {
                phone.now_ms += 1_000;
                phone.sees(&watch, "floor-1");
                let request = serde_json::to_vec(&phone.request()).unwrap();
                let Some(reply) = answers(&phone, &request).await else {
                    tokio::time::sleep(Duration::from_millis(20)).await;
                    continue;
                };
                all.extend(phone.waiting.iter().cloned());
                let read = phone.read(&reply);
                for outcome in read.outcomes {
                    let leaf = outcome.leaf.unwrap();
                    let before = receipts.insert(outcome.id, leaf.i);
                    assert!(
                        before.is_none_or(|before| before == leaf.i),
                        "a line stands in one place"
                    );
                }
            }
        };
        // Somewhere between starting up and many commits.
        let moment = Duration::from_millis(400 + kill * 370);
        let _ = tokio::time::timeout(moment, living).await;
        child.kill().unwrap();
        child.wait().unwrap();
    }
    assert!(receipts.len() > 20, "only {} lines were acknowledged", receipts.len());
    let mut child = start(folder.path(), local);
    all.sort_by_key(|(line, _)| (line.watch.clone(), line.seq));
    all.dedup_by_key(|(line, _)| line.id());
    phone.waiting = all;
    let request = serde_json::to_vec(&phone.request()).unwrap();
    let reply = loop {
        if let Some(reply) = answers(&phone, &request).await {
            break reply;
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    };
    let read = phone.read(&reply);
    child.kill().unwrap();
    child.wait().unwrap();
    for (id, index) in &receipts {
        let outcome = read.outcomes.iter().find(|outcome| outcome.id == *id).unwrap();
        assert_eq!(outcome.is, Is::Again, "{id} was acknowledged, so it is there");
        assert_eq!(outcome.leaf.as_ref().unwrap().i, *index);
    }
}
