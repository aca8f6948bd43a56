//! Surveys of small plans with figures worked out elsewhere.

use floorplan::{
    Circumstances, Equipment, EquipmentId, EquipmentKind, Leaf, Level, LevelId, Limits, Opening,
    OpeningId, Plan, Point, Room, RoomId, RoomKind, Shape, Survey, survey,
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

fn measured(survey: &Survey, what: &str) -> (f64, Option<bool>) {
    let check = survey.checks.iter().find(|check| check.what.starts_with(what));
    check
        .map(|check| (check.measured_mm, check.ok))
        .unwrap_or_else(|| panic!("{what}: {:?}", survey.checks))
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
        let (walk, walk_ok) = measured(&survey, "walk to the nearest Class A");
        let corner = side_ft / 2.0 * 2.0_f64.sqrt() * 304.8;
        assert!((walk - corner).abs() < 10.0, "{walk} {corner}");
        let (area, area_ok) = measured(&survey, "floor area for each");
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
        let (length, verdict) = measured(&surveyed(&plan), "torch to stack");
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
    assert_eq!(measured(&survey, "torch to stack").1, Some(false));
    assert_eq!(survey.unreachable.len(), 1);
    assert_eq!(survey.unreachable[0].missing.name(), "a stair, ramp or exit on its level");
}

/// The path is walked, not straight (IFC 2018 §1017.3): around a wall that leaves 1 m at the far side.
#[test]
fn exit_travel_goes_around_walls() {
    let mut plan = hall(20_000, 10_000);
    let (wall, straight) =
        (floorplan::WallId::from_name("w"), measured(&surveyed(&plan), "exit access").0);
    plan.walls.push(floorplan::Wall {
        id: wall,
        level: level(),
        line: vec![Point::new(10_000, 0), Point::new(10_000, 9_000)],
    });
    let (around, ok) = measured(&surveyed(&plan), "exit access");
    // From (20, 0) by (10, 9) to (0, 5): √(100 + 81) + √(100 + 16) m.
    assert!((around / 1e3 - (181.0_f64.sqrt() + 116.0_f64.sqrt())).abs() < 0.01, "{around}");
    assert!(around > straight && ok == Some(true));
    let survey = surveyed(&hall(ft(199.0), 4000));
    assert_eq!(measured(&survey, "exit access").1, Some(true));
    let survey = surveyed(&hall(ft(201.0), 4000));
    assert_eq!(measured(&survey, "exit access").1, Some(false));
}

#[test]
fn what_is_missing_is_said() {
    let mut plan = hall(8_000, 6_000);
    plan.rooms.push(room("closed", Shape::rectangle((8_000, 0), (12_000, 6_000))));
    plan.rooms.push(room("far", Shape::rectangle((12_000, 0), (16_000, 6_000))));
    plan.rooms.push(room("farther", Shape::rectangle((16_000, 0), (20_000, 6_000))));
    plan.openings.push(door("d", Leaf::Door, (16_000, 1_000), (16_000, 2_000), false));
    let survey = surveyed(&plan);
    let found: Vec<(&str, &str)> =
        survey.unreachable.iter().map(|u| (u.room.as_str(), u.missing.name())).collect();
    let way = "a way from its doors to where people come in";
    assert_eq!(found, [("closed", "a door in its border"), ("far", way), ("farther", way)]);
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
