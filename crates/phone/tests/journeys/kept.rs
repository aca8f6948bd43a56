//! What older programs kept is read by this one. `tests/kept/N.json` is a disk as version N of the form
//! left it, in the middle of a night without network; a file is only ever added, none is written again.
//! `RATTLEWATCH_WRITE=1` writes the one of this version if it is not there.

use crate::desk::Desk;
use crate::handset::{Disk, Handset, Radio};
use crate::{EIGHT_MS, enrolled, said, sent, touch};
use phone::{Field, Page, Tap};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// The newest version.
const NEWEST: u32 = 1;

fn file(version: u32) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/kept/{version}.json"))
}

/// Ines in her first round: two stops seen and a note, none of it sent, a question half typed.
fn in_a_night(desk: &mut Desk) -> Handset {
    let mut ines = enrolled(desk, 1, "p-ines", "Ines", "t-1");
    ines.radio = Radio::Off;
    for _ in 0..3 {
        touch(&mut ines, desk, "i-am-here");
        ines.wait_s(desk, 60);
    }
    ines.tap(desk, Tap::Typed(Field::Note, "Hoist locked, key at the porter".to_owned()));
    ines.tap(desk, Tap::KeepNote);
    ines.wait_s(desk, 1);
    ines.tap(desk, Tap::Open(Page::Ask));
    ines.tap(desk, Tap::Typed(Field::Question, "Is the roof".to_owned()));
    ines.wait_s(desk, 1);
    ines
}

#[test]
fn every_disk_that_was_ever_left_goes_on() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let newest = in_a_night(&mut desk);
    if std::env::var_os("RATTLEWATCH_WRITE").is_some() && !file(NEWEST).exists() {
        std::fs::create_dir_all(file(NEWEST).parent().unwrap()).unwrap();
        std::fs::write(file(NEWEST), format!("{:#}\n", newest.disk.to_json())).unwrap();
    }
    for version in 1..=NEWEST {
        let text = std::fs::read_to_string(file(version)).unwrap();
        let kept: Value = serde_json::from_str(&text).unwrap();
        let mut phone = Handset::new(1, newest.wall_ms);
        phone.disk = Disk::of_json(&kept);
        phone.radio = Radio::Off;
        phone.start(&mut desk);
        assert_eq!(phone.view().name, "round", "version {version}: {:?}", phone.view());
        assert_eq!(sent(&phone.view()), "5 waiting", "version {version}");
        assert!(said(&phone.view()).contains("Stop 3 of 4"), "{}", said(&phone.view()));
        let asks = |phone: &Handset| {
            phone.view().blocks.iter().any(|block| {
                matches!(block, phone::view::Block::Input { value, .. } if value == "Is the roof")
            })
        };
        phone.tap(&mut desk, Tap::Open(Page::Ask));
        assert!(asks(&phone), "version {version}: what was half typed is there");
        phone.tap(&mut desk, Tap::Go(phone::Place::Round));
        // The chain goes on where it ended, and all of it is taken.
        touch(&mut phone, &mut desk, "i-am-here");
        phone.radio = Radio::On;
        phone.settle(&mut desk);
        assert_eq!(sent(&phone.view()), "All sent", "version {version}");
        assert_eq!(desk.aside, [], "version {version}");
        desk = Desk::open(EIGHT_MS, false);
        in_a_night(&mut desk);
    }
}

/// A program that went back to an older version finds members it does not know, and leaves them alone.
#[test]
fn members_of_a_newer_program_are_left_alone() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let ines = in_a_night(&mut desk);
    let mut kept = ines.disk.to_json();
    for note in ["log", "choices", "draft", "member"] {
        let text = kept["notes"][note].as_str().unwrap();
        let mut value: Value = serde_json::from_str(text).unwrap();
        value["of_a_newer_program"] = json!({ "deep": [1, "two"] });
        kept["notes"][note] = json!(value.to_string());
    }
    let mut phone = Handset::new(1, ines.wall_ms);
    phone.disk = Disk::of_json(&kept);
    phone.radio = Radio::Off;
    phone.start(&mut desk);
    assert_eq!(sent(&phone.view()), "5 waiting");
    assert_eq!(phone.view().name, "round");
}
