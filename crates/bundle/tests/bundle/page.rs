//! `docs/spec/log.md`: its example is what the code makes, and its steps can be taken.
//! `UPDATE_EXPECT=1` writes the example again.

use crate::by_hand::{Folder, text};
use crate::world::World;
use ledger::receipt::Receipt;
use ledger::{DeviceKey, Head, Leaf, Proof};
use serde_json::json;
use std::collections::BTreeMap;
use std::process::Command;

const PAGE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/spec/log.md");

/// The files of the example by name.
fn example() -> BTreeMap<&'static str, String> {
    let mut world = World::new();
    world.enrol(2);
    world.write_with(2, "shift_began", json!({}), Some(json!({"name": "Ines"})));
    world.now_ms += 240_000;
    world.write(2, "seen", json!({"how": "tag", "stop": "stair-b"}));
    let lines = |lines: Vec<&Vec<u8>>| -> String {
        let line = |bytes: &&Vec<u8>| format!("{}\n", String::from_utf8_lossy(bytes));
        lines.iter().map(line).collect()
    };
    let log = &world.logs[0];
    let size = log.tree.size();
    let head = Head { origin: log.key.name().into(), size, root: log.tree.root() }.sign(&log.key);
    let leaf = Leaf::parse(&log.shown[3]).unwrap();
    let path = log.tree.inclusion(3, size).unwrap();
    let receipt = Receipt { leaf, proof: Proof { index: 3, path, head: head.clone() } };
    BTreeMap::from([
        ("chain.jsonl", lines(world.kept.iter().map(|kept| &kept.signed.bytes).collect())),
        ("private.jsonl", lines(world.kept.iter().flat_map(|kept| &kept.private).collect())),
        ("key", format!("{}\n", DeviceKey::from_seed([2; 32]).public())),
        ("log.jsonl", lines(log.shown.iter().collect())),
        ("head.note", head.to_string()),
        ("log.vkey", format!("{}\n", log.key.vkey())),
        ("receipt", receipt.to_string()),
    ])
}

/// Puts the files of the example into the blocks that are marked for them.
fn fill(page: &str, files: &BTreeMap<&str, String>) -> String {
    let mut out = String::new();
    let mut parts = page.split("file=");
    out.push_str(parts.next().unwrap());
    for part in parts {
        let (name, rest) = part.split_once('\n').unwrap();
        let (_, after) = rest.split_once("```").unwrap();
        out.push_str(&format!("file={name}\n{}```{after}", files[name]));
    }
    out
}

#[test]
fn the_example_is_what_the_code_makes() {
    let stands = std::fs::read_to_string(PAGE).unwrap();
    let made = fill(&stands, &example());
    if std::env::var_os("UPDATE_EXPECT").is_some() {
        std::fs::write(PAGE, &made).unwrap();
    } else {
        assert!(stands == made, "the example is not what the code makes: run with UPDATE_EXPECT=1");
    }
}

#[test]
fn the_steps_of_the_page_can_be_taken() {
    let page = std::fs::read_to_string(PAGE).unwrap();
    let folder = Folder::new("page");
    for (name, content) in example() {
        std::fs::write(folder.path().join(name), content).unwrap();
    }
    let mut script = "set -euo pipefail\n".to_owned();
    for block in page.split("```sh\n").skip(1) {
        script.push_str(block.split("```").next().unwrap());
    }
    let take = || {
        let mut bash = Command::new("bash");
        bash.args(["-c", &script]).current_dir(folder.path()).output().unwrap()
    };
    let done = take();
    assert!(done.status.success(), "{}", text(&done));
    let changes = [
        ("chain.jsonl", "stair-b", "stair-c"),
        ("private.jsonl", "Ines", "Irma"),
        ("log.jsonl", "\"rxe\":5", "\"rxe\":6"),
        ("head.note", "\n4\n", "\n5\n"),
        ("receipt", "index 3", "index 2"),
    ];
    for (name, from, to) in changes {
        let path = folder.path().join(name);
        let right = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, right.replacen(from, to, 1)).unwrap();
        assert!(!take().status.success(), "{name} was changed");
        std::fs::write(&path, right).unwrap();
    }
}
