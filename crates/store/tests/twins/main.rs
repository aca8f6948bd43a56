//! The same random requests to a store on SQLite and one on PostgreSQL: every answer must be equal,
//! and the log must be what a plain tree in memory says it is.
//!
//! `cargo test -p rattlewatch-store --test twins -- --ops 10000 --seed 7` runs longer.

mod asks;
#[path = "../conformance/cluster.rs"]
mod cluster;
#[path = "../conformance/devices.rs"]
mod devices;

use asks::{Asker, Random};
use devices::ORIGIN;
use std::path::Path;
use store::{Options, Store};

const OPS: u64 = 1_000;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    if arguments.iter().any(|argument| argument == "--list") {
        println!("twins: test");
        return;
    }
    let number = |name: &str, default| {
        let at = arguments.iter().position(|argument| argument == name);
        let value = at.and_then(|at| arguments.get(at + 1));
        value.map_or(default, |value| value.parse().expect("a number follows the option"))
    };
    let (ops, seed) = (number("--ops", OPS), number("--seed", 1));
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap();
    runtime.block_on(run(ops, seed));
}

async fn run(ops: u64, seed: u64) {
    let (left, right) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let sqlite = options(left.path());
    let mut postgres = options(right.path());
    postgres.database = cluster::new_database().await;
    let mut twins = (open(&sqlite).await, open(&postgres).await);
    let mut asker = Asker::new(Random(seed));
    for op in 0..ops {
        if asker.random.below(60) == 0 {
            twins.0.close().await;
            twins.1.close().await;
            twins = (open(&sqlite).await, open(&postgres).await);
        }
        let ask = asker.next();
        let left = ask.answer(&twins.0).await;
        let right = ask.answer(&twins.1).await;
        assert_eq!(left, right, "seed {seed}, request {op}: {ask:?}");
        asker.note(&ask, &left, &twins.0).await;
    }
    for store in [&twins.0, &twins.1] {
        assert_eq!(store.scrub().await.unwrap().faults, []);
        asker.audit(store).await;
    }
    println!("twins: seed {seed}, {ops} requests, {}", asker.tally());
    twins.0.close().await;
    twins.1.close().await;
}

fn options(folder: &Path) -> Options {
    let mut options = Options::in_folder(folder);
    options.reserve_bytes = Some(0);
    options
}

async fn open(options: &Options) -> Store {
    let store = Store::open(options).await.unwrap();
    store.create_log(ORIGIN).await.unwrap();
    store
}
