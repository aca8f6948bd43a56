//! A bundle that holds is found to hold, and everything that is taken from it is missed.

use crate::world::{SERVER, World, small_watch};
use bundle::{FaultKind, Verdict, verify};
use ledger::{Digest, HeadRef};
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

/// In a new log: the server goes on with another key, and a phone sends a line again that quotes a head
/// of the log before over more leaves than that one has.
pub(crate) fn restored(mut world: World) -> World {
    world.rekey(SERVER, 6);
    world.twist = Some(|line| {
        let origin = "watch.example/gannet/2026".to_owned();
        line.head = Some(HeadRef { origin, size: 900, root: Digest::of(b"lost") });
    });
    world.write(2, "seen", json!({"stop": "stop-1", "how": "tag"}));
    let chains = world.chain_ends();
    world.write(6, "sealed", json!({"chains": chains}));
    world
}

#[test]
fn a_log_that_lost_its_end_is_said_to_be_one() {
    let mut world = small_watch();
    world.open_log(2027);
    let verdict = judge(&restored(world).bundle());
    assert_eq!(verdict.faults, []);
    let says = |what: &str| verdict.cannot_know.iter().any(|open| open.contains(what));
    assert!(says("its closing leaf is not here") && says("1 quoted heads"));
    // A log that was closed has all its heads; and the last log is whole whatever it says.
    let mut world = small_watch();
    world.close_log(2027);
    let faults = judge(&restored(world).bundle()).faults;
    assert_eq!(faults.iter().map(|fault| fault.kind).collect::<Vec<_>>(), [FaultKind::QuotedHead]);
}

/// No seal counts the lines that say whom to trust, and leaves of the organisation may stand without theirs.
#[test]
fn whether_a_revocation_was_left_out_is_left_open() {
    let verdict = judge(&small_watch().bundle());
    assert_eq!(verdict.faults, []);
    assert!(verdict.cannot_know.iter().any(|open| open.contains("org.jsonl lacks a line")));
}

#[test]
fn only_the_server_hands_the_server_over() {
    let mut world = small_watch();
    world.rekey(2, 6);
    let chains = world.chain_ends();
    world.kept.retain(|kept| !String::from_utf8_lossy(&kept.signed.bytes).contains("\"sealed\""));
    world.write(6, "sealed", json!({"chains": chains}));
    let faults = judge(&world.bundle()).faults;
    assert!(faults.iter().any(|fault| fault.kind == FaultKind::NotSealed), "{faults:?}");
}

/// Device 2 signs on with the key of 4, and later with that of 5; each was vouched for by the one
/// before. The log saw lines of all three keys.
pub(crate) fn watch_of_changed_keys() -> World {
    let mut world = small_watch();
    world.rekey(2, 4);
    world.write(4, "seen", json!({"stop": "stop-1", "how": "tag"}));
    world.write(2, "note", json!({}));
    world.rekey(4, 5);
    world.write(5, "seen", json!({"stop": "stop-2", "how": "tag"}));
    world.seal();
    world
}

#[test]
fn a_phone_may_change_its_key_while_the_watch_runs() {
    let verdict = judge(&watch_of_changed_keys().bundle());
    assert_eq!(verdict.faults, []);
    assert_eq!(verdict.devices, 5);
}

#[test]
fn a_key_that_no_trusted_key_vouched_for_is_a_stranger() {
    let mut world = watch_of_changed_keys();
    // Without the first change there is nobody who could vouch for the second.
    let old = world.dev(2);
    let is_first = |line: &ledger::SignedLine| {
        let line: ledger::Line = serde_json::from_slice(&line.bytes).unwrap();
        line.kind == "rekeyed" && line.dev == old
    };
    let at = world.org_lines.iter().position(is_first).unwrap();
    let id = world.org_lines.remove(at).id();
    let leaf_of = format!("\"e\":\"{id}\"");
    world.logs[0].shown.retain(|leaf| !String::from_utf8_lossy(leaf).contains(&leaf_of));
    let kinds: Vec<FaultKind> =
        judge(&world.bundle()).faults.iter().map(|fault| fault.kind).collect();
    assert!(kinds.contains(&FaultKind::NotEnrolled), "{kinds:?}");
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
