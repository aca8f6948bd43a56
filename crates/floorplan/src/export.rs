//! A plan as GeoJSON (RFC 7946), for other people's programs: one feature for each part, in longitude and latitude.

use crate::import::earth::Earth;
use crate::plan::{Anchor, Plan};
use crate::shape::{Point, Shape, ring_double_area};
use serde_json::{Value, json};

/// The plan as a GeoJSON text; features carry `part`, `id`, `level` and the keys of the plan file.
///
/// A plan without a place on Earth is laid around longitude 0, latitude 0, and says so in `rattlewatch:anchored`.
/// Coordinates have eight decimals: about a millimetre.
pub fn geojson(plan: &Plan) -> String {
    let nowhere = Anchor { lat_e7: 0, lon_e7: 0, turn_mdeg: 0 };
    let earth = Earth::new(plan.anchor.unwrap_or(nowhere));
    let mut features = Vec::new();
    let mut put = |part: &str, level: Value, geometry: Value, item: Value| {
        let mut properties = json!({ "part": part, "level": level });
        if let (Some(into), Value::Object(item)) = (properties.as_object_mut(), item) {
            let geometric = ["shape", "line", "at", "feet", "level"];
            into.extend(item.into_iter().filter(|(key, _)| !geometric.contains(&key.as_str())));
        }
        features.push(json!({ "type": "Feature", "geometry": geometry, "properties": properties }));
    };
    for level in &plan.levels {
        put("level", json!(level.id), Value::Null, json!(level));
    }
    for zone in &plan.zones {
        let geometry = zone.shape.as_ref().map_or(Value::Null, |shape| polygon(&earth, shape));
        put("zone", json!(zone.level), geometry, json!(zone));
    }
    for room in &plan.rooms {
        put("room", json!(room.level), polygon(&earth, &room.shape), json!(room));
    }
    for wall in &plan.walls {
        put("wall", json!(wall.level), line(&earth, &wall.line), json!(wall));
    }
    for opening in &plan.openings {
        put("opening", json!(opening.level), line(&earth, &opening.line), json!(opening));
    }
    for link in &plan.links {
        for foot in &link.feet {
            put("link", json!(foot.level), point(&earth, foot.at), json!(link));
        }
    }
    for stop in &plan.stops {
        let geometry = stop.at.map_or(Value::Null, |at| point(&earth, at));
        put("stop", json!(stop.level), geometry, json!(stop));
    }
    for equipment in &plan.equipment {
        put("equipment", json!(equipment.level), point(&earth, equipment.at), json!(equipment));
    }
    for mark in &plan.marks {
        put("mark", json!(mark.level), point(&earth, mark.at), json!(mark));
    }
    let whole = json!({
        "type": "FeatureCollection", "name": plan.name, "rattlewatch:plan": plan.digest().to_string(),
        "rattlewatch:anchored": plan.anchor.is_some(), "features": features,
    });
    let mut text =
        serde_json::to_string_pretty(&whole).expect("a plan holds only strings, numbers and lists");
    text.push('\n');
    text
}

fn degrees(earth: &Earth, at: Point) -> Value {
    let rounded = |v: f64| libm::round(v * 1e8) / 1e8;
    let [lon, lat] = earth.to_degrees(at);
    json!([rounded(lon), rounded(lat)])
}

fn point(earth: &Earth, at: Point) -> Value {
    json!({ "type": "Point", "coordinates": degrees(earth, at) })
}

fn line(earth: &Earth, points: &[Point]) -> Value {
    let points: Vec<Value> = points.iter().map(|&p| degrees(earth, p)).collect();
    json!({ "type": "LineString", "coordinates": points })
}

/// The outer ring runs counter-clockwise, holes clockwise, each closed by its first point (RFC 7946, section 3.1.6).
fn polygon(earth: &Earth, shape: &Shape) -> Value {
    let ring = |(i, ring): (usize, &Vec<Point>)| -> Value {
        let mut points = ring.clone();
        if (ring_double_area(ring) > 0) != (i == 0) {
            points.reverse();
        }
        points.extend(points.first().copied());
        points.iter().map(|&p| degrees(earth, p)).collect()
    };
    let rings: Vec<Value> = shape.rings.iter().enumerate().map(ring).collect();
    json!({ "type": "Polygon", "coordinates": rings })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::import::{Format, Wishes, read};
    use crate::{Level, LevelId, Room, RoomId, RoomKind};

    fn plan() -> Plan {
        let mut plan = Plan::simple("Gannet Quay", &["Ground"], 1800);
        let level = LevelId::from_name("ground");
        plan.anchor = Some(Anchor { lat_e7: 510_254_000, lon_e7: 137_230_000, turn_mdeg: 0 });
        plan.levels.push(Level { id: level.clone(), name: "Ground".to_owned(), elevation_mm: 0 });
        let mut shape = Shape::rectangle((0, 0), (9_000, 6_000));
        shape.rings.push(Shape::rectangle((2_000, 2_000), (3_000, 3_000)).rings.remove(0));
        let (id, name, kind) = (RoomId::from_name("hall"), "Hall".to_owned(), RoomKind::Room);
        plan.rooms.push(Room { id, name, level, kind, zone: None, shape });
        plan
    }

    /// Read back by the importer of any GeoJSON, the room has the same corners to the millimetre.
    #[test]
    fn there_and_back() {
        let text = geojson(&plan());
        let mapping = "kind = \"part\"\nname = \"name\"\nroom = [\"room\"]\n";
        let back = read(text.as_bytes(), Some(Format::GeoJson), Some(mapping), &Wishes::default());
        let back = back.expect("our own file").plan;
        let area = back.rooms.iter().map(|room| room.shape.area_m2()).sum::<f64>();
        assert!((area - 53.0).abs() < 0.02, "{area}");
    }

    #[test]
    fn rings_run_as_the_standard_says() {
        let value: Value = serde_json::from_str(&geojson(&plan())).expect("JSON");
        let features = value["features"].as_array().expect("a list");
        let room = features.iter().find(|f| f["properties"]["part"] == "room").expect("the room");
        let area = |ring: &Value| -> f64 {
            let p = |v: &Value| (v[0].as_f64().unwrap_or(0.0), v[1].as_f64().unwrap_or(0.0));
            let ring: Vec<(f64, f64)> = ring.as_array().into_iter().flatten().map(p).collect();
            ring.windows(2).map(|w| w[0].0 * w[1].1 - w[1].0 * w[0].1).sum()
        };
        let rings = &room["geometry"]["coordinates"];
        assert!(area(&rings[0]) > 0.0 && area(&rings[1]) < 0.0);
        assert_eq!(rings[0][0], rings[0][4], "closed");
        assert!(room["properties"].get("shape").is_none());
    }
}
