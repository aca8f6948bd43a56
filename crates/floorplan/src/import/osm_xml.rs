//! OpenStreetMap XML: nodes, ways and multipolygon relations as features (the OpenStreetMap wiki's *OSM XML*).

use super::ImportError;
use super::drawn::{Drawn, Form, on_earth};
use super::xml::{Element, parse};
use std::collections::BTreeMap;

/// Features of an OSM XML text. Areas are closed ways with an `indoor` tag and multipolygons whose outer ways close.
pub fn drawn(text: &str) -> Result<Vec<Drawn>, ImportError> {
    let malformed = |why: String| ImportError::Malformed { format: "OSM XML", why };
    let root = parse(text).map_err(malformed)?;
    if root.name != "osm" {
        return Err(malformed(format!("the file begins with <{}>, not <osm>", root.name)));
    }
    let mut nodes: BTreeMap<&str, [f64; 2]> = BTreeMap::new();
    for node in root.children_named("node") {
        let degrees = |key: &str| {
            node.attribute(key).and_then(|text| text.parse::<f64>().ok()).unwrap_or(f64::NAN)
        };
        let (id, at) = (node.attribute("id").unwrap_or_default(), [degrees("lon"), degrees("lat")]);
        if !on_earth(at[0], at[1]) {
            return Err(ImportError::OffEarth { part: format!("node/{id}"), x: at[0], y: at[1] });
        }
        nodes.insert(id, at);
    }
    let mut ways: BTreeMap<&str, Vec<[f64; 2]>> = BTreeMap::new();
    let mut out = Vec::new();
    for node in root.children_named("node") {
        let (id, tags) = (node.attribute("id").unwrap_or_default(), tags(node));
        if let Some(&at) = nodes.get(id).filter(|_| !tags.is_empty()) {
            out.push(Drawn { id: format!("node/{id}"), tags, form: Form::Point(at) });
        }
    }
    for way in root.children_named("way") {
        let id = way.attribute("id").unwrap_or_default();
        let refs = way.children_named("nd").filter_map(|nd| nd.attribute("ref"));
        let line: Vec<[f64; 2]> = refs.filter_map(|r| nodes.get(r).copied()).collect();
        let tags = tags(way);
        if !tags.is_empty() && line.len() > 1 {
            out.push(Drawn { id: format!("way/{id}"), tags, form: form(line.clone()) });
        }
        ways.insert(id, line);
    }
    for relation in root.children_named("relation") {
        let tags = tags(relation);
        if tags.get("type").map(String::as_str) != Some("multipolygon") {
            continue;
        }
        let members = |role: &str| -> Vec<Vec<[f64; 2]>> {
            let of_role = |m: &&Element| {
                m.attribute("role").unwrap_or("outer") == role && m.attribute("type") == Some("way")
            };
            let lines = relation
                .children_named("member")
                .filter(of_role)
                .filter_map(|m| ways.get(m.attribute("ref")?));
            rings(lines.cloned().collect())
        };
        let mut rings = members("outer");
        rings.extend(members("inner"));
        let id = format!("relation/{}", relation.attribute("id").unwrap_or_default());
        if !rings.is_empty() {
            out.push(Drawn { id, tags, form: Form::Area(rings) });
        }
    }
    Ok(out)
}

fn tags(element: &Element) -> BTreeMap<String, String> {
    let pairs = element
        .children_named("tag")
        .filter_map(|tag| Some((tag.attribute("k")?, tag.attribute("v")?)));
    pairs.map(|(key, value)| (key.to_owned(), value.to_owned())).collect()
}

fn form(mut line: Vec<[f64; 2]>) -> Form {
    if line.len() > 3 && line.first() == line.last() {
        line.pop();
        Form::Area(vec![line])
    } else {
        Form::Line(line)
    }
}

/// Joins lines end to end into closed rings; what does not close is left out.
fn rings(mut lines: Vec<Vec<[f64; 2]>>) -> Vec<Vec<[f64; 2]>> {
    let mut out = Vec::new();
    while let Some(mut ring) = lines.pop() {
        while ring.first() != ring.last() {
            let end = ring.last().copied();
            let Some(k) = lines
                .iter()
                .position(|line| line.first().copied() == end || line.last().copied() == end)
            else {
                break;
            };
            let mut next = lines.swap_remove(k);
            if next.first().copied() != end {
                next.reverse();
            }
            ring.extend(next.into_iter().skip(1));
        }
        if ring.len() > 3 && ring.first() == ring.last() {
            ring.pop();
            out.push(ring);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use crate::import::{Wishes, read};

    /// A room and a corridor in the form the OpenStreetMap wiki prescribes, the corridor as a multipolygon of two ways.
    #[test]
    fn a_room_and_a_corridor() {
        let text = r#"<?xml version="1.0" encoding="UTF-8"?>
<osm version="0.6">
 <node id="1" lat="50.0" lon="10.0"/><node id="2" lat="50.0" lon="10.0001"/>
 <node id="3" lat="50.0001" lon="10.0001"/><node id="4" lat="50.0001" lon="10.0"/>
 <node id="5" lat="50.0" lon="10.0002"/><node id="6" lat="50.0001" lon="10.0002"/>
 <node id="7" lat="50.00005" lon="10.0001"><tag k="door" v="yes"/><tag k="level" v="0"/></node>
 <way id="1"><nd ref="1"/><nd ref="2"/><nd ref="3"/><nd ref="4"/><nd ref="1"/>
  <tag k="indoor" v="room"/><tag k="level" v="0"/><tag k="name" v="Store &amp; shop"/></way>
 <way id="2"><nd ref="2"/><nd ref="5"/><nd ref="6"/></way>
 <way id="3"><nd ref="6"/><nd ref="3"/><nd ref="2"/></way>
 <relation id="1"><member type="way" ref="2" role="outer"/><member type="way" ref="3" role="outer"/>
  <tag k="type" v="multipolygon"/><tag k="indoor" v="corridor"/><tag k="level" v="0"/></relation>
</osm>"#;
        let plan = read(text.as_bytes(), None, None, &Wishes::default()).expect("a plan").plan;
        let names: Vec<&str> = plan.rooms.iter().map(|room| room.name.as_str()).collect();
        assert_eq!((names, plan.openings.len()), (vec!["Store & shop", "1"], 1));
        // 0.0001° of latitude by 0.0001° of longitude at 50° north: 11.1229 m × 7.1696 m (WGS 84 radii; from memory).
        assert!((plan.rooms[0].shape.area_m2() - 11.1229 * 7.1696).abs() < 0.02);
    }

    #[test]
    fn broken_xml_is_said() {
        let error =
            read(b"<osm><node id='1' lat='1'", None, None, &Wishes::default()).expect_err("broken");
        assert!(error.to_string().contains("OSM XML"), "{error}");
    }
}
