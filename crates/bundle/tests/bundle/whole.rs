//! A bundle that holds is found to hold, and everything that is taken from it is missed.

use crate::world::small_watch;
use bundle::{Verdict, verify};
use serde_json::json;

fn judge(bytes: &[u8]) -> Verdict {
    verify(bytes, |_, _| {})
}

#[test]
fn a_whole_watch_holds() {
    let mut world = small_watch();
    let verdict = judge(&world.bundle());
    assert_eq!(verdict.faults, []);
    assert!(verdict.ok);
    assert_eq!((verdict.lines, verdict.devices), (world.kept.len() as u64, 3));
    println!("{}", serde_json::to_string_pretty(&verdict).unwrap());
}

#[test]
fn a_watch_over_new_year_stands_in_two_logs() {
    let mut world = small_watch();
    world.close_log(2027);
    world.write(2, "seen", json!({"stop": "stop-1", "how": "tag"}));
    world.write(3, "seen", json!({"stop": "stop-2", "how": "hand"}));
    world.seal();
    let verdict = judge(&world.bundle());
    assert_eq!(verdict.faults, []);
    assert_eq!(verdict.head.unwrap().origin, "watch.example/gannet/2027");
    assert_eq!(verdict.log_keys.len(), 2);
}

/// Every bit of the archive matters; a stride that shares no factor with the length of a line meets
/// every file and every part of the container.
#[test]
fn any_changed_byte_is_missed() {
    let bytes = small_watch().bundle();
    for place in (0..bytes.len()).step_by(bytes.len() / 700) {
        let mut changed = bytes.clone();
        changed[place] ^= 1 << (place % 8);
        assert!(!judge(&changed).ok, "byte {place}");
    }
}
