//! The desk gives another round while the guard walks.

use crate::desk::Desk;
use crate::{EIGHT_MS, enrolled, said, touch};
use phone::{Page, Tap};
use record::{RouteSet, StopId};

fn round(stops: &[&str]) -> RouteSet {
    let stops = stops.iter().map(|stop| StopId::new(*stop).unwrap()).collect();
    RouteSet { route: None, stops, legs_s: Vec::new(), guard: None }
}

#[test]
fn a_new_round_is_said_until_somebody_walks_it_and_its_order_leads() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    ines.wait_s(&mut desk, 60);
    assert!(!said(&ines.view()).contains("New round from the desk"));
    desk.state(ines.wall_ms, round(&["stair-b", "floor-7", "stair-b"]).into());
    ines.wait_s(&mut desk, 120);
    let view = said(&ines.view());
    assert!(view.contains("New round from the desk"), "{view}");
    assert!(view.contains("It begins at Stair B") && view.contains("Stop 1 of 3"), "{view}");

    touch(&mut ines, &mut desk, "i-am-here");
    let view = said(&ines.view());
    assert!(!view.contains("New round from the desk") && view.contains("Stop 2 of 3"), "{view}");
    // The stair comes twice: it is offered once, and seen once more at the end.
    ines.tap(&mut desk, Tap::Open(Page::OtherStop));
    assert_eq!(format!("{:?}", ines.view()).matches("\"stop-stair-b\"").count(), 1);
    ines.tap(&mut desk, Tap::Go(phone::Place::Round));
    ines.wait_s(&mut desk, 60);
    touch(&mut ines, &mut desk, "i-am-here");
    ines.wait_s(&mut desk, 60);
    let view = said(&ines.view());
    assert!(view.contains("Stop 3 of 3") && view.contains("Stair B"), "{view}");
    touch(&mut ines, &mut desk, "i-am-here");
    assert!(said(&ines.view()).contains("Round 1 done"), "{}", said(&ines.view()));
}
