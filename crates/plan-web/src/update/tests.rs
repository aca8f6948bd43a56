use super::*;
use crate::{Drawing, Edit, Underlay};
use floorplan::{EquipmentKind, Leaf, LinkKind, MarkKind, RoomKind, ZoneId};
use words::Lang;

/// The screen as it is zoomed in these tests: a pixel is 20 mm, so that 11 pixels reach 220 mm.
const PX: f64 = 20.0;

fn desk() -> Model {
    Model::new(Drawing::empty("Gannet Quay", "Ground"), Lang::En)
}

fn press(model: &mut Model, x: i64, y: i64) {
    update(Event::Down(Point::new(x, y), PX), model);
    update(Event::Up(Point::new(x, y), PX), model);
}

fn drag(model: &mut Model, from: (i64, i64), to: (i64, i64)) {
    update(Event::Down(Point::new(from.0, from.1), PX), model);
    let middle = Point::new((from.0 + to.0) / 2, (from.1 + to.1) / 2);
    update(Event::Move(middle, PX), model);
    update(Event::Move(Point::new(to.0, to.1), PX), model);
    update(Event::Up(Point::new(to.0, to.1), PX), model);
}

/// A hall of 8 m by 5 m, and a store of 4 m by 5 m on its right.
fn two_rooms() -> Model {
    let mut model = desk();
    update(Event::Take(Tool::Room(RoomKind::Room)), &mut model);
    drag(&mut model, (30, 20), (8030, 5040));
    drag(&mut model, (8090, 60), (12_010, 4960));
    model
}

fn ring(model: &Model, room: usize) -> Vec<(i64, i64)> {
    model.drawing.plan.rooms[room].shape.rings[0].iter().map(|p| (p.x, p.y)).collect()
}

#[test]
fn a_rectangle_is_dragged_and_the_next_one_joins_it() {
    let model = two_rooms();
    assert_eq!(ring(&model, 0), [(0, 0), (8000, 0), (8000, 5000), (0, 5000)]);
    assert_eq!(ring(&model, 1), [(8000, 0), (12_000, 0), (12_000, 5000), (8000, 5000)]);
    assert_eq!(model.drawing.plan.rooms[1].zone, Some(ZoneId::from_name("ground")));
    assert_eq!(model.said, Some(Said::Closed("Room 2".to_owned())));
}

#[test]
fn a_room_is_drawn_corner_by_corner_and_closed_on_the_first() {
    let mut model = desk();
    update(Event::Take(Tool::Room(RoomKind::Corridor)), &mut model);
    for (x, y) in [(0, 0), (6000, 90), (6010, 2000), (2000, 2050), (2040, 5000), (60, 4990)] {
        press(&mut model, x, y);
    }
    assert!(model.drawing.plan.rooms.is_empty(), "not closed yet");
    press(&mut model, 40, 70);
    let corners = [(0, 0), (6000, 0), (6000, 2000), (2000, 2000), (2000, 5000), (0, 5000)];
    assert_eq!(ring(&model, 0), corners);
    assert_eq!(model.drawing.plan.rooms[0].kind, RoomKind::Corridor);
}

#[test]
fn a_border_that_crosses_itself_is_refused() {
    let mut model = desk();
    update(Event::Take(Tool::Room(RoomKind::Room)), &mut model);
    for (x, y) in [(0, 0), (4000, 4000), (4000, 0), (0, 3000), (0, 0)] {
        press(&mut model, x, y);
    }
    assert_eq!(model.said, Some(Said::NoRoom));
    assert!(model.drawing.plan.rooms.is_empty() && model.undo_left() == 0);
}

#[test]
fn doors_go_into_walls_and_lead_out_where_there_is_no_other_room() {
    let mut model = two_rooms();
    update(Event::Take(Tool::Door(Leaf::Door)), &mut model);
    press(&mut model, 8100, 2500);
    press(&mut model, 4000, 100);
    press(&mut model, 4000, 2500);
    assert_eq!(model.said, Some(Said::NoWall), "the middle of the hall is no wall");
    let doors = &model.drawing.plan.openings;
    assert_eq!(doors.len(), 2);
    assert_eq!((doors[0].exit, doors[1].exit), (false, true));
    assert_eq!(doors[0].line[0].distance_mm(doors[0].line[1]), 900);
    assert!(doors[0].line.iter().all(|jamb| jamb.x == 8000));
    assert!(doors[1].line.iter().all(|jamb| jamb.y == 0));
}

#[test]
fn corners_that_meet_move_together_and_their_door_stays_in_the_wall() {
    let mut model = two_rooms();
    update(Event::Take(Tool::Door(Leaf::Locked)), &mut model);
    press(&mut model, 8000, 2500);
    update(Event::Take(Tool::Choose), &mut model);
    press(&mut model, 2000, 4000);
    drag(&mut model, (8000, 5000), (9000, 5000));
    assert_eq!(ring(&model, 0)[2], (9000, 5000));
    assert_eq!(ring(&model, 1)[3], (9000, 5000));
    let [a, b] = model.drawing.plan.openings[0].line;
    let on_wall = |p: Point| (p.x - 8000) * 5 - p.y;
    assert!(on_wall(a).abs() <= 5 && on_wall(b).abs() <= 5, "{a:?} {b:?}");
    assert!((a.distance_mm(b) - 900).abs() <= 2);
    update(Event::Undo, &mut model);
    assert_eq!(ring(&model, 0)[2], (8000, 5000), "one drag is one step");
}

#[test]
fn a_room_moves_only_once_it_is_chosen() {
    let mut model = two_rooms();
    update(Event::Take(Tool::Choose), &mut model);
    update(Event::Choose(None), &mut model);
    drag(&mut model, (2000, 2000), (3000, 2000));
    assert_eq!(ring(&model, 0)[0], (0, 0), "the first drag moves the paper");
    drag(&mut model, (2000, 2000), (3000, 2000));
    assert_eq!(ring(&model, 0)[0], (1000, 0));
}

#[test]
fn everything_goes_by_the_keyboard_alone() {
    let mut model = desk();
    update(Event::Take(Tool::Room(RoomKind::Room)), &mut model);
    for (right, up) in [(0, 0), (60, 0), (0, 40), (-60, 0)] {
        update(Event::Step(right, up), &mut model);
        update(Event::Enter, &mut model);
    }
    update(Event::Enter, &mut model);
    assert_eq!(ring(&model, 0), [(0, 0), (6000, 0), (6000, 4000), (0, 4000)]);
    update(Event::Take(Tool::Door(Leaf::Door)), &mut model);
    update(Event::Step(0, -20), &mut model);
    update(Event::Enter, &mut model);
    assert!(model.drawing.plan.openings[0].line.iter().all(|jamb| jamb.x == 0));
    update(Event::Take(Tool::Stop), &mut model);
    update(Event::Step(30, 0), &mut model);
    update(Event::Enter, &mut model);
    assert_eq!(model.drawing.plan.stops[0].name, "Room 1, Ground");
    update(Event::Escape, &mut model);
    update(Event::Escape, &mut model);
    assert_eq!((model.tool, model.chosen.clone()), (Tool::Choose, None));
    let stop = Part::Stop(model.drawing.plan.stops[0].id.clone());
    update(Event::Choose(Some(stop.clone())), &mut model);
    let steps = model.undo_left();
    for _ in 0..5 {
        update(Event::Step(1, 0), &mut model);
    }
    assert_eq!(model.drawing.place(&stop), Some(Point::new(3500, 2000)));
    assert_eq!(model.undo_left(), steps + 1, "one way is one step");
    update(Event::Delete, &mut model);
    assert!(model.drawing.plan.stops.is_empty());
    update(Event::Undo, &mut model);
    update(Event::Undo, &mut model);
    assert_eq!(model.drawing.place(&stop), Some(Point::new(3000, 2000)));
    update(Event::Redo, &mut model);
    assert_eq!(model.drawing.place(&stop), Some(Point::new(3500, 2000)));
}

#[test]
fn undo_comes_back_to_the_empty_paper_and_redo_to_the_end() {
    let mut model = two_rooms();
    update(Event::Take(Tool::Thing(EquipmentKind::Extinguisher)), &mut model);
    press(&mut model, 1000, 1000);
    update(Event::Take(Tool::Mark(MarkKind::CallSpot)), &mut model);
    press(&mut model, 7000, 1000);
    update(Event::Edit(Edit::AddZone), &mut model);
    update(Event::Edit(Edit::StopEach), &mut model);
    update(Event::Edit(Edit::CopyUp), &mut model);
    let end = model.drawing.clone();
    while model.undo_left() > 0 {
        update(Event::Undo, &mut model);
    }
    assert_eq!(model.drawing, desk().drawing);
    update(Event::Undo, &mut model);
    assert_eq!(model.said, Some(Said::NoStep));
    while model.can_redo() {
        update(Event::Redo, &mut model);
    }
    assert_eq!(model.drawing, end);
}

#[test]
fn a_level_is_copied_upwards_with_its_stair_but_not_its_way_out() {
    let mut model = two_rooms();
    update(Event::Take(Tool::Door(Leaf::Door)), &mut model);
    press(&mut model, 8000, 2500);
    press(&mut model, 4000, 0);
    update(Event::Edit(Edit::StopEach), &mut model);
    update(Event::Edit(Edit::LevelAbove), &mut model);
    update(Event::Edit(Edit::RemoveLevel), &mut model);
    update(Event::Take(Tool::Link(LinkKind::Stair)), &mut model);
    press(&mut model, 1000, 4000);
    update(Event::Edit(Edit::CopyUp), &mut model);
    update(Event::Show(floorplan::LevelId::from_name("ground")), &mut model);
    update(Event::Edit(Edit::CopyUp), &mut model);
    let plan = &model.drawing.plan;
    let heights: Vec<i64> = plan.levels.iter().map(|level| level.elevation_mm).collect();
    assert_eq!(heights, [0, 3200, 6400]);
    assert_eq!((plan.rooms.len(), plan.openings.len(), plan.stops.len()), (6, 4, 6));
    assert_eq!(plan.links[0].feet.len(), 3, "the stair goes all the way");
    assert_eq!(plan.openings.iter().filter(|door| door.exit).count(), 1);
    let names: Vec<&str> = plan.stops.iter().map(|stop| stop.name.as_str()).collect();
    assert_eq!(names[2], "Room 1, Level 1");
    assert_eq!(plan.check(), vec![], "a plan that the survey takes");
}

#[test]
fn a_level_drawn_before_its_scale_was_set_goes_along_the_first_time_only() {
    let mut model = desk();
    update(Event::Edit(Edit::Picture("scan".to_owned(), [2000, 1000])), &mut model);
    update(Event::Take(Tool::Room(RoomKind::Room)), &mut model);
    drag(&mut model, (0, 0), (8000, 5000));
    for (length_mm, width_mm) in [(16_000, 16_000), (32_000, 16_000)] {
        let corner = ring(&model, 0)[1].0;
        update(Event::Take(Tool::Measure), &mut model);
        press(&mut model, 0, 0);
        press(&mut model, corner, 0);
        update(Event::Edit(Edit::Measured(length_mm, true)), &mut model);
        assert_eq!(ring(&model, 0)[1].0, width_mm);
    }
    let level = model.level.clone();
    let scale = |under: &Underlay| under.mm_per_px;
    assert_eq!(model.drawing.pictures.get(&level).map(scale), Some(80.0));
}

#[test]
fn a_stop_takes_its_rooms_zone_and_a_room_takes_its_stops_along() {
    let mut model = two_rooms();
    update(Event::Edit(Edit::StopEach), &mut model);
    update(Event::Edit(Edit::AddZone), &mut model);
    let zone = model.drawing.plan.zones[1].id.clone();
    let room = Part::Room(model.drawing.plan.rooms[1].id.clone());
    update(Event::Edit(Edit::Zone(room, zone.clone())), &mut model);
    update(Event::Edit(Edit::ZoneGap(zone.clone(), 15)), &mut model);
    let stops = &model.drawing.plan.stops;
    assert_eq!((stops[0].zone.as_str(), &stops[1].zone), ("ground", &zone));
    assert_eq!(model.drawing.plan.zones[1].gap_s, 900);
    update(Event::Edit(Edit::RemoveZone(zone)), &mut model);
    assert_eq!(model.drawing.plan.stops[1].zone.as_str(), "ground");
    assert_eq!(model.drawing.plan.check(), vec![]);
    let last = model.drawing.plan.zones[0].id.clone();
    update(Event::Edit(Edit::RemoveZone(last)), &mut model);
    assert_eq!(model.said, Some(Said::LastOne));
}

#[test]
fn a_plan_that_was_there_comes_back_as_the_same_file() {
    let text = include_str!("../../../../fixtures/plans/gannet-hotel.plan.json");
    let plan = floorplan::Plan::read(text.as_bytes()).expect("a plan of ours");
    let mut model = Model::new(Drawing::of(plan.clone(), "Ground"), Lang::En);
    let part = Part::Room(plan.rooms[0].id.clone());
    update(Event::Choose(Some(part.clone())), &mut model);
    update(Event::Edit(Edit::Name(part, "Renamed".to_owned())), &mut model);
    update(Event::Undo, &mut model);
    assert_eq!(model.drawing.plan.canonical(), plan.canonical());
}
