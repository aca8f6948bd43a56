//! Surveys of small plans with figures worked out elsewhere.

use floorplan::{
    Circumstances, Equipment, EquipmentId, EquipmentKind, Leaf, Level, LevelId, Limits, Opening,
    OpeningId, Plan, Point, Room, RoomId, RoomKind, Shape, Survey, survey,
    survey::{Missing, What},
};

fn limits() -> Limits {
    let mut files = Vec::new();
    for folder in ["survey", "walking"] {
        let path = format!("{}/../../standards/site/{folder}", env!("CARGO_MANIFEST_DIR"));
        for entry in std::fs::read_dir(path).expect("the folder stands beside crates/") {
            let path = entry.expect("readable").path();
            files.push((path.display().to_string(), std::fs::read_to_string(&path).expect("text")));
        }
    }
    Limits::read(files.iter().map(|(name, text)| (name.as_str(), text.as_str())))
        .expect("well formed")
}

fn ft(feet: f64) -> i64 {
    (feet * 304.8).round() as i64
}

fn level() -> LevelId {
    LevelId::from_name("ground")
}

/// One hall with a door that leads out in the middle of its west side.
fn hall(width_mm: i64, depth_mm: i64) -> Plan {
    let mut plan = Plan::simple("Gannet Quay", &["Ground"], 1800);
    plan.levels.push(Level { id: level(), name: "Ground".to_owned(), elevation_mm: 0 });
    plan.rooms.push(room("hall", Shape::rectangle((0, 0), (width_mm, depth_mm))));
    let middle = depth_mm / 2;
    plan.openings.push(door("out", Leaf::Door, (0, middle - 500), (0, middle + 500), true));
    plan
}

fn room(id: &str, shape: Shape) -> Room {
    let kind = RoomKind::Room;
    Room { id: RoomId::from_name(id), name: id.to_owned(), level: level(), kind, zone: None, shape }
}

fn door(id: &str, leaf: Leaf, a: (i64, i64), b: (i64, i64), exit: bool) -> Opening {
    let line = [Point::new(a.0, a.1), Point::new(b.0, b.1)];
    Opening { id: OpeningId::from_name(id), name: String::new(), level: level(), leaf, line, exit }
}

fn thing(id: &str, kind: EquipmentKind, x: i64, y: i64, rating: &str) -> Equipment {
    let at = Point::new(x, y);
    let rating = rating.to_owned();
    Equipment {
        id: EquipmentId::from_name(id),
        name: id.to_owned(),
        kind,
        level: level(),
        at,
        rating,
    }
}

fn surveyed(plan: &Plan) -> Survey {
    assert_eq!(plan.check(), vec![]);
    survey(
        plan,
        &limits(),
        &Circumstances { sprinklered: false, occupancy: "B".to_owned(), construction: false },
    )
}

fn measured(survey: &Survey, what: What) -> (f64, Option<bool>) {
    let check = survey.checks.iter().find(|check| check.what == what);
    check
        .map(|check| (check.measured_mm, check.ok))
        .unwrap_or_else(|| panic!("{what:?}: {:?}", survey.checks))
}

/// NFPA 10 spacing: 75 ft of travel from the middle of a square reach corners of a square of side 75 √2 = 106.07 ft,
/// 11,250 sq ft (IFC 2018 Table 906.3(1) states the area; 106 ft spacing is published with it).
#[test]
fn the_extinguisher_square() {
    for (side_ft, ok) in [(106.0, true), (106.2, false)] {
        let side = ft(side_ft);
        let mut plan = hall(side, side);
        plan.equipment.push(thing(
            "ext",
            EquipmentKind::Extinguisher,
            side / 2,
            side / 2,
            "2-A:10-B:C",
        ));
        let survey = surveyed(&plan);
        let (walk, walk_ok) = measured(&survey, What::ClassATravel);
        let corner = side_ft / 2.0 * 2.0_f64.sqrt() * 304.8;
        assert!((walk - corner).abs() < 10.0, "{walk} {corner}");
        let (area, area_ok) = measured(&survey, What::ClassAArea);
        assert!((area / (304.8 * 304.8) - side_ft * side_ft).abs() < 5.0, "{area}");
        assert_eq!((walk_ok, area_ok), (Some(ok), Some(ok)), "{side_ft}");
    }
}

/// 29 CFR 1910.252(a)(2)(iii)(A): a watch where combustibles are "closer than 35 ft". 34.9 ft is, 35.0 ft is not.
#[test]
fn thirty_five_feet() {
    for (feet, ok) in [(34.9, false), (35.0, true)] {
        let mut plan = hall(ft(200.0), ft(100.0));
        plan.equipment.push(thing("torch", EquipmentKind::HotWork, ft(100.0), ft(50.0), ""));
        plan.equipment.push(thing(
            "stack",
            EquipmentKind::Combustible,
            ft(100.0) + ft(feet),
            ft(50.0),
            "",
        ));
        let (length, verdict) = measured(&surveyed(&plan), What::HotWorkCombustible);
        assert_eq!((length as i64, verdict), (ft(feet), Some(ok)));
    }
}

#[test]
fn through_the_floor_above() {
    let mut plan = hall(ft(200.0), ft(100.0));
    let above = LevelId::from_name("first");
    plan.levels.push(Level { id: above.clone(), name: "First".to_owned(), elevation_mm: 3500 });
    plan.rooms.push(Room {
        level: above.clone(),
        ..room("loft", Shape::rectangle((0, 0), (ft(200.0), ft(100.0))))
    });
    plan.equipment.push(thing("torch", EquipmentKind::HotWork, ft(100.0), ft(50.0), ""));
    let stack = thing("stack", EquipmentKind::Combustible, ft(110.0), ft(50.0), "");
    plan.equipment.push(Equipment { level: above, ..stack });
    let survey = surveyed(&plan);
    assert_eq!(measured(&survey, What::HotWorkCombustible).1, Some(false));
    assert_eq!(survey.unreachable.len(), 1);
    assert_eq!(survey.unreachable[0].missing, Missing::Stair);
}

/// The path is walked, not straight (IFC 2018 §1017.3): around a wall that leaves 1 m at the far side.
#[test]
fn exit_travel_goes_around_walls() {
    let mut plan = hall(20_000, 10_000);
    let (wall, straight) =
        (floorplan::WallId::from_name("w"), measured(&surveyed(&plan), What::ExitTravel).0);
    plan.walls.push(floorplan::Wall {
        id: wall,
        level: level(),
        line: vec![Point::new(10_000, 0), Point::new(10_000, 9_000)],
    });
    let (around, ok) = measured(&surveyed(&plan), What::ExitTravel);
    // From (20, 0) by (10, 9) to (0, 5): √(100 + 81) + √(100 + 16) m.
    assert!((around / 1e3 - (181.0_f64.sqrt() + 116.0_f64.sqrt())).abs() < 0.01, "{around}");
    assert!(around > straight && ok == Some(true));
    let survey = surveyed(&hall(ft(199.0), 4000));
    assert_eq!(measured(&survey, What::ExitTravel).1, Some(true));
    let survey = surveyed(&hall(ft(201.0), 4000));
    assert_eq!(measured(&survey, What::ExitTravel).1, Some(false));
}

#[test]
fn what_is_missing_is_said() {
    let mut plan = hall(8_000, 6_000);
    plan.rooms.push(room("closed", Shape::rectangle((8_000, 0), (12_000, 6_000))));
    plan.rooms.push(room("far", Shape::rectangle((12_000, 0), (16_000, 6_000))));
    plan.rooms.push(room("farther", Shape::rectangle((16_000, 0), (20_000, 6_000))));
    plan.openings.push(door("d", Leaf::Door, (16_000, 1_000), (16_000, 2_000), false));
    let survey = surveyed(&plan);
    let found: Vec<(&str, Missing)> =
        survey.unreachable.iter().map(|u| (u.room.as_str(), u.missing)).collect();
    let way = Missing::WayIn;
    assert_eq!(found, [("closed", Missing::Door), ("far", way), ("farther", way)]);
    assert_eq!(survey.floor_m2, 48.0 + 3.0 * 24.0);
}

/// A one-way door is passed from the left of its line to the right only; so one can come in but not get out.
#[test]
fn one_way() {
    let mut plan = hall(8_000, 6_000);
    plan.rooms.push(room("cell", Shape::rectangle((8_000, 0), (12_000, 6_000))));
    // Upward line: left is the hall. The way out of the cell is barred.
    plan.openings.push(door("d", Leaf::OneWay, (8_000, 1_000), (8_000, 2_000), false));
    let floors = floorplan::Floors::new(&plan);
    let network =
        floorplan::Network::new(&plan, &floors, |passage| floorplan::network::walked(passage, 2.0));
    let spot = |x, y| floorplan::Spot { level: level(), at: Point::new(x, y) };
    let matrix = network.matrix(&[spot(4_000, 1_500), spot(10_000, 1_500)]);
    assert_eq!(matrix[1], 6_000.0);
    assert!(matrix[2].is_infinite());
    let (length, way) = network.trail(&spot(4_000, 1_500), &spot(10_000, 1_500)).expect("in");
    assert_eq!((length, way.len()), (6_000.0, 3));
}

/// Out of a cell whose only door opens inwards nobody comes: it is reached, but no way leads out of it.
#[test]
fn the_way_out_is_not_the_way_in() {
    let mut plan = hall(8_000, 6_000);
    plan.rooms.push(room("cell", Shape::rectangle((8_000, 0), (12_000, 6_000))));
    plan.openings.push(door("d", Leaf::OneWay, (8_000, 1_000), (8_000, 2_000), false));
    let floors = floorplan::Floors::new(&plan);
    let network =
        floorplan::Network::new(&plan, &floors, |passage| floorplan::network::walked(passage, 2.0));
    let spot = |x, y| floorplan::Spot { level: level(), at: Point::new(x, y) };
    let standing = network.stand(&[spot(4_000, 1_500), spot(10_000, 1_500)], &[]);
    let (out, into) = (network.to_exit(&standing), network.from_exit(&standing));
    assert!(out[0].is_finite() && out[1].is_infinite() && into[1].is_finite(), "{out:?} {into:?}");
    assert_eq!(network.walked_with(&standing, 0), [true, false]);
    // An exit that opens from inside lets nobody in: everything is out of reach.
    plan.openings[0].leaf = Leaf::OneWay;
    let [a, b] = plan.openings[0].line;
    let left_is_inside = geometry_left(a, b, Point::new(4_000, 3_000));
    if !left_is_inside {
        plan.openings[0].line = [b, a];
    }
    assert_eq!(surveyed(&plan).unreachable.len(), 2);
}

fn geometry_left(a: Point, b: Point, p: Point) -> bool {
    (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x) > 0
}

/// Two rooms in a row behind a hall: the farther one has one door, the nearer two, the hall its exit. The way is
/// measured to the room's own door, not to the nearest door of any such room.
#[test]
fn the_only_door_is_its_own() {
    let mut plan = hall(8_000, 6_000);
    plan.rooms.push(room("near", Shape::rectangle((8_000, 0), (12_000, 6_000))));
    plan.rooms.push(room("far", Shape::rectangle((12_000, 0), (42_000, 6_000))));
    plan.openings.push(door("d", Leaf::Door, (8_000, 2_500), (8_000, 3_500), false));
    plan.openings.push(door("e", Leaf::Door, (12_000, 2_500), (12_000, 3_500), false));
    // From the corner (42, 0) to the door's middle (12, 3): √(30² + 3²) m.
    let (length, _) = measured(&surveyed(&plan), What::OnlyDoor);
    assert!((length - 1e3 * 909.0_f64.sqrt()).abs() < 10.0, "{length}");
}

#[test]
fn a_door_in_no_wall_is_named() {
    let mut plan = hall(8_000, 6_000);
    plan.openings.push(door("adrift", Leaf::Door, (3_000, 3_000), (4_000, 3_000), false));
    plan.openings.push(door("nowhere", Leaf::Door, (90_000, 0), (91_000, 0), false));
    let names: Vec<String> = surveyed(&plan).loose_doors.iter().map(ToString::to_string).collect();
    assert_eq!(names, ["adrift", "nowhere"]);
}

/// A yard of 20 by 20 km, drawn by mistake perhaps: four hundred million places by the metre are not tried, and it is
/// said how coarse the answer is.
#[test]
fn a_very_wide_floor_is_tried_on_a_coarser_grid() {
    let side = 20_000_000;
    let survey = surveyed(&hall(side, side));
    // The rectangles around its three triangles are 1,200 km²; half a million places are tried.
    assert_eq!(survey.grid_m, 49);
    let json = survey.json(&hall(side, side));
    assert_eq!(json["grid_m"], 49);
    assert_eq!(surveyed(&hall(30_000, 20_000)).grid_m, 1);
}
