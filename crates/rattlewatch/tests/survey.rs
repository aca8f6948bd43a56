//! `rattlewatch survey PLAN`: how it ends.

use serde_json::json;
use std::process::Command;

/// A stair of which one foot stands on no floor ends in 1, as a door in no wall does; a list of zones and stops has nothing
/// to survey and ends in 0.
#[test]
fn a_stair_that_leads_nowhere_ends_in_one() {
    let room = json!({"id": "hall", "name": "Hall", "level": "ground", "shape": [[[0, 0], [9000, 0], [9000, 6000], [0, 6000]]]});
    let door = json!({"id": "d", "level": "ground", "leaf": "door", "line": [[1000, 0], [2000, 0]], "exit": true});
    let plan = |rooms: &[&serde_json::Value], links: serde_json::Value| {
        json!({
            "version": 1, "name": "Gannet Quay",
            "levels": [{"id": "ground", "name": "Ground", "elevation_mm": 0}, {"id": "loft", "name": "Loft", "elevation_mm": 3500}],
            "zones": [{"id": "hall", "name": "Hall", "gap_s": 1800}],
            "stops": [{"id": "s", "name": "Stop", "zone": "hall"}],
            "rooms": rooms, "openings": if rooms.is_empty() { vec![] } else { vec![&door] }, "links": links,
        })
    };
    let stair = json!([{"id": "stair", "name": "Stair", "kind": "stair", "feet": [{"level": "ground", "at": [4000, 3000]}, {"level": "loft", "at": [4000, 3000]}]}]);
    let ends = |plan: &serde_json::Value| {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("plan.json");
        std::fs::write(&path, plan.to_string()).unwrap();
        let out = Command::new(env!("CARGO_BIN_EXE_rattlewatch")).arg("survey").arg(&path).output();
        let out = out.unwrap();
        (out.status.code(), String::from_utf8_lossy(&out.stdout).into_owned())
    };
    assert_eq!(ends(&plan(&[&room], stair)).0, Some(1));
    let (code, text) = ends(&plan(&[], json!([])));
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("0 m²") && !text.contains("-0"), "{text}");
}

/// A disk without room for the answer is an error with its exit code, not a panic. `/dev/full` is Linux's (full(4)).
#[test]
#[cfg(target_os = "linux")]
fn output_that_cannot_be_written_ends_in_two() {
    let plan = json!({
        "version": 1, "name": "Gannet Quay",
        "zones": [{"id": "hall", "name": "Hall", "gap_s": 1800}],
        "stops": [{"id": "s", "name": "Stop", "zone": "hall"}],
    });
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("plan.json");
    std::fs::write(&path, plan.to_string()).unwrap();
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let out = Command::new(env!("CARGO_BIN_EXE_rattlewatch"))
        .arg("plan-export")
        .arg(&path)
        .stdout(full)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&out.stderr);
    assert_eq!(out.status.code(), Some(2), "{said}");
    assert!(!said.contains("panicked"), "{said}");
}
