//! Two servers on one PostgreSQL. The one that orders the lines is paused, the other takes over; the
//! first wakes up, is asked, and is killed: no line is lost, none stands twice, no head contradicts another.

mod stage;

#[path = "../../store/tests/conformance/cluster.rs"]
mod cluster;

use ledger::LineId;
use phone::sync::{Is, Reply};
use stage::{Phone, Stage};
use std::collections::BTreeMap;
use std::net::{SocketAddr, TcpListener};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

const FOLDER: &str = "RATTLEWATCH_TEST_SERVER_FOLDER";
const LISTEN: &str = "RATTLEWATCH_TEST_SERVER_LISTEN";
const DATABASE: &str = "RATTLEWATCH_TEST_SERVER_DATABASE";
const BLOBS: &str = "RATTLEWATCH_TEST_SERVER_BLOBS";

/// An answer that takes longer never comes; a machine that has much else to do takes its time.
const PATIENCE: Duration = Duration::from_secs(60);
/// Whoever is paused gives no answer however long one waits.
const PAUSED: Duration = Duration::from_secs(2);
/// A server that has not taken over after so many tries never will.
const TRIES: u32 = 1_200;

/// Not a test of its own: one of the two servers. Without its variables it does nothing.
#[test]
fn one_of_two_servers() {
    let variable = |name| std::env::var(name).ok();
    let (Some(folder), Some(listen)) = (variable(FOLDER), variable(LISTEN)) else { return };
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async {
        let mut options = stage::options(Path::new(&folder));
        options.listen = listen.parse().unwrap();
        options.database = variable(DATABASE);
        options.blobs = variable(BLOBS).map(Into::into);
        let running = server::serve(options).await.unwrap();
        let error = running.failed().await;
        eprintln!("{error}");
    });
}

/// A server with a folder of its own, the keys of the house and its blobs.
struct Server {
    child: Child,
    at: SocketAddr,
    _folder: tempfile::TempDir,
}

impl Server {
    fn start(house: &Path, database: &str) -> Server {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("keys")).unwrap();
        for key in std::fs::read_dir(house.join("keys")).unwrap() {
            let key = key.unwrap();
            std::fs::copy(key.path(), folder.path().join("keys").join(key.file_name())).unwrap();
        }
        let at = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
        let child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "one_of_two_servers", "--nocapture"])
            .env(FOLDER, folder.path())
            .env(LISTEN, at.to_string())
            .env(DATABASE, database)
            .env(BLOBS, house.join("blobs"))
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        Server { child, at, _folder: folder }
    }

    fn signal(&self, signal: &str) {
        let process = self.child.id().to_string();
        let done = Command::new("kill").args([signal, &process]).status();
        assert!(done.expect("this test needs the program kill").success());
    }

    /// Pauses it, and returns once it has stopped: on a busy machine it still answers for a moment.
    async fn pause(&self) {
        self.signal("-STOP");
        let process = self.child.id().to_string();
        for _ in 0..TRIES {
            let state = Command::new("ps").args(["-o", "state=", "-p", &process]).output();
            let state = state.expect("this test needs the program ps").stdout;
            if String::from_utf8_lossy(&state).trim_start().starts_with('T') {
                return;
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        panic!("the server is not paused");
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// One conversation with whoever listens there; what was given a receipt is noted.
async fn asks(phone: &mut Phone, at: SocketAddr, places: &mut BTreeMap<LineId, u64>) -> bool {
    asks_for(PATIENCE, phone, at, places).await
}

async fn asks_for(
    patience: Duration,
    phone: &mut Phone,
    at: SocketAddr,
    places: &mut BTreeMap<LineId, u64>,
) -> bool {
    phone.moves_to(&format!("http://{at}"));
    let body = serde_json::to_vec(&phone.request()).unwrap();
    let answer = tokio::time::timeout(patience, phone.try_signed("/sync", body)).await;
    let Ok(Some(answer)) = answer else { return false };
    if !answer.status().is_success() {
        return false;
    }
    let reply: Reply = answer.json().await.unwrap();
    // Panics if the head does not go on from the one the phone holds.
    for outcome in phone.read(&reply).outcomes {
        assert!(matches!(outcome.is, Is::Received | Is::Again), "{outcome:?}");
        let leaf = outcome.leaf.unwrap();
        let before = places.insert(outcome.id, leaf.i);
        assert!(before.is_none_or(|before| before == leaf.i), "a line stands in one place");
    }
    true
}

/// Somebody signed in, at one of the servers.
struct Desk {
    cookie: String,
    at: SocketAddr,
}

impl Desk {
    async fn send(&self, path: &str) -> Option<reqwest::Response> {
        let request = reqwest::Client::new().get(format!("http://{}{path}", self.at));
        request.header("cookie", &self.cookie).send().await.ok()
    }

    async fn asks(&self, path: &str) -> Option<(u16, String)> {
        let answer = self.send(path).await?;
        Some((answer.status().as_u16(), answer.text().await.ok()?))
    }

    async fn until(&self, path: &str, words: &str) {
        for _ in 0..TRIES {
            if self.asks(path).await.is_some_and(|(_, page)| page.contains(words)) {
                return;
            }
            tokio::time::sleep(Duration::from_millis(250)).await;
        }
        panic!("{path} does not say {words}");
    }

    /// Opens the event stream of a page.
    async fn lives(&self, path: &str) -> Living {
        let answer = self.send(path).await.expect("it answers reads");
        assert_eq!(answer.status().as_u16(), 200);
        Living(answer)
    }
}

struct Living(reqwest::Response);

impl Living {
    async fn says(&mut self, words: &str) {
        let mut heard = String::new();
        while !heard.contains(words) {
            let next = tokio::time::timeout(PATIENCE, self.0.chunk()).await;
            let bytes = next.expect("a living page beats").unwrap().expect("it goes on");
            heard.push_str(&String::from_utf8_lossy(&bytes));
        }
    }
}

async fn answers(phone: &mut Phone, at: SocketAddr, places: &mut BTreeMap<LineId, u64>) {
    for _ in 0..TRIES {
        if asks(phone, at, places).await {
            return;
        }
        tokio::time::sleep(Duration::from_millis(250)).await;
    }
    panic!("nobody answers at {at}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_paused_server_is_replaced_and_does_no_harm_when_it_wakes_up() {
    let database = cluster::new_database().await;
    let url = database.clone();
    let stage = Stage::with(move |options| options.database = Some(url)).await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.sync().await;
    let (house, cookie) = (stage.folder, stage.cookie);
    stage.running.stop().await;

    let mut places = BTreeMap::new();
    let mut written = Vec::new();
    let leader = Server::start(house.path(), &database);
    phone.begins(&watch);
    answers(&mut phone, leader.at, &mut places).await;
    let standby = Server::start(house.path(), &database);
    // It answers reads meanwhile, and takes nothing.
    let desk = Desk { cookie, at: standby.at };
    desk.until("/", "Gannet Hotel").await;
    assert!(desk.asks("/health").await.is_some_and(|(status, _)| status == 503));
    assert!(desk.asks("/health?to=read").await.is_some_and(|(status, _)| status == 200));
    let mut living = desk.lives(&format!("/watch/{watch}/stream")).await;
    let mut shown_after = Vec::new();
    for second in 0..10 {
        phone.now_ms += 1_000;
        written.push(phone.sees(&watch, if second % 2 == 0 { "floor-1" } else { "floor-2" }));
        // A word that only this line has, so that the other desk cannot know it from before.
        let word = format!("told {second}");
        phone.write(&watch, record::Note { of: None }, record::Words::from_text(&word));
        answers(&mut phone, leader.at, &mut places).await;
        let since = tokio::time::Instant::now();
        living.says(&word).await;
        shown_after.push(since.elapsed().as_millis());
    }
    shown_after.sort_unstable();
    println!("the second desk showed a line after {shown_after:?} ms");
    assert!(!asks(&mut phone, standby.at, &mut places).await, "one orders the lines");
    let page = desk.asks(&format!("/watch/{watch}")).await.unwrap().1;
    assert!(page.contains("told 9") && page.contains("Marta Ilves"));
    desk.until(&format!("/watch/{watch}"), "told 9").await;

    leader.pause().await;
    written.push(phone.sees(&watch, "floor-1"));
    assert!(!asks_for(PAUSED, &mut phone, leader.at, &mut places).await);
    answers(&mut phone, standby.at, &mut places).await;
    assert!(phone.waiting.is_empty(), "the other server goes on");
    let size = phone.head.as_ref().unwrap().size;

    // It wakes up in the belief that it still leads.
    leader.signal("-CONT");
    written.push(phone.sees(&watch, "floor-2"));
    for _ in 0..4 {
        assert!(!asks(&mut phone, leader.at, &mut places).await, "its epoch is over");
    }
    leader.signal("-KILL");
    answers(&mut phone, standby.at, &mut places).await;
    assert!(phone.waiting.is_empty());
    assert!(phone.head.as_ref().unwrap().size > size);
    assert!(written.iter().all(|id| places.contains_key(id)));
    let mut indexes: Vec<u64> = written.iter().map(|id| places[id]).collect();
    indexes.sort_unstable();
    indexes.dedup();
    assert_eq!(indexes.len(), written.len(), "no two lines share a leaf");
}
