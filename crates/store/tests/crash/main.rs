//! `kill -9` under load, again and again: nothing that was acknowledged may be lost, no head may be
//! signed that the store does not still lead to.
//!
//! The child appends from several devices at once and says on its standard output what was
//! acknowledged; the parent kills it at a random moment, opens the store itself and compares.
//! `cargo test -p rattlewatch-store --test crash -- --cycles 10000 --seed 7` runs longer.

mod child;
#[expect(dead_code, reason = "the other tests use more of it")]
#[path = "../conformance/devices.rs"]
mod devices;
mod judge;

use judge::Judge;
use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};
use std::time::Duration;

const CYCLES: u64 = 50;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    if let [_, role, folder] = &arguments[..]
        && role == "child"
    {
        child::run(folder.as_ref());
        return;
    }
    if arguments.iter().any(|argument| argument == "--list") {
        println!("crash: test");
        return;
    }
    let number = |name: &str, default| {
        let at = arguments.iter().position(|argument| argument == name);
        let value = at.and_then(|at| arguments.get(at + 1));
        value.map_or(default, |value| value.parse().expect("a number follows the option"))
    };
    let (cycles, seed) = (number("--cycles", CYCLES), number("--seed", 1));
    let folder = tempfile::tempdir().unwrap();
    let mut random = Random(seed);
    let mut judge = Judge::new(folder.path());
    for cycle in 0..cycles {
        // Some are killed while they still open the store, most under full load.
        let life_ms = if random.below(5) == 0 { random.below(40) } else { random.below(300) };
        let said = one_life(folder.path(), Duration::from_millis(life_ms));
        judge.hear(&said);
        judge.check();
        if (cycle + 1) % 1_000 == 0 {
            println!("{} cycles, {}", cycle + 1, judge.tally());
        }
    }
    judge.check_all();
    println!("crash: seed {seed}, {cycles} cycles, {}: nothing lost", judge.tally());
    assert!(judge.lines() > cycles, "hardly anything was acknowledged: the test tested nothing");
}

/// Starts a child, kills it after a while, and returns the whole lines that it said.
fn one_life(folder: &std::path::Path, life: Duration) -> Vec<String> {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .arg("child")
        .arg(folder)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let output = BufReader::new(child.stdout.take().unwrap());
    let reader = std::thread::spawn(move || {
        let mut said: Vec<Vec<u8>> = output.split(b'\n').map_while(Result::ok).collect();
        // Of the last line only a part may have come; the mark at its end tells.
        said.retain(|line| line.ends_with(b"."));
        said.into_iter().map(|line| String::from_utf8(line).unwrap()).collect()
    });
    std::thread::sleep(life);
    // SIGKILL: nothing of the child runs after this.
    child.kill().unwrap();
    let status = child.wait().unwrap();
    assert!(status.code().is_none(), "the child ended by itself: {status}");
    reader.join().unwrap()
}

/// SplitMix64 (Steele, Lea, Flood, OOPSLA 2014).
struct Random(u64);

impl Random {
    fn below(&mut self, end: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % end
    }
}
