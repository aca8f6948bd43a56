//! Everything that goes wrong, and that nothing said is lost or stored twice.

use crate::desk::Desk;
use crate::handset::{Handset, Radio};
use crate::{EIGHT_MS, enrolled, said, sent, touch};
use phone::{Event, Moment, Tap, What, update};

fn on_duty(desk: &mut Desk) -> Handset {
    let mut ines = enrolled(desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, desk, "i-am-here");
    ines.settle(desk);
    ines
}

/// Every line of a phone that the desk has, in its order, without a hole and each once.
fn whole_chain(desk: &Desk, phone: &Handset) -> u64 {
    let device = phone.disk.device.as_ref().unwrap().key.device();
    let chain = desk.kept.iter().filter(|kept| kept.line.dev == device);
    let numbers: Vec<u64> =
        chain.filter(|kept| kept.line.watch == desk.watch).map(|kept| kept.line.seq).collect();
    let expected: Vec<u64> = (0..numbers.len() as u64).collect();
    assert_eq!(numbers, expected);
    assert_eq!(desk.aside, []);
    numbers.len() as u64
}

#[test]
fn an_answer_that_is_lost_after_the_server_kept_everything() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.radio = Radio::DropsAnswers;
    touch(&mut ines, &mut desk, "i-am-here");
    ines.settle(&mut desk);
    assert_eq!(sent(&ines.view()), "2 waiting", "no receipt, so not sent");
    ines.radio = Radio::On;
    ines.settle(&mut desk);
    assert_eq!(sent(&ines.view()), "All sent");
    assert_eq!(whole_chain(&desk, &ines), 3);
}

#[test]
fn every_answer_comes_twice() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.radio = Radio::Twice;
    for _ in 0..4 {
        ines.wait_s(&mut desk, 60);
        touch(&mut ines, &mut desk, "i-am-here");
    }
    ines.settle(&mut desk);
    assert_eq!(sent(&ines.view()), "All sent");
    assert_eq!(whole_chain(&desk, &ines), 6);
}

/// Two tabs with one disk: the later one finds the chain's end moved, reads again, and says its own
/// on top. Nothing is lost, no place is taken twice.
#[test]
fn two_tabs_on_one_chain() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.radio = Radio::Off;
    let mut other = Handset::new(9, ines.wall_ms);
    other.disk = ines.disk.clone();
    other.radio = Radio::Off;
    other.start(&mut desk);
    touch(&mut ines, &mut desk, "i-am-here");
    other.disk = ines.disk.clone();
    touch(&mut other, &mut desk, "i-am-here");
    other.wait_s(&mut desk, 1);
    ines.disk = other.disk.clone();
    ines.radio = Radio::On;
    ines.start(&mut desk);
    ines.settle(&mut desk);
    assert_eq!(sent(&ines.view()), "All sent");
    // Both tabs began the round, since neither knew of the other: four lines after the shift's.
    assert_eq!(whole_chain(&desk, &ines), 5);
}

#[test]
fn a_full_disk_is_said_and_nothing_is_shown_as_saved() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.disk.full = true;
    touch(&mut ines, &mut desk, "i-am-here");
    assert!(said(&ines.view()).contains("No space left on this phone"), "{}", said(&ines.view()));
    assert_eq!(sent(&ines.view()), "Saving");
    ines.wait_s(&mut desk, 60);
    assert!(said(&ines.view()).contains("Stop 1 of 4"), "not seen before it is kept");
    ines.disk.full = false;
    ines.wait_s(&mut desk, 10);
    ines.settle(&mut desk);
    assert_eq!(sent(&ines.view()), "All sent");
    assert_eq!(whole_chain(&desk, &ines), 3);
    assert!(said(&ines.view()).contains("Stop 2 of 4"));
}

/// The battery dies after every single step between a touch and the receipt. What the screen had
/// called seen is there afterwards, and the chain goes on without a hole.
#[test]
fn the_battery_dies_between_any_two_steps() {
    let mut died = 0;
    for dies_at in 0..60 {
        let mut desk = Desk::open(EIGHT_MS, false);
        let mut ines = on_duty(&mut desk);
        ines.steps = 0;
        ines.dies_at = Some(dies_at);
        touch(&mut ines, &mut desk, "i-am-here");
        ines.wait_s(&mut desk, 11);
        if !ines.dead {
            break;
        }
        died += 1;
        let shown = said(&ines.view()).contains("Stop 2 of 4");
        ines.start(&mut desk);
        ines.settle(&mut desk);
        let kept = said(&ines.view()).contains("Stop 2 of 4");
        assert!(kept || !shown, "shown as seen and lost, died at {dies_at}");
        if !kept {
            touch(&mut ines, &mut desk, "i-am-here");
            ines.settle(&mut desk);
        }
        assert_eq!(sent(&ines.view()), "All sent");
        let count = whole_chain(&desk, &ines);
        assert_eq!(count, 3, "died at {dies_at}");
    }
    assert!(died >= 5, "{died}");
}

#[test]
fn a_clock_set_back_and_a_restart_without_network_take_no_watch_away() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.radio = Radio::Off;
    ines.clock_off_ms = -11 * 3_600_000;
    ines.wait_s(&mut desk, 1);
    touch(&mut ines, &mut desk, "i-am-here");
    ines.start(&mut desk);
    ines.wait_s(&mut desk, 1);
    assert_eq!(ines.view().name, "round", "{:?}", ines.view());
    touch(&mut ines, &mut desk, "i-am-here");
}

#[test]
fn a_clock_that_was_moved_is_stated_and_said() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.clock_off_ms = -3 * 3_600_000;
    ines.wait_s(&mut desk, 1);
    assert!(said(&ines.view()).contains("clock moved by 180 minutes"), "{}", said(&ines.view()));
    touch(&mut ines, &mut desk, "i-am-here");
    ines.settle(&mut desk);
    assert_eq!(sent(&ines.view()), "All sent", "three hours are forgiven");
    let stated = desk.kept.iter().find(|kept| kept.line.kind == "clock").unwrap();
    assert_eq!(stated.line.body["wall_step_ms"], -3 * 3_600_000);
    touch(&mut ines, &mut desk, "i-am-here");
    let newest = ines.disk.lines.values().max_by_key(|line| line.line.clone()).is_some();
    assert!(newest);
    ines.settle(&mut desk);
    let seen = desk.kept.iter().rfind(|kept| kept.line.kind == "seen").unwrap();
    let off_ms = (seen.line.clk.recorded_ms() - ines.wall_ms).abs();
    assert!(off_ms < 600_000, "measured anew: {off_ms}");
}

/// A server that answers with a log that was cut is not believed; what waits goes on waiting.
#[test]
fn a_log_that_was_cut_is_not_believed() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    let mut cut = Desk::open(EIGHT_MS - 5, false);
    cut.devices = std::mem::take(&mut desk.devices);
    touch(&mut ines, &mut cut, "i-am-here");
    ines.settle(&mut cut);
    assert_ne!(sent(&ines.view()), "All sent");
    ines.tap(&mut cut, Tap::Open(phone::Page::Waiting));
    assert!(said(&ines.view()).contains("did not prove itself"), "{}", said(&ines.view()));
}

#[test]
fn a_phone_the_desk_no_longer_knows_goes_on_keeping() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    desk.devices.clear();
    touch(&mut ines, &mut desk, "i-am-here");
    ines.settle(&mut desk);
    assert!(said(&ines.view()).contains("Stop 2 of 4"));
    ines.tap(&mut desk, Tap::Open(phone::Page::Waiting));
    assert!(said(&ines.view()).contains("no longer knows this phone"), "{}", said(&ines.view()));
}

#[test]
fn storage_that_does_not_open_is_said_plainly() {
    let mut model = phone::Model::new("test", "b", phone::Lang::En);
    let at =
        Moment { wall_ms: EIGHT_MS, mono_ms: 0, tz_min: 0, site_tz_min: None, random: [0; 16] };
    let what = What::LoadFailed { says: "InvalidStateError".to_owned() };
    assert_eq!(update(Event { at, what }, &mut model), []);
    assert!(said(&phone::view(&model)).contains("cannot keep anything"));
}

#[test]
fn what_was_said_in_one_touch_is_kept_together_or_not_at_all() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.radio = Radio::Off;
    ines.asked.clear();
    let before = ines.disk.lines.len();
    // The round begins and its first stop is seen.
    touch(&mut ines, &mut desk, "i-am-here");
    assert_eq!((ines.asked["signatures"], ines.asked["transactions"]), (2, 1));
    assert_eq!(ines.disk.lines.len(), before + 2);

    (0..3).for_each(|_| touch(&mut ines, &mut desk, "i-am-here"));
    touch(&mut ines, &mut desk, "all-clear");
    let before = ines.disk.lines.len();
    ines.disk.full = true;
    touch(&mut ines, &mut desk, "i-am-here");
    assert_eq!(ines.disk.lines.len(), before);
    assert_eq!(sent(&ines.view()), "Saving");
    ines.disk.full = false;
    ines.wait_s(&mut desk, 6);
    assert_eq!(ines.disk.lines.len(), before + 2);
    ines.radio = Radio::On;
    ines.settle(&mut desk);
    assert_eq!(whole_chain(&desk, &ines), 9);
}

#[test]
fn without_a_network_a_few_lines_are_tried_and_the_first_that_get_through_bring_the_rest() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.radio = Radio::Off;
    for _ in 0..12 {
        for id in ["i-am-here", "i-am-here", "i-am-here", "i-am-here", "all-clear"] {
            ines.wait_s(&mut desk, 30);
            touch(&mut ines, &mut desk, id);
        }
    }
    assert_eq!(sent(&ines.view()), "73 waiting", "and one sign of life");
    ines.brought.clear();
    ines.wait_s(&mut desk, 61);
    assert_eq!(ines.brought, [8]);
    ines.radio = Radio::On;
    ines.brought.clear();
    ines.wait_s(&mut desk, 61);
    assert_eq!(ines.brought[..2], [8, 65], "at once, not with the next news");
    ines.settle(&mut desk);
    assert_eq!(sent(&ines.view()), "All sent");
    assert_eq!(whole_chain(&desk, &ines), 73);
}
