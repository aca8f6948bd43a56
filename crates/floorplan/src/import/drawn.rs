//! Features as other people draw them: tags and a shape in longitude and latitude.

use super::ImportError;
use geojson::{Feature, GeoJson, GeometryValue, JsonValue, Position, feature::Id};
use std::collections::BTreeMap;

/// One feature.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// Its id in the source.
    pub id: String,
    /// Its tags.
    pub tags: BTreeMap<String, String>,
    /// Its shape.
    pub form: Form,
}

/// A shape in degrees, longitude first.
#[derive(Debug, Clone, PartialEq)]
pub enum Form {
    /// A point.
    Point([f64; 2]),
    /// A line.
    Line(Vec<[f64; 2]>),
    /// Outer ring, then holes; rings without the closing point.
    Area(Vec<Vec<[f64; 2]>>),
}

impl Drawn {
    /// The value of a tag.
    pub fn tag(&self, key: &str) -> Option<&str> {
        self.tags.get(key).map(String::as_str)
    }

    /// Every coordinate.
    pub fn places(&self) -> Box<dyn Iterator<Item = [f64; 2]> + '_> {
        match &self.form {
            Form::Point(at) => Box::new(std::iter::once(*at)),
            Form::Line(line) => Box::new(line.iter().copied()),
            Form::Area(rings) => Box::new(rings.iter().flatten().copied()),
        }
    }
}

/// Features of a GeoJSON text (RFC 7946); what has several parts becomes several features.
pub fn from_geojson(text: &str) -> Result<Vec<Drawn>, ImportError> {
    let malformed = |why: String| ImportError::Malformed { format: "GeoJSON", why };
    let features = match text.parse::<GeoJson>().map_err(|error| malformed(error.to_string()))? {
        GeoJson::FeatureCollection(collection) => collection.features,
        GeoJson::Feature(feature) => vec![feature],
        GeoJson::Geometry(_) => {
            return Err(malformed("a bare geometry says nothing about floors".to_owned()));
        }
    };
    let mut out = Vec::new();
    for (index, feature) in features.into_iter().enumerate() {
        let id = id(&feature, index);
        let tags = tags(&feature);
        let Some(geometry) = feature.geometry else { continue };
        let mut forms = Vec::new();
        collect(geometry.value, &mut forms);
        for form in forms {
            out.push(Drawn { id: id.clone(), tags: tags.clone(), form });
        }
    }
    for drawn in &out {
        if let Some([x, y]) = drawn.places().find(|[x, y]| !on_earth(*x, *y)) {
            return Err(ImportError::OffEarth { part: drawn.id.clone(), x, y });
        }
    }
    Ok(out)
}

/// Whether these are a longitude and a latitude in degrees.
pub fn on_earth(lon: f64, lat: f64) -> bool {
    (-180.0..=180.0).contains(&lon) && (-90.0..=90.0).contains(&lat)
}

fn id(feature: &Feature, index: usize) -> String {
    match &feature.id {
        Some(Id::String(text)) => text.clone(),
        Some(Id::Number(number)) => number.to_string(),
        None => match feature.property("@id").or(feature.property("id")) {
            Some(JsonValue::String(text)) => text.clone(),
            Some(other) => other.to_string(),
            None => format!("feature {index}"),
        },
    }
}

fn plain(value: &JsonValue) -> Option<String> {
    match value {
        JsonValue::String(text) => Some(text.clone()),
        JsonValue::Number(_) | JsonValue::Bool(_) => Some(value.to_string()),
        _ => None,
    }
}

/// Properties as text, and the `feature_type` of IMDF; nested `tags` (as some exporters write them) are lifted, parts
/// of an object stand as `key.part`.
fn tags(feature: &Feature) -> BTreeMap<String, String> {
    let mut out = BTreeMap::new();
    let kind = feature.foreign_members.as_ref().and_then(|members| members.get("feature_type"));
    out.extend(kind.and_then(plain).map(|kind| ("feature_type".to_owned(), kind)));
    let Some(properties) = &feature.properties else { return out };
    let nested = properties.get("tags").and_then(JsonValue::as_object);
    for (key, value) in properties.iter().chain(nested.into_iter().flatten()) {
        match value {
            JsonValue::Object(parts) if key != "tags" => {
                // A label in several languages: the English one, else the first.
                let label = parts.get("en").or(parts.values().next()).and_then(plain);
                out.extend(label.map(|label| (key.clone(), label)));
                let parts = parts.iter().filter_map(|(part, v)| Some((part, plain(v)?)));
                out.extend(parts.map(|(part, text)| (format!("{key}.{part}"), text)));
            }
            JsonValue::Array(items) => {
                let items: Vec<String> = items.iter().filter_map(plain).collect();
                out.insert(key.clone(), items.join(";"));
            }
            _ => out.extend(plain(value).map(|text| (key.clone(), text))),
        }
    }
    out
}

fn collect(value: GeometryValue, out: &mut Vec<Form>) {
    match value {
        GeometryValue::Point { coordinates } => out.extend(pair(&coordinates).map(Form::Point)),
        GeometryValue::MultiPoint { coordinates } => {
            out.extend(coordinates.iter().filter_map(pair).map(Form::Point))
        }
        GeometryValue::LineString { coordinates } => out.push(Form::Line(line(&coordinates))),
        GeometryValue::MultiLineString { coordinates } => {
            out.extend(coordinates.iter().map(|l| Form::Line(line(l))))
        }
        GeometryValue::Polygon { coordinates } => out.push(area(&coordinates)),
        GeometryValue::MultiPolygon { coordinates } => {
            out.extend(coordinates.iter().map(|a| area(a)))
        }
        GeometryValue::GeometryCollection { geometries } => {
            for geometry in geometries {
                collect(geometry.value, out);
            }
        }
    }
}

fn pair(position: &Position) -> Option<[f64; 2]> {
    let slice = position.as_slice();
    Some([*slice.first()?, *slice.get(1)?])
}

fn line(positions: &[Position]) -> Vec<[f64; 2]> {
    positions.iter().filter_map(pair).collect()
}

fn area(rings: &[Vec<Position>]) -> Form {
    let open = |ring: &Vec<Position>| {
        let mut points = line(ring);
        if points.len() > 1 && points.first() == points.last() {
            points.pop();
        }
        points
    };
    Form::Area(rings.iter().map(open).collect())
}
