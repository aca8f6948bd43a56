//! Plans as they should not be: each ends in a named finding with its place, never in a panic or a hang.

use floorplan::import::{ImportError, Imported, Wishes, read};
use floorplan::{Floors, Limits, Plan, Shape, survey};

/// Longitude and latitude of metres east and north of a place at 50° north, 10° east.
fn at([x, y]: [f64; 2]) -> String {
    format!("[{},{}]", 10.0 + x / 71_696.0, 50.0 + y / 111_229.0)
}

fn room(tags: &str, ring: &[[f64; 2]]) -> String {
    let mut points: Vec<String> = ring.iter().map(|&p| at(p)).collect();
    points.extend(points.first().cloned());
    format!(
        r#"{{"type":"Feature","properties":{{"indoor":"room"{tags}}},"geometry":{{"type":"Polygon","coordinates":[[{}]]}}}}"#,
        points.join(",")
    )
}

fn door(p: [f64; 2]) -> String {
    format!(
        r#"{{"type":"Feature","id":"d","properties":{{"door":"yes","level":"0"}},"geometry":{{"type":"Point","coordinates":{}}}}}"#,
        at(p)
    )
}

fn square(x: f64, y: f64, size: f64) -> [[f64; 2]; 4] {
    [[x, y], [x + size, y], [x + size, y + size], [x, y + size]]
}

const L0: &str = r#","level":"0""#;

fn import(features: &[String]) -> Result<Imported, ImportError> {
    let text = format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","));
    read(text.as_bytes(), None, None, &Wishes::default())
}

fn says(features: &[String], words: &str) {
    let error = import(features).expect_err(words).to_string();
    assert!(error.contains(words), "{error}");
}

/// Findings by name; the plan is laid out and surveyed as well, whatever it is.
fn found(features: &[String]) -> (Plan, Vec<&'static str>) {
    let plan = import(features).expect("a plan").plan;
    let findings = plan.check().iter().map(|finding| finding.fault.name()).collect();
    let _ = survey(&plan, &Limits::default(), &Default::default());
    (plan, findings)
}

/// What the import says it had to assume.
fn guessed(features: &[String]) -> Vec<String> {
    import(features).expect("a plan").report.guessed.into_keys().collect()
}

const PARTS: &str = "a room whose border met itself became a room for each of its parts";

/// Mended by the import, which says so; in a plan file it stays a finding.
#[test]
fn a_ring_that_crosses_itself() {
    let bow = room(L0, &[[0.0, 0.0], [9.0, 9.0], [9.0, 0.0], [0.0, 7.0]]);
    let (mut plan, findings) = found(std::slice::from_ref(&bow));
    assert!(findings.is_empty(), "{findings:?}");
    assert_eq!(plan.rooms.len(), 2);
    assert!(guessed(&[bow]).iter().any(|what| what == PARTS));
    plan.rooms[0].shape = Shape::ring(&[(0, 0), (9000, 9000), (9000, 0), (0, 7000)]);
    let findings: Vec<_> = plan.check().iter().map(|finding| finding.fault.name()).collect();
    assert_eq!(findings, ["crossing-shape"]);
}

#[test]
fn a_ring_that_touches_itself() {
    let pinched =
        room(L0, &[[0.0, 0.0], [4.0, 4.0], [8.0, 0.0], [8.0, 8.0], [4.0, 4.0], [0.0, 8.0]]);
    let (plan, findings) = found(std::slice::from_ref(&pinched));
    assert!(findings.is_empty(), "{findings:?}");
    assert!(guessed(&[pinched]).iter().any(|what| what == PARTS));
    assert!((Floors::new(&plan).area_m2() - 32.0).abs() < 0.1);
}

/// A room inside another is its own piece of floor; no floor is counted twice.
#[test]
fn nested_rooms() {
    let (plan, findings) =
        found(&[room(L0, &square(0.0, 0.0, 10.0)), room(L0, &square(4.0, 4.0, 2.0))]);
    assert!(findings.is_empty());
    assert!((Floors::new(&plan).area_m2() - 100.0).abs() < 0.2);
}

#[test]
fn nothing_at_all() {
    says(&[], "no feature has the tag indoor");
    for (bytes, words) in
        [("", "known are"), ("{}", "this is no GeoJSON"), ("\u{feff}", "known are")]
    {
        let error = read(bytes.as_bytes(), None, None, &Wishes::default()).expect_err(words);
        assert!(error.to_string().contains(words), "{error}");
    }
    let line = room(L0, &[[0.0, 0.0], [9.0, 0.0]]);
    says(&[line], "at least three corners");
    assert_eq!(Shape::default().area_m2(), 0.0);
}

/// A round hall of 100,000 corners, 60 m across: its floor is that of the circle, π · 30² m².
#[test]
fn a_hundred_thousand_corners() {
    let ring: Vec<[f64; 2]> = (0..100_000)
        .map(|k| {
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * f64::from(k) / 1e5);
            [30.0 * cos, 30.0 * sin]
        })
        .collect();
    let plan = import(&[room(L0, &ring)]).expect("a plan").plan;
    let _ = plan.check();
    let area = Floors::new(&plan).area_m2();
    assert!((area / (std::f64::consts::PI * 900.0) - 1.0).abs() < 0.002, "{area}");
}

#[test]
fn a_matchbox() {
    says(&[room(L0, &square(0.0, 0.0, 0.05))], "is the unit right");
}

/// A plan a thousand times too large is asked about, not accepted.
#[test]
fn a_thousand_times_too_large() {
    says(&[room(L0, &square(0.0, 0.0, 9_000.0))], "is the unit right");
    says(&[room(L0, &square(0.0, 0.0, 4_000.0))], "is the unit right");
}

#[test]
fn numbers_that_are_none() {
    let bad =
        |number: &str| room(L0, &square(0.0, 0.0, 5.0)).replacen("[10,", &format!("[{number},"), 1);
    says(&[bad("NaN")], "this is no GeoJSON");
    says(&[bad("1e999")], "this is no GeoJSON");
    says(&[bad("1e30")], "no longitude and latitude");
}

/// Swapped coordinates, and one room that slipped to the other half of the globe.
#[test]
fn the_wrong_hemisphere() {
    let swapped = room(L0, &square(0.0, 0.0, 5.0)).replace("[10", "[50").replace(",50", ",110");
    says(&[swapped], "no longitude and latitude");
    let south = room(L0, &square(40.0, 0.0, 5.0)).replace(",50", ",-50");
    says(&[room(L0, &square(0.0, 0.0, 5.0)), south], "m across");
}

#[test]
fn no_level_is_given() {
    let Imported { plan, report } = import(&[room("", &square(0.0, 0.0, 5.0))]).expect("a plan");
    assert_eq!(plan.levels.len(), 1);
    assert!(report.guessed.keys().any(|what| what.starts_with("no level is given")), "{report}");
}

#[test]
fn a_door_in_no_wall() {
    let Imported { plan, report } =
        import(&[room(L0, &square(0.0, 0.0, 5.0)), door([20.0, 20.0])]).expect("a plan");
    assert!(plan.openings.is_empty());
    let told = report.dropped.iter().find(|(what, _)| what.contains("door")).expect("told");
    assert_eq!(told.1.examples, ["d"]);
}
