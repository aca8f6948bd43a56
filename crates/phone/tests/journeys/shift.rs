//! What else a shift holds: the relief aloud, breaks, other duty, the call path, corrections, reasons,
//! practice, signs of life, forgetting.

use crate::desk::Desk;
use crate::handset::Handset;
use crate::{EIGHT_MS, controls, enrolled, said, touch};
use phone::{Page, Place, Tap};
use record::{DrillStage, Entry, ReleasedBy, WatchReleased};

fn on_duty(desk: &mut Desk) -> Handset {
    let mut ines = enrolled(desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, desk, "i-am-here");
    ines.settle(desk);
    ines
}

fn has(phone: &Handset, id: &str) -> bool {
    controls(&phone.view()).iter().any(|control| control.id == id)
}

#[test]
fn breaks_other_duty_and_the_call_path_are_entries() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.tap(&mut desk, Tap::Go(Place::Shift));
    touch(&mut ines, &mut desk, "break-begins");
    ines.wait_s(&mut desk, 600);
    touch(&mut ines, &mut desk, "break-ends");
    touch(&mut ines, &mut desk, "duty-begins");
    ines.wait_s(&mut desk, 300);
    touch(&mut ines, &mut desk, "duty-ends");
    touch(&mut ines, &mut desk, "equipment");
    assert!(said(&ines.view()).contains("Ines, 25 November 2026"), "{}", said(&ines.view()));
    touch(&mut ines, &mut desk, "call-floor-5");
    touch(&mut ines, &mut desk, "no-call-stair-b");
    assert!(!has(&ines, "call-floor-5"), "tried once");
    ines.settle(&mut desk);
    let state = desk.state_of_watch(ines.wall_ms);
    let shift = &state.shifts[0];
    assert!(shift.breaks[0].until_ms.is_some());
    assert_eq!(shift.other_duties.len(), 1);
    assert_eq!(shift.call_tried.len(), 2);
}

#[test]
fn a_line_is_corrected_by_a_new_one_and_a_late_look_explained() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    for after_s in [60, 60, 60] {
        ines.wait_s(&mut desk, after_s);
        touch(&mut ines, &mut desk, "i-am-here");
    }
    ines.wait_s(&mut desk, 20 * 60);
    touch(&mut ines, &mut desk, "i-am-here");
    assert_eq!(ines.view().name, "round-done");
    touch(&mut ines, &mut desk, "explain");
    touch(&mut ines, &mut desk, "late-1");
    assert!(!has(&ines, "explain"), "asked once");

    ines.tap(&mut desk, Tap::Go(Place::Write));
    let view = ines.view();
    let lines = view.blocks.iter().find_map(|block| match block {
        phone::view::Block::Lines(lines) => Some(lines.clone()),
        _ => None,
    });
    let seen = lines.unwrap().into_iter().find(|line| line.what.contains("Stair B seen"));
    let open = seen.unwrap().open.expect("an own line leads to its correction");
    ines.tap(&mut desk, open.tap);
    touch(&mut ines, &mut desk, "earlier-5");
    ines.settle(&mut desk);
    let state = desk.state_of_watch(ines.wall_ms);
    assert_eq!(state.corrections.len(), 1);
    assert!(desk.kept.iter().any(|kept| kept.line.kind == "note" && kept.private.is_some()));
    assert!(state.notes.iter().any(|note| note.of.is_some()));
}

#[test]
fn the_relief_is_read_aloud_and_a_structure_entered_is_a_line() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.tap(&mut desk, Tap::Go(Place::Write));
    touch(&mut ines, &mut desk, "structures");
    touch(&mut ines, &mut desk, "entered-floor-6");
    ines.tap(&mut desk, Tap::Open(Page::Relief));
    let aloud = format!("{:?}", ines.view());
    assert!(aloud.contains("Out tonight: alarm out"), "{aloud}");
    ines.settle(&mut desk);
    assert_eq!(desk.state_of_watch(ines.wall_ms).structures.len(), 1);
}

#[test]
fn a_practice_says_drill_on_its_lines_and_dials_nobody() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.tap(&mut desk, Tap::Open(Page::Settings));
    touch(&mut ines, &mut desk, "drill-begin");
    ines.tap(&mut desk, Tap::Go(Place::Round));
    let view = ines.view();
    assert_eq!(view.top.unwrap().band.as_deref(), Some("DRILL. Do not call."));
    assert!(said(&ines.view()).contains("Practice, 5 min left"), "{}", said(&ines.view()));
    touch(&mut ines, &mut desk, "i-am-here");
    ines.tap(&mut desk, Tap::Go(Place::Write));
    let lines = format!("{:?}", ines.view());
    assert!(lines.contains("DRILL. Floor 5 seen"), "{lines}");
    ines.tap(&mut desk, Tap::Go(Place::Round));
    assert!(ines.card.as_ref().unwrap().drill);
    ines.wait_s(&mut desk, 310);
    assert!(said(&ines.view()).contains("five minutes are over"), "{}", said(&ines.view()));
    touch(&mut ines, &mut desk, "drill-real");
    assert!(!ines.card.as_ref().unwrap().drill, "in earnest in one touch");
    ines.settle(&mut desk);
    let stages: Vec<DrillStage> = desk
        .kept
        .iter()
        .filter_map(|kept| match Entry::of(&kept.line) {
            Ok(Entry::Drill(drill)) => Some(drill.stage),
            _ => None,
        })
        .collect();
    assert_eq!(stages, [DrillStage::Began, DrillStage::Real]);
}

#[test]
fn signs_of_life_are_written_while_the_network_works() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.happen(&mut desk, phone::What::Battery(77));
    for _ in 0..60 {
        ines.wait_s(&mut desk, 60);
    }
    let beats = |desk: &Desk| desk.kept.iter().filter(|k| k.line.kind == "heartbeat").count();
    assert!((3..=4).contains(&beats(&desk)), "{}", beats(&desk));
    let beat = desk.kept.iter().rfind(|kept| kept.line.kind == "heartbeat").unwrap();
    assert_eq!(beat.line.body["battery"], 77);
    let before = beats(&desk);
    ines.radio = crate::handset::Radio::Off;
    for _ in 0..60 {
        ines.wait_s(&mut desk, 60);
    }
    ines.radio = crate::handset::Radio::On;
    ines.settle(&mut desk);
    assert!(beats(&desk) <= before + 2, "none is written for later");
}

#[test]
fn a_released_watch_is_forgotten_after_thirty_days_and_never_before_a_later_head() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.tap(&mut desk, Tap::Open(Page::End));
    touch(&mut ines, &mut desk, "end-clear");
    ines.settle(&mut desk);
    let (by, at_ms) = (ReleasedBy::Authority, ines.wall_ms);
    desk.state(at_ms, WatchReleased { by, at_ms, written: true, blob: None }.into());
    ines.settle(&mut desk);
    let held = ines.disk.lines.len();
    assert!(held > 5);
    ines.wait_s(&mut desk, 29 * 86_400);
    assert_eq!(ines.disk.lines.len(), held, "a month is not over");
    ines.wait_s(&mut desk, 2 * 86_400);
    assert!(ines.disk.lines.len() < 3, "{} of {held} lines stay", ines.disk.lines.len());
    assert!(!ines.disk_tips().is_empty(), "where the chains end is never forgotten");
    ines.settle(&mut desk);
    assert!(said(&ines.view()).contains("No watch is open for you"), "{}", said(&ines.view()));
}
