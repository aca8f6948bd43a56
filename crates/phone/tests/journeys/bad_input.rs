//! Whatever goes wrong outside: a clear sentence, and nothing said is lost.

use crate::desk::Desk;
use crate::handset::{Handset, Radio};
use crate::{EIGHT_MS, controls, enrolled, said, sent, touch};
use phone::{Field, Page, Place, Purpose, Tap, What};

fn on_duty(desk: &mut Desk) -> Handset {
    let mut ines = enrolled(desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, desk, "i-am-here");
    ines.settle(desk);
    ines
}

#[test]
fn a_denied_camera_leaves_the_typed_code_and_the_hand() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.tap(&mut desk, Tap::Open(Page::Scan));
    ines.happen(&mut desk, What::NoCamera);
    assert!(
        said(&ines.view()).contains("Type the code, or confirm by hand"),
        "{}",
        said(&ines.view())
    );
    ines.tap(&mut desk, Tap::Typed(Field::Code, "floor-5".to_owned()));
    touch(&mut ines, &mut desk, "scan-use");
    assert!(said(&ines.view()).contains("Floor 5 seen"), "{}", said(&ines.view()));
}

#[test]
fn a_denied_position_is_said_and_each_entry_says_that_there_is_none() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.tap(&mut desk, Tap::Position(true));
    ines.happen(&mut desk, What::NoPosition);
    ines.tap(&mut desk, Tap::Open(Page::Settings));
    assert!(
        said(&ines.view()).contains("No permission for the position"),
        "{}",
        said(&ines.view())
    );
    ines.tap(&mut desk, Tap::Go(Place::Round));
    touch(&mut ines, &mut desk, "i-am-here");
    let fix = phone::Fix { lat_e7: 1, lon_e7: 2, accuracy_m: 9, age_ms: 500 };
    ines.happen(&mut desk, What::Position(fix));
    ines.wait_s(&mut desk, 60);
    touch(&mut ines, &mut desk, "i-am-here");
    ines.settle(&mut desk);
    let fixes: Vec<bool> = desk
        .kept
        .iter()
        .filter(|kept| kept.line.kind == "seen")
        .map(|kept| kept.line.body.get("fix").is_some_and(|fix| fix == true))
        .collect();
    assert_eq!(fixes, [false, true]);
    let private = desk.kept.iter().rfind(|kept| kept.line.kind == "seen").unwrap();
    let private = private.private.as_ref().unwrap();
    assert!(
        private.contains(r#""accuracy_m":9"#) && private.contains(r#""age_ms":60500"#),
        "{private}"
    );
}

#[test]
fn another_tab_is_named_and_this_one_writes_nothing() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    let before = ines.disk.lines.len();
    ines.happen(&mut desk, What::OtherTab);
    assert!(said(&ines.view()).contains("open in another tab"), "{}", said(&ines.view()));
    ines.tap(&mut desk, Tap::IAmHere);
    assert_eq!(ines.disk.lines.len(), before);
}

#[test]
fn a_line_damaged_on_the_disk_is_named_kept_and_blocks_nobody_else() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.radio = Radio::Off;
    touch(&mut ines, &mut desk, "i-am-here");
    let before = ines.disk.lines.len();
    let seen = |line: &&mut phone::stored::StoredLine| line.line.contains("\"kind\":\"seen\"");
    let broken = ines.disk.lines.values_mut().find(seen).unwrap();
    broken.line = broken.line.replace("\"v\":1", "\"v\":7");
    ines.start(&mut desk);
    assert_eq!(ines.view().name, "round", "the night goes on");
    ines.tap(&mut desk, Tap::Open(Page::Waiting));
    let says = said(&ines.view());
    assert!(says.contains("1 line on this phone is damaged"), "{says}");
    ines.tap(&mut desk, Tap::Go(Place::Round));
    touch(&mut ines, &mut desk, "i-am-here");
    assert!(ines.disk.lines.len() > before, "the damaged bytes stay, new ones come");
    touch(&mut ines, &mut desk, "ask");
}

#[test]
fn notes_that_cannot_be_read_count_as_absent() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    for name in [phone::stored::Name::Draft, phone::stored::Name::Choices] {
        ines.spoil(name);
    }
    ines.start(&mut desk);
    ines.settle(&mut desk);
    assert_eq!(ines.view().name, "round", "{}", said(&ines.view()));
    touch(&mut ines, &mut desk, "i-am-here");
    ines.settle(&mut desk);
    assert_eq!(sent(&ines.view()), "All sent");
}

#[test]
fn an_old_tag_of_a_stop_that_is_gone_is_no_stop() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    for foreign in ["rattlewatch:stop/floor-99", "", "WIFI:S:guest;;", "\u{202e}7-roolf"] {
        ines.happen(&mut desk, What::Scanned(foreign.to_owned()));
        assert!(said(&ines.view()).contains("belongs to no stop of this site"), "{foreign:?}");
    }
    assert!(said(&ines.view()).contains("Stop 1 of 4"));
}

#[test]
fn a_server_of_another_version_is_told_apart_from_one_that_lies() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    desk.speaks = 2;
    touch(&mut ines, &mut desk, "i-am-here");
    ines.settle(&mut desk);
    ines.tap(&mut desk, Tap::Open(Page::Waiting));
    let says = said(&ines.view());
    assert!(says.contains("The server is newer than this phone"), "{says}");
    desk.speaks = 1;
    ines.settle(&mut desk);
    assert_eq!(sent(&ines.view()), "All sent", "nothing was lost meanwhile");
}

#[test]
fn a_reply_cut_off_in_the_middle_changes_nothing() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.radio = Radio::CutsAnswers;
    touch(&mut ines, &mut desk, "i-am-here");
    ines.settle(&mut desk);
    assert_ne!(sent(&ines.view()), "All sent");
    ines.radio = Radio::On;
    ines.settle(&mut desk);
    assert_eq!(sent(&ines.view()), "All sent");
    let seen = desk.kept.iter().filter(|kept| kept.line.kind == "seen");
    assert_eq!(seen.count(), 1);
}

#[test]
fn eight_hours_of_backlog_with_two_hundred_photos() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.radio = Radio::Off;
    for n in 0..200_u32 {
        ines.wait_s(&mut desk, 144);
        ines.tap(&mut desk, Tap::Go(Place::Round));
        ines.tap(&mut desk, Tap::IAmHere);
        ines.photo(&mut desk, &n.to_be_bytes(), Purpose::Photo);
    }
    let long = controls(&ines.view()).into_iter().find(|control| control.id == "waiting");
    assert!(long.is_some_and(|control| control.second.is_some()), "two hours on this phone alone");
    assert!(sent(&ines.view()).contains("waiting"));
    let lines = ines.disk.lines.len();
    assert!(lines > 400, "{lines}");
    ines.radio = Radio::On;
    ines.settle(&mut desk);
    assert_eq!(sent(&ines.view()), "All sent");
    for n in 0..200_u32 {
        let blob = ledger::Digest::of(&n.to_be_bytes());
        assert!(desk.blobs.contains_key(&blob), "photo {n}");
    }
    assert_eq!(desk.aside, []);
}
