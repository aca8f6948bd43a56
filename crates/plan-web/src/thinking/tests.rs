use super::*;
use floorplan::{Leaf, LinkId, Opening, OpeningId};

/// The values of `standards/site/walking` at the time of writing; the tests below would hold with others.
const MEASURES: Measures = Measures {
    level_mm_s: 1190,
    stair_mm_s: 800,
    slope_permille: 2000,
    door_s: 3,
    key_s: 10,
    lift_s: 60,
    inspect_s: 30,
    look_s: 5,
    sight_mm: 12_000,
    share_permille: 850,
};

fn hotel() -> Plan {
    let text = include_str!("../../../../fixtures/plans/gannet-hotel.plan.json");
    Plan::read(text.as_bytes()).expect("a plan of ours")
}

#[test]
fn more_steps_never_need_more_guards_and_equal_steps_say_the_same() {
    let plan = hotel();
    let guards = |pass| match think(&plan, &MEASURES, pass).verdict {
        Verdict::Kept { guards, .. } => guards,
        other => panic!("it can be kept: {other:?}"),
    };
    let (first, later) = (guards(0), guards(2));
    assert!(later <= first, "{first} {later}");
    assert_eq!(think(&plan, &MEASURES, 1), think(&plan, &MEASURES, 1));
}

#[test]
fn a_shorter_gap_needs_more_guards() {
    let mut plan = hotel();
    let guards = |plan: &Plan| match think(plan, &MEASURES, 1).verdict {
        Verdict::Kept { guards, .. } => guards,
        other => panic!("it can be kept: {other:?}"),
    };
    let before = guards(&plan);
    plan.zones.iter_mut().for_each(|zone| zone.gap_s = zone.gap_s.min(300));
    assert!(guards(&plan) > before);
}

#[test]
fn rounds_are_drawn_on_every_level_that_has_stops() {
    let plan = hotel();
    let thought = think(&plan, &MEASURES, 1);
    for level in &plan.levels {
        let stops = plan.stops.iter().filter(|stop| stop.level.as_ref() == Some(&level.id)).count();
        let drawn = thought.rounds.iter().flat_map(|round| &round.stops);
        let drawn = drawn.filter(|(on, ..)| *on == level.id).count();
        assert!(drawn >= stops, "{}: {drawn} of {stops}", level.name);
    }
    let seen = thought.seen.expect("a plan with floor");
    assert!(seen.permille > 0 && seen.permille <= 1000);
}

#[test]
fn a_room_without_a_door_is_named_and_so_is_its_stop() {
    let mut model =
        crate::Model::new(crate::Drawing::empty("Gannet Quay", "Ground"), words::Lang::En);
    let room = crate::Tool::Room(floorplan::RoomKind::Room);
    crate::update(crate::Event::Take(room), &mut model);
    for (from, to) in [((0, 0), (6000, 4000)), ((6000, 0), (9000, 4000))] {
        crate::update(crate::Event::Down(Point::new(from.0, from.1), 20.0), &mut model);
        crate::update(crate::Event::Move(Point::new(to.0, to.1), 20.0), &mut model);
        crate::update(crate::Event::Up(Point::new(to.0, to.1), 20.0), &mut model);
    }
    crate::update(crate::Event::Edit(crate::Edit::StopEach), &mut model);
    let mut plan = model.drawing.plan;
    assert!(think(&plan, &MEASURES, 1).no_exit);
    let out = |id: &str, x: [i64; 2], y: i64, exit| Opening {
        id: OpeningId::from_name(id),
        name: String::new(),
        level: plan.levels[0].id.clone(),
        leaf: Leaf::Door,
        line: [Point::new(x[0], y), Point::new(x[1], y)],
        exit,
    };
    let exit = out("out", [1000, 1900], 0, true);
    plan.openings.push(exit);
    let thought = think(&plan, &MEASURES, 1);
    let lost: Vec<(&str, &str)> =
        thought.lost.iter().map(|(id, what)| (id.as_str(), what.as_str())).collect();
    assert_eq!(lost, [("ground-room-2", "door")]);
    assert_eq!(thought.cut, ["Room 2, Ground"]);
    assert!(matches!(thought.verdict, Verdict::Kept { guards: 1, .. }), "the rest goes on");
}

#[test]
fn a_broken_border_is_named_and_nothing_else_is_said() {
    let mut plan = hotel();
    plan.rooms[0].shape = floorplan::Shape::ring(&[(0, 0), (4000, 4000), (4000, 0), (0, 3000)]);
    let thought = think(&plan, &MEASURES, 1);
    assert!(thought.faults.iter().any(|(code, _)| code == "crossing-shape"));
    assert_eq!(thought.verdict, Verdict::Nothing);
}

#[test]
fn a_stair_that_hangs_loose_is_named() {
    let mut plan = hotel();
    plan.links[0].feet[0].at = Point::new(-900_000, -900_000);
    let id: LinkId = plan.links[0].id.clone();
    let thought = think(&plan, &MEASURES, 1);
    assert!(thought.loose_links.contains(&id.to_string()), "{:?}", thought.loose_links);
}

/// Through JSON, as it goes between the page and its worker.
#[test]
fn what_was_found_out_goes_through_the_worker_unchanged() {
    let thought = think(&hotel(), &MEASURES, 1);
    let text = serde_json::to_string(&thought).expect("plain values");
    assert_eq!(serde_json::from_str::<Thought>(&text).expect("its own text"), thought);
}
