//! Other people's drawings: GeoJSON and OSM XML with indoor tags, IndoorGML, DXF, IMDF.

use crate::{Target, text};
use floorplan::Plan;
use floorplan::import::{self, Format, Wishes};

pub(crate) const TARGET: Target = Target {
    name: "import",
    says: "what is imported is a plan that can be kept, read again and checked",
    reads,
    seeds: || {
        let mut seeds: Vec<Vec<u8>> = vec![geojson(), OSM.into(), GML.into(), dxf(), IMDF.into()];
        seeds.push(format!("\u{feff}{}", text(&geojson())).into_bytes());
        seeds
    },
    longest: 16 * 1024,
};

fn reads(bytes: &[u8]) {
    let wishes = Wishes { name: "fuzz".into(), ..Wishes::default() };
    taken(import::read(bytes, None, None, &wishes));
    // The same file as the source of a house's own mapping.
    if bytes.first() == Some(&b'{') {
        taken(import::read(bytes, Some(Format::GeoJson), Some(MAPPING), &wishes));
    }
}

fn taken(read: Result<import::Imported, import::ImportError>) {
    match read {
        Ok(imported) => {
            let again = Plan::read(&imported.plan.canonical());
            assert_eq!(again.ok().as_ref(), Some(&imported.plan), "can be kept and read");
            let _ = imported.plan.check();
            let _ = imported.report.to_string();
        }
        Err(fault) => assert!(!fault.to_string().is_empty(), "a refusal says why"),
    }
}

const MAPPING: &str = "[features]\nroom = \"indoor=room\"\n";

fn geojson() -> Vec<u8> {
    let feature = |room: &str, x: f64| {
        format!(
            r#"{{"type":"Feature","properties":{{"indoor":"{room}","level":"0;1","name":"Hall"}},"geometry":{{"type":"Polygon","coordinates":[[[{x},50],[{x1},50],[{x1},50.0002],[{x},50.0002],[{x},50]]]}}}}"#,
            x1 = x + 0.0002
        )
    };
    let door = r#"{"type":"Feature","id":"d","properties":{"door":"yes","level":"0"},"geometry":{"type":"Point","coordinates":[8.0002,50.0001]}}"#;
    format!(
        r#"{{"type":"FeatureCollection","features":[{},{},{door}]}}"#,
        feature("room", 8.0),
        feature("corridor", 8.0002)
    )
    .into_bytes()
}

const OSM: &str = r#"<osm version="0.6"><node id="1" lat="50" lon="8"/><node id="2" lat="50" lon="8.0002"/><node id="3" lat="50.0002" lon="8.0002"/><node id="4" lat="50.0001" lon="8.0001"><tag k="entrance" v="main"/></node><way id="9"><nd ref="1"/><nd ref="2"/><nd ref="3"/><nd ref="1"/><tag k="indoor" v="room"/><tag k="level" v="0-2"/></way><relation id="10"><member type="way" ref="9" role="outer"/><tag k="type" v="multipolygon"/><tag k="indoor" v="area"/></relation></osm>"#;

const GML: &str = r##"<core:IndoorFeatures xmlns:core="http://www.opengis.net/indoorgml/1.0/core" xmlns:gml="http://www.opengis.net/gml/3.2"><core:primalSpaceFeatures><core:PrimalSpaceFeatures><core:cellSpaceMember><core:CellSpace gml:id="C1"><gml:name>Hall</gml:name><core:cellSpaceGeometry><core:Geometry2D><gml:Polygon><gml:exterior><gml:LinearRing><gml:pos>0 0 0</gml:pos><gml:pos>5 0 0</gml:pos><gml:pos>5 4 0</gml:pos><gml:pos>0 0 0</gml:pos></gml:LinearRing></gml:exterior></gml:Polygon></core:Geometry2D></core:cellSpaceGeometry></core:CellSpace></core:cellSpaceMember></core:PrimalSpaceFeatures></core:primalSpaceFeatures></core:IndoorFeatures>"##;

const IMDF: &str = r#"{"type":"FeatureCollection","name":"unit","features":[{"type":"Feature","feature_type":"level","id":"l-1","properties":{"ordinal":0,"name":{"en":"Ground"}},"geometry":{"type":"Polygon","coordinates":[[[8,50],[8.0004,50],[8.0004,50.0002],[8,50.0002],[8,50]]]}},{"type":"Feature","feature_type":"unit","id":"u-1","properties":{"level_id":"l-1","category":"room","name":null},"geometry":{"type":"Polygon","coordinates":[[[8,50],[8.0002,50],[8.0002,50.0002],[8,50.0002],[8,50]]]}},{"type":"Feature","feature_type":"opening","id":"o-1","properties":{"level_id":"l-1","category":"pedestrian"},"geometry":{"type":"LineString","coordinates":[[8.0002,50.00008],[8.0002,50.0001]]}}]}"#;

/// A house of 10 m by 4 m with a wall across and a gap of a door in it (DXF Reference, ASCII form).
fn dxf() -> Vec<u8> {
    let walls = [
        [0, 0, 10_000, 0],
        [10_000, 0, 10_000, 4_000],
        [10_000, 4_000, 0, 4_000],
        [0, 4_000, 0, 0],
        [6_000, 0, 6_000, 1_500],
        [6_000, 2_400, 6_000, 4_000],
    ];
    let mut text =
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
            .to_owned();
    for [x, y, to_x, to_y] in walls {
        text += &format!("0\nLINE\n8\nA-WALL\n10\n{x}\n20\n{y}\n11\n{to_x}\n21\n{to_y}\n");
    }
    (text + "0\nENDSEC\n0\nEOF\n").into_bytes()
}
