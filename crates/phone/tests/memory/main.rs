//! Twelve hours at ten-minute rounds without a network: what is held grows by the lines and by nothing
//! else, and what the browser was asked to do is counted. `RATTLEWATCH_TICK_S=1` ticks as a lit screen does.
#![expect(missing_docs, reason = "tests")]

#[path = "../journeys/desk.rs"]
pub mod desk;
#[path = "../journeys/handset.rs"]
pub mod handset;

use desk::{Desk, named};
use handset::{Handset, Radio};
use phone::{Place, Tap};
use std::alloc::{GlobalAlloc, Layout, System};
use std::sync::atomic::{AtomicI64, Ordering};

/// 20:00 in Chicago on 25 November 2026.
pub const EIGHT_MS: i64 = 1_795_658_400_000;

/// The system's allocator; counts what is held.
struct Counted;

static HELD: AtomicI64 = AtomicI64::new(0);

#[global_allocator]
static COUNTED: Counted = Counted;

#[expect(unsafe_code, reason = "only so can what is held be counted")]
// SAFETY: every call is handed on to the system's allocator as it came.
unsafe impl GlobalAlloc for Counted {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        HELD.fetch_add(layout.size() as i64, Ordering::Relaxed);
        // SAFETY: as it came.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, held: *mut u8, layout: Layout) {
        HELD.fetch_sub(layout.size() as i64, Ordering::Relaxed);
        // SAFETY: as it came.
        unsafe { System.dealloc(held, layout) }
    }
}

fn held() -> i64 {
    HELD.load(Ordering::Relaxed)
}

/// Time goes by under a lit screen.
fn pass(phone: &mut Handset, desk: &mut Desk, seconds: i64, tick_s: i64) {
    (0..seconds / tick_s).for_each(|_| phone.wait_s(desk, tick_s));
}

/// Four stops, two minutes apart, and a word at the end.
fn round(phone: &mut Handset, desk: &mut Desk, tick_s: i64) {
    for _ in 0..4 {
        pass(phone, desk, 120, tick_s);
        phone.tap(desk, Tap::IAmHere);
    }
    phone.tap(desk, Tap::RoundOver { all_clear: true });
    pass(phone, desk, 120, tick_s);
}

#[test]
fn twelve_hours_take_memory_for_their_lines_and_for_nothing_else() {
    let tick_s = std::env::var("RATTLEWATCH_TICK_S").ok().and_then(|s| s.parse().ok());
    let tick_s = tick_s.unwrap_or(40);
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut phone = Handset::new(1, EIGHT_MS);
    desk.token("t-1", named("p-ines", "Ines"));
    phone.start(&mut desk);
    phone.tap(&mut desk, Tap::Enrol("t-1".to_owned()));
    phone.wait_s(&mut desk, 3);
    desk.confirm("t-1", phone.wall_ms);
    phone.settle(&mut desk);
    phone.tap(&mut desk, Tap::Go(Place::Round));
    phone.tap(&mut desk, Tap::IAmHere);
    phone.radio = Radio::Off;
    round(&mut phone, &mut desk, tick_s);

    phone.asked.clear();
    let mut each = Vec::new();
    for _ in 0..12 {
        let (bytes, lines) = (held(), phone.disk.lines.len() as i64);
        (0..6).for_each(|_| round(&mut phone, &mut desk, tick_s));
        let grown = phone.disk.lines.len() as i64 - lines;
        assert!(grown >= 36, "six rounds of six lines: {grown}");
        each.push((held() - bytes) / grown);
    }
    println!("bytes for each line, hour by hour: {each:?}, with its copy on the disk");
    println!("asked of the browser in 12 h, a tick every {tick_s} s: {:?}", phone.asked);
    let (least, most) = (*each.iter().min().unwrap(), *each.iter().max().unwrap());
    assert!(most < 2 * least, "the last hours cost what the first ones did: {each:?}");

    let before = held();
    pass(&mut phone, &mut desk, 3_600, tick_s);
    let idle = held() - before;
    println!("bytes more after an hour without a line: {idle}");
    assert!(idle < each[11], "nothing is kept of an hour in which nothing was said: {idle} bytes");
}
