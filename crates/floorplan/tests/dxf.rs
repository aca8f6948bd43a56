//! DXF drawings written by hand after the DXF Reference (ASCII form): rooms are faces, gaps of door size are doors.

use floorplan::import::{Format, ImportError, Imported, Wishes, read};
use floorplan::{Leaf, RoomKind};

/// A drawing of lines given as (layer, from, to), in the unit of `$INSUNITS`.
fn drawing(unit: i32, lines: &[(&str, [f64; 2], [f64; 2])]) -> String {
    let mut text = format!(
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n{unit}\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
    );
    for (layer, a, b) in lines {
        text += &format!(
            "0\nLINE\n8\n{layer}\n10\n{}\n20\n{}\n11\n{}\n21\n{}\n",
            a[0], a[1], b[0], b[1]
        );
    }
    text + "0\nENDSEC\n0\nEOF\n"
}

const W: &str = "A-WALL";

/// A house of 10 m × 4 m: a wall across at 6 m with a gap, and a gap in the front.
fn house(across: f64, front: f64) -> Vec<(&'static str, [f64; 2], [f64; 2])> {
    vec![
        (W, [0.0, 0.0], [1000.0, 0.0]),
        (W, [1000.0 + front, 0.0], [10_000.0, 0.0]),
        (W, [10_000.0, 0.0], [10_000.0, 4000.0]),
        (W, [10_000.0, 4000.0], [0.0, 4000.0]),
        (W, [0.0, 4000.0], [0.0, 0.0]),
        (W, [6000.0, 0.0], [6000.0, 1500.0]),
        (W, [6000.0, 1500.0 + across], [6000.0, 4000.0]),
    ]
}

fn import(text: &str) -> Result<Imported, ImportError> {
    read(text.as_bytes(), None, None, &Wishes::default())
}

fn says(text: &str, words: &str) {
    let error = import(text).expect_err(words).to_string();
    assert!(error.contains(words), "{error}");
}

/// A wall of glass across the house runs on under the sign of a door: it opens there.
#[test]
fn a_door_drawn_on_glass_opens_it() {
    let mut lines = house(900.0, 1000.0);
    lines.truncate(5);
    lines.push(("A-WINDOW", [6000.0, 0.0], [6000.0, 4000.0]));
    let shut = import(&drawing(4, &lines)).expect("a plan").plan;
    assert_eq!((shut.rooms.len(), shut.openings.len()), (2, 1));
    lines.push(("A-DOOR", [6000.0, 1500.0], [6900.0, 1500.0]));
    lines.push(("A-DOOR", [6000.0, 2400.0], [6900.0, 1500.0]));
    let text = drawing(4, &lines).replacen("8\nA-DOOR", "8\nA-DOOR\n62\n1", 1);
    let Imported { plan, report } = import(&text).expect("a plan");
    assert_eq!(plan.openings.len(), 2, "{report}");
    assert_eq!(report.guessed["a door drawn on glass opens it"].count, 1);
}

#[test]
fn faces_are_rooms_and_gaps_are_doors() {
    let Imported { plan, report } = import(&drawing(4, &house(900.0, 1000.0))).expect("a plan");
    assert_eq!(plan.check(), vec![]);
    let mut areas: Vec<f64> = plan.rooms.iter().map(|room| room.shape.area_m2()).collect();
    areas.sort_by(f64::total_cmp);
    assert_eq!(areas, [16.0, 24.0]);
    let doors: Vec<(Leaf, bool, i64)> =
        plan.openings.iter().map(|o| (o.leaf, o.exit, o.line[0].distance_mm(o.line[1]))).collect();
    assert_eq!(doors, [(Leaf::Door, true, 1000), (Leaf::Door, false, 900)]);
    assert_eq!(report.guessed["a gap of door size is a door"].count, 2);
    let floors = floorplan::Floors::new(&plan);
    let network = floorplan::Network::new(&plan, &floors, |p| floorplan::network::walked(p, 2.0));
    let middles = plan.rooms.iter().map(|room| floorplan::Spot {
        level: room.level.clone(),
        at: floorplan::import::border::inside(&room.shape).expect("a room"),
    });
    let middles: Vec<floorplan::Spot> = middles.collect();
    assert!(network.to_exit(&network.stand(&middles, &[])).iter().all(|l| l.is_finite()));
}

/// 100 mm is a slip of the pen: closed as wall, and told with its place.
#[test]
fn a_narrow_gap_is_closed_and_told() {
    let Imported { plan, report } = import(&drawing(4, &house(900.0, 100.0))).expect("a plan");
    assert_eq!((plan.rooms.len(), plan.openings.len()), (2, 1));
    let told = &report.guessed["a gap too narrow for a door is closed as wall"];
    assert_eq!(told.examples, ["imported-plan at x 1000 mm, y 0 mm, 100 mm"]);
}

/// A side that is missing leaves the front room open: what is closed is kept, the free ends are named.
#[test]
fn walls_that_do_not_close_are_named() {
    let Imported { plan, report } = import(&drawing(4, &house(900.0, 4000.0))).expect("a plan");
    assert_eq!(plan.rooms.len(), 1);
    let told = &report.dropped["a wall ends free: if a room is missing, draw it closed"];
    assert!(told.examples.contains(&"imported-plan at x 1000 mm, y 0 mm".to_owned()), "{told:?}");
    let open = [(W, [0.0, 0.0], [9000.0, 0.0]), (W, [9000.0, 0.0], [9000.0, 4000.0])];
    says(&drawing(4, &open), "no floor was found");
}

#[test]
fn the_unit_is_asked_about() {
    let metres: Vec<_> = house(900.0, 1000.0);
    let area = |text: &str| -> f64 {
        let plan = import(text).expect("a plan").plan;
        plan.rooms.iter().map(|room| room.shape.area_m2()).sum()
    };
    assert_eq!(area(&drawing(4, &metres)), 40.0);
    // The same numbers as inches are a hangar; as metres a city; as millimetres of a drawing in metres a matchbox.
    says(&drawing(6, &metres), "is the unit right");
    let small: Vec<_> = (metres.iter())
        .map(|(layer, a, b)| (*layer, a.map(|v| v / 1e3), b.map(|v| v / 1e3)))
        .collect();
    says(&drawing(4, &small), "is the unit right");
    assert_eq!(area(&drawing(6, &small)), 40.0);
    let mapping = "wall = [\"A-WALL\"]\nunit = \"m\"\n";
    let plan =
        read(drawing(4, &small).as_bytes(), Some(Format::Dxf), Some(mapping), &Wishes::default());
    assert_eq!(plan.expect("the mapping's unit counts").plan.rooms.len(), 2);
}

/// Walls two lines thick, a block put in turned by a quarter, a name in a room.
#[test]
fn blocks_names_and_thick_walls() {
    let ring = |x: f64, y: f64, w: f64, h: f64| {
        format!(
            "0\nLWPOLYLINE\n8\nwall\n90\n4\n70\n1\n10\n{x}\n20\n{y}\n10\n{}\n20\n{y}\n10\n{}\n20\n{}\n10\n{x}\n20\n{}\n",
            x + w,
            x + w,
            y + h,
            y + h
        )
    };
    // A hall of 6 m × 4 m between four wall bodies of 200 mm; in the right one a gap of 1 m, of which each half wall is
    // one block, the upper put in turned.
    let bodies = [
        ring(-200.0, -200.0, 6400.0, 200.0),
        ring(-200.0, 4000.0, 6400.0, 200.0),
        ring(-200.0, 0.0, 200.0, 4000.0),
    ];
    let half = ring(0.0, 0.0, 200.0, 1500.0);
    let turned = ring(0.0, -200.0, 1500.0, 200.0);
    let block =
        |name: &str, body: &str| format!("0\nBLOCK\n2\n{name}\n10\n0\n20\n0\n{body}0\nENDBLK\n");
    let insert = |name: &str, x: f64, y: f64, turn: f64| {
        format!("0\nINSERT\n8\nwall\n2\n{name}\n10\n{x}\n20\n{y}\n50\n{turn}\n")
    };
    let text = format!(
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nBLOCKS\n{}{}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{}{}{}0\nTEXT\n8\ntxt\n10\n3000\n20\n2000\n1\nStair hall\n0\nENDSEC\n0\nEOF\n",
        block("lower", &half),
        block("upper", &turned),
        bodies.concat(),
        insert("lower", 6000.0, 0.0, 0.0),
        insert("upper", 6000.0, 2500.0, 90.0),
    );
    let Imported { plan, .. } = import(&text).expect("a plan");
    assert_eq!(plan.check(), vec![]);
    let rooms: Vec<(&str, RoomKind, f64)> =
        plan.rooms.iter().map(|r| (r.name.as_str(), r.kind, r.shape.area_m2())).collect();
    assert!(rooms.contains(&("Stair hall", RoomKind::Stair, 24.0)), "{rooms:?}");
    assert!(rooms.contains(&("Doorway", RoomKind::Doorway, 0.2)), "{rooms:?}");
    assert_eq!((plan.openings.len(), plan.openings[0].exit), (1, true));
}

#[test]
fn what_is_no_readable_drawing_says_what_to_do() {
    says("AC1032\0\0", "ASCII DXF");
    says("AutoCAD Binary DXF\r\n\x1a", "ASCII DXF");
    says("0\nSECTION\n2\nENTITIES\n0\nLINE\nten\n3\n", "group code");
    says("0\nSECTION\n2\nENTITIES\n0\nLINE\n10", "cut off");
    says(&drawing(4, &[("furniture", [0.0, 0.0], [5e3, 0.0])]), "--map");
    let looped = "0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nb\n0\nINSERT\n2\nb\n0\nENDBLK\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nINSERT\n8\nwall\n2\nb\n0\nENDSEC\n0\nEOF\n";
    says(looped, "blocks hold each other");
}

/// A coordinate that is no number is named with its line, never read as zero; a line that ends beyond all numbers is listed.
#[test]
fn a_coordinate_that_is_no_number_is_named() {
    let lines = house(900.0, 1000.0);
    let good = drawing(4, &lines);
    for wrong in ["nan", "inf", "1e999", "12,5"] {
        let text = good.replacen("11\n1000\n", &format!("11\n{wrong}\n"), 1);
        assert_ne!(text, good);
        says(&text, &format!("holds {wrong:?} where a coordinate stands"));
    }
    let far = drawing(6, &[&[(W, [1e308, 0.0], [0.0, 9.0])][..], &metres(&lines)].concat());
    let report = import(&far).expect("a plan").report.to_string();
    assert!(report.contains("1 lines that end beyond all numbers"), "{report}");
}

fn metres(lines: &[(&'static str, [f64; 2], [f64; 2])]) -> Vec<(&'static str, [f64; 2], [f64; 2])> {
    let metres = |at: [f64; 2]| at.map(|mm| mm / 1000.0);
    lines.iter().map(|&(layer, a, b)| (layer, metres(a), metres(b))).collect()
}
