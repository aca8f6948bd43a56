//! A phone that cannot send shows its lines as codes; another phone reads them and takes them along.

use crate::desk::Desk;
use crate::handset::{Handset, Radio};
use crate::{EIGHT_MS, controls, enrolled, said, sent, touch};
use phone::view::Block;
use phone::{CarryTap, Field, Page, Tap, What};
use std::collections::BTreeSet;

/// Ines walked half a round without network; Jon stands beside her, on duty nowhere yet.
fn two(desk: &mut Desk) -> (Handset, Handset) {
    let mut ines = enrolled(desk, 1, "p-ines", "Ines", "t-1");
    let jon = enrolled(desk, 2, "p-jon", "Jon", "t-2");
    ines.radio = Radio::Off;
    touch(&mut ines, desk, "i-am-here");
    for _ in 0..3 {
        ines.wait_s(desk, 60);
        touch(&mut ines, desk, "i-am-here");
    }
    ines.wait_s(desk, 20);
    (ines, jon)
}

/// All codes in the order in which the screen shows them.
fn codes(phone: &mut Handset, desk: &mut Desk) -> Vec<String> {
    phone.tap(desk, Tap::Open(Page::Waiting));
    touch(phone, desk, "waiting-codes");
    let mut codes = Vec::new();
    loop {
        let view = phone.view();
        let code = view.blocks.iter().find_map(|block| match block {
            Block::Code { text, .. } => Some(text.clone()),
            _ => None,
        });
        let code = code.expect("a code is on the screen");
        if codes.first() == Some(&code) {
            return codes;
        }
        codes.push(code);
        touch(phone, desk, "pieces-next");
    }
}

fn reads(phone: &mut Handset, desk: &mut Desk, codes: &[String]) {
    phone.tap(desk, Tap::Open(Page::Gather));
    codes.iter().for_each(|code| phone.happen(desk, What::Scanned(code.clone())));
}

fn of_ines(desk: &Desk, ines: &Handset) -> Vec<u64> {
    let device = ines.disk.device.as_ref().unwrap().key.device();
    let own = desk.kept.iter().filter(|kept| kept.line.dev == device);
    own.filter(|kept| kept.line.watch == desk.watch).map(|kept| kept.line.seq).collect()
}

#[test]
fn what_a_dying_phone_shows_reaches_the_desk_by_another() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let (mut ines, mut jon) = two(&mut desk);
    ines.tap(&mut desk, Tap::Typed(Field::Note, "Hoist locked".to_owned()));
    ines.tap(&mut desk, Tap::KeepNote);
    ines.wait_s(&mut desk, 1);
    let mut shown = codes(&mut ines, &mut desk);
    shown.reverse();
    jon.radio = Radio::Off;
    reads(&mut jon, &mut desk, &shown);
    assert!(
        said(&jon.view()).contains("6 lines from the phone of Ines are kept here"),
        "{}",
        said(&jon.view())
    );
    assert_eq!(sent(&jon.view()), "6 waiting");
    // Kept means on the disk: the battery dies, the phone starts again, without network still.
    jon.start(&mut desk);
    assert_eq!(sent(&jon.view()), "6 waiting");
    jon.radio = Radio::On;
    jon.settle(&mut desk);
    assert_eq!(sent(&jon.view()), "All sent");
    assert_eq!(of_ines(&desk, &ines), [0, 1, 2, 3, 4, 5]);
    assert!(desk.kept.iter().any(|kept| kept.private.is_some() && kept.line.kind == "note"));
    let state = desk.state_of_watch(ines.wall_ms);
    let looks: usize = state.zones.iter().map(|zone| zone.looks.len()).sum();
    assert_eq!(looks, 3, "they count as if Ines's phone had sent them");
    // Charged again it hears that all of it is there already.
    ines.radio = Radio::On;
    ines.settle(&mut desk);
    assert_eq!(sent(&ines.view()), "All sent");
    assert_eq!((of_ines(&desk, &ines).len(), desk.aside.len()), (6, 0));
}

#[test]
fn codes_turn_by_themselves_until_they_are_held() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let (mut ines, mut jon) = two(&mut desk);
    for _ in 0..40 {
        ines.wait_s(&mut desk, 30);
        let next = controls(&ines.view());
        let next = next.iter().find(|c| c.id == "all-clear" || c.id == "i-am-here");
        let tap = next.expect("the round goes on").tap.clone();
        ines.tap(&mut desk, tap);
    }
    let shown = codes(&mut ines, &mut desk);
    assert!(shown.len() > 10, "{}", shown.len());
    let code_of = |ines: &Handset| said(&ines.view());
    let before = code_of(&ines);
    ines.wait_s(&mut desk, 1);
    assert_ne!(code_of(&ines), before);
    touch(&mut ines, &mut desk, "pieces-hold");
    let held = code_of(&ines);
    ines.wait_s(&mut desk, 5);
    assert_eq!(code_of(&ines), held);
    // More than one set: each is kept as soon as it is whole, though the last code never comes.
    reads(&mut jon, &mut desk, &shown[..shown.len() - 1]);
    assert!(said(&jon.view()).contains("Missing:"), "{}", said(&jon.view()));
    jon.settle(&mut desk);
    let numbers = of_ines(&desk, &ines);
    assert_eq!(numbers, (0..numbers.len() as u64).collect::<Vec<_>>());
    assert!(numbers.len() >= 40, "{}", numbers.len());
}

#[test]
fn other_codes_on_that_screen_confirm_no_stop_and_say_what_they_are() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let (mut ines, mut jon) = two(&mut desk);
    let shown = codes(&mut ines, &mut desk);
    let mut says = BTreeSet::new();
    let damaged = shown[0].replace("RWP1/", "RWP1/0");
    for code in ["floor-5", "RWP9/something", damaged.as_str()] {
        reads(&mut jon, &mut desk, &[code.to_owned()]);
        says.insert(said(&jon.view()));
    }
    assert_eq!(says.len(), 3, "{says:?}");
    assert_eq!(sent(&jon.view()), "All sent");
    // Its own codes, and the same set again.
    reads(&mut ines, &mut desk, &shown);
    assert!(said(&ines.view()).contains("this phone's own lines"), "{}", said(&ines.view()));
    reads(&mut jon, &mut desk, &shown);
    jon.settle(&mut desk);
    jon.start(&mut desk);
    reads(&mut jon, &mut desk, &shown);
    assert!(said(&jon.view()).contains("here already"), "{}", said(&jon.view()));
}

#[test]
fn lines_of_another_watch_or_with_another_key_are_not_taken_along() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let (mut ines, mut jon) = two(&mut desk);
    let shown = codes(&mut ines, &mut desk);
    let mut elsewhere = Desk::open_as("w-mill", EIGHT_MS, false);
    let mut stranger = enrolled(&mut elsewhere, 3, "p-jon", "Jon", "t-3");
    reads(&mut stranger, &mut elsewhere, &shown);
    assert!(said(&stranger.view()).contains("no part"), "{}", said(&stranger.view()));
    // Signed by another key than the one that the set names.
    let lines: Vec<phone::sync::SentLine> = ines
        .disk
        .lines
        .values()
        .filter(|line| line.receipt.is_none() && line.leaf.is_none())
        .map(|line| phone::sync::SentLine::of(&line.signed(), None))
        .collect();
    assert!(lines.len() >= 5);
    let forged = phone::cut(ledger::DeviceKey::from_seed([9; 32]).public(), &lines);
    reads(&mut jon, &mut desk, &forged);
    assert!(said(&jon.view()).contains("do not verify"), "{}", said(&jon.view()));
    assert_eq!(sent(&jon.view()), "All sent");
}

/// A device that no desk ever let in: its lines verify, are carried, and count for nothing here.
#[test]
fn a_strangers_lines_count_only_when_the_server_has_taken_them_in() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let (mut ines, _) = two(&mut desk);
    let device = ines.disk.device.as_ref().unwrap().key.device();
    let known = desk.devices.remove(&device).unwrap();
    let mut new = enrolled(&mut desk, 4, "p-jon", "Jon", "t-4");
    new.radio = Radio::Off;
    let shown = codes(&mut ines, &mut desk);
    reads(&mut new, &mut desk, &shown);
    assert_eq!(sent(&new.view()), "5 waiting");
    new.tap(&mut desk, Tap::Go(phone::Place::Write));
    assert!(!format!("{:?}", new.view()).contains("Shift began"), "{:?}", new.view());
    desk.devices.insert(device, known);
    new.radio = Radio::On;
    new.settle(&mut desk);
    assert_eq!(sent(&new.view()), "All sent");
    assert!(format!("{:?}", new.view()).contains("Floor 7 seen"), "{:?}", new.view());
}

#[test]
fn a_full_disk_keeps_the_set_whole_until_there_is_room() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let (mut ines, mut jon) = two(&mut desk);
    let shown = codes(&mut ines, &mut desk);
    jon.disk.full = true;
    reads(&mut jon, &mut desk, &shown);
    assert!(said(&jon.view()).contains("could not be kept here"), "{}", said(&jon.view()));
    jon.disk.full = false;
    reads(&mut jon, &mut desk, &shown[..1]);
    assert!(said(&jon.view()).contains("5 lines from the phone of Ines"), "{}", said(&jon.view()));
    jon.settle(&mut desk);
    assert_eq!(of_ines(&desk, &ines).len(), 5);
}

#[test]
fn without_anything_waiting_there_is_nothing_to_show() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    ines.tap(&mut desk, Tap::Open(Page::Waiting));
    assert!(!controls(&ines.view()).iter().any(|control| control.id == "waiting-codes"));
    ines.tap(&mut desk, Tap::Carry(CarryTap::Show));
    assert!(said(&ines.view()).contains("Nothing waits here"), "{}", said(&ines.view()));
}
