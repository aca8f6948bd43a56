//! `fold [--lines N] [--watches N]`: lines a second into one watch, the cost of a late line against
//! the number of lines, bytes per live watch, and the next due instant among many live watches.

use crate::watches::{Phone, START_MS, folded, zone};
use anyhow::{Context, Result};
use bench_plan::options::Options;
use bench_plan::random::Random;
use serde_json::json;
use std::time::Instant;
use watch::{Deadlines, Held, Watch};

const ZONES: usize = 12;

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["lines", "watches"])?;
    let lines: usize = options.get("lines", 20_000)?;
    let watches: usize = options.get("watches", 100_000)?;
    for count in [lines / 100, lines / 10, lines] {
        one_watch(count.max(10));
    }
    live_watches(watches)
}

fn looks(phone: &mut Phone, count: usize) -> Vec<Held> {
    let mut held = phone.opening(ZONES, 1800, None);
    held.extend(
        (0..count).map(|n| phone.see(START_MS + 20_000 * n as i64, n % ZONES, (n / ZONES) as u32)),
    );
    held
}

#[expect(clippy::disallowed_methods, reason = "a measurement reads the clock")]
fn one_watch(count: usize) {
    let mut phone = Phone::new("w-one", START_MS);
    let mut held = looks(&mut phone, count);
    let taken = (count / 4).clamp(1, 100);
    let late: Vec<Held> = (0..taken).map(|_| held.remove(held.len() / 2)).collect();
    let all = held.len();
    let began = Instant::now();
    let mut watch = folded("w-one", held);
    let add_s = began.elapsed().as_secs_f64();
    let began = Instant::now();
    let late_count = late.len();
    for line in late {
        watch.add(line);
        std::hint::black_box(watch.due(&zone(3), START_MS + 20_000 * count as i64));
    }
    let late_s = began.elapsed().as_secs_f64() / late_count as f64;
    let began = Instant::now();
    let state = watch.about(START_MS + 20_000 * count as i64);
    let about_s = began.elapsed().as_secs_f64();
    println!(
        "{}",
        json!({
            "bench": "fold", "lines": state.lines, "lines_a_second": (all as f64 / add_s) as u64,
            "late_line_us": late_s * 1e6, "whole_state_ms": about_s * 1e3,
        })
    );
}

/// A live watch as the desk holds it at midnight: opening, terms, shift, one look per zone.
fn live(n: usize) -> (Watch, Phone) {
    let id = format!("w-{n}");
    let mut phone = Phone::new(&id, START_MS);
    let mut held = phone.opening(4, 1800, None);
    held.extend(
        (0..4).map(|z| phone.see(START_MS + 60_000 * (1 + (n % 25) as i64 + z as i64), z, 1)),
    );
    (folded(&id, held), phone)
}

#[expect(clippy::disallowed_methods, reason = "a measurement reads the clock")]
fn live_watches(most: usize) -> Result<()> {
    let mut deadlines = Deadlines::default();
    let mut all: Vec<(Watch, Phone)> = Vec::new();
    let empty_bytes = resident_bytes()?;
    for count in [most / 100, most / 10, most] {
        while all.len() < count {
            let (watch, phone) = live(all.len());
            deadlines.set(watch.id(), watch.next_due(START_MS + 1_800_000).map(|due| due.due_ms));
            all.push((watch, phone));
        }
        let grown = resident_bytes()?.saturating_sub(empty_bytes);
        let mut random = Random(count as u64);
        let updates: Vec<(usize, Held)> = (0..2000)
            .map(|n| {
                let place = (random.draw() % count as u64) as usize;
                let at_ms = START_MS + 1_800_000 + 500 * n;
                (place, all[place].1.see(at_ms, (n % 4) as usize, 2))
            })
            .collect();
        let began = Instant::now();
        for (place, held) in updates {
            let (watch, _) = &mut all[place];
            let now_ms = held.line.clk.wall;
            watch.add(held);
            deadlines.set(watch.id(), watch.next_due(now_ms).map(|due| due.due_ms));
            std::hint::black_box(deadlines.first());
        }
        let update_us = began.elapsed().as_secs_f64() / 2000.0 * 1e6;
        println!(
            "{}",
            json!({
                "bench": "fold", "live_watches": count, "look_and_next_due_us": update_us,
                "bytes_a_watch": grown / count.max(1) as u64, "lines_a_watch": 7,
            })
        );
    }
    Ok(())
}

/// Memory of this process, from the system's own account.
fn resident_bytes() -> Result<u64> {
    let text =
        std::fs::read_to_string("/proc/self/statm").context("needs Linux's /proc/self/statm")?;
    let pages: u64 =
        text.split_whitespace().nth(1).context("statm has a second number")?.parse()?;
    Ok(pages * 4096)
}
