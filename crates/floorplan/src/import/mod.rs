//! Plans out of other people's files. Every import ends in a list of what was understood, guessed and dropped.

pub mod border;
pub mod drawn;
mod dxf;
pub mod earth;
mod imdf;
pub mod indoor_tagging;
pub mod indoorgml;
pub mod mapped;
pub mod osm_xml;
pub mod report;
mod scale;
pub mod traced;
mod untangle;
mod xml;

pub use report::{Imported, Note, Report};

use crate::fabric::RoomKind;
use crate::id::{LevelId, StopId, ZoneId};
use crate::place::{Stop, Zone, ZoneKind};
use crate::plan::{Plan, unused};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Why a file gives no plan.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// Not of the format.
    #[error("this is no {format}: {why}")]
    Malformed {
        /// The format it was read as.
        format: &'static str,
        /// What is wrong.
        why: String,
    },
    /// Not to be told what it is, or not readable at all.
    #[error("{0}")]
    Unknown(String),
    /// No room, corridor or area.
    #[error("no floor was found: {0}")]
    NoFloor(String),
    /// A coordinate that is no number, or lies on no globe.
    #[error(
        "{part} has the coordinates {x}, {y}, which are no longitude and latitude: export it in WGS 84"
    )]
    OffEarth {
        /// The feature.
        part: String,
        /// First coordinate as read.
        x: f64,
        /// Second coordinate as read.
        y: f64,
    },
    /// The extent is not that of a site.
    #[error("the plan would be {0} m across: is the unit right? Give it with the unit or a scale")]
    Extent(i64),
    /// Smaller than a room.
    #[error("the plan would be {0} mm across: is the unit right? Give it with the unit or a scale")]
    Tiny(i64),
    /// Half of all rooms are larger than any room, or smaller.
    #[error(
        "half of its rooms would be {0} mm across or {1}: is the unit right? Give it with the unit or a scale"
    )]
    Rooms(i64, &'static str),
}

/// What the caller decides about an import.
#[derive(Debug, Clone)]
pub struct Wishes {
    /// The name of the site when the file has none.
    pub name: String,
    /// The longest gap given to every zone, in seconds.
    pub gap_s: u32,
    /// Storey height where the file states none, in millimetres.
    pub storey_mm: i64,
    /// Width of a door where the file states none, in millimetres.
    pub door_mm: i64,
}

impl Default for Wishes {
    /// Our own defaults: 30 min, 3.5 m, 0.9 m. The report lists them as guessed wherever they were used.
    fn default() -> Self {
        Self { name: "Imported plan".to_owned(), gap_s: 1800, storey_mm: 3500, door_mm: 900 }
    }
}

/// The widest plan that is taken without a question, in metres.
pub const EXTENT_MAX_M: i64 = 5_000;

/// What a file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// OpenStreetMap Simple Indoor Tagging as GeoJSON.
    IndoorTagging,
    /// OpenStreetMap Simple Indoor Tagging as OSM XML.
    OsmXml,
    /// IndoorGML 1.x.
    IndoorGml,
    /// Any GeoJSON plan with a mapping file.
    GeoJson,
    /// A DXF drawing, with a mapping file of its layers or by their names.
    Dxf,
    /// Indoor Mapping Data Format, an OGC community standard: GeoJSON files by feature type.
    Imdf,
}

/// Names under which formats are asked for.
const FORMATS: &[(&str, Format)] = &[
    ("indoor-tagging", Format::IndoorTagging),
    ("osm-xml", Format::OsmXml),
    ("indoorgml", Format::IndoorGml),
    ("geojson", Format::GeoJson),
    ("dxf", Format::Dxf),
    ("imdf", Format::Imdf),
];

impl Format {
    /// The format of this name.
    pub fn named(name: &str) -> Result<Self, ImportError> {
        let known = FORMATS.iter().find(|(known, _)| *known == name).map(|(_, format)| *format);
        known.ok_or_else(|| {
            ImportError::Unknown(format!("{name:?} is no known format; {}", known_names()))
        })
    }

    /// The format a file seems to be of, by its content.
    pub fn recognised(bytes: &[u8]) -> Result<Self, ImportError> {
        let head = String::from_utf8_lossy(&bytes[..bytes.len().min(4096)]);
        let text = head.trim_start_matches('\u{feff}').trim_start();
        if head.starts_with("AC10") {
            let why = "this is a DWG drawing: save it as ASCII DXF and import that";
            return Err(ImportError::Unknown(why.to_owned()));
        }
        if head.starts_with("AutoCAD Binary DXF") {
            let why = "this is a binary DXF: save it as ASCII DXF and import that";
            return Err(ImportError::Unknown(why.to_owned()));
        }
        if dxf_begins(text) {
            return Ok(Format::Dxf);
        }
        if text.starts_with('{') && text.contains("\"feature_type\"") {
            return Ok(Format::Imdf);
        }
        if text.starts_with('<') && text.contains("<osm") {
            return Ok(Format::OsmXml);
        }
        if text.starts_with('<') && text.contains("IndoorFeatures") {
            return Ok(Format::IndoorGml);
        }
        if text.starts_with('{') {
            return Ok(Format::IndoorTagging);
        }
        Err(ImportError::Unknown(format!("the content is of no known format; {}", known_names())))
    }
}

/// Whether a text begins like a DXF file: comments (code 999), then a section.
fn dxf_begins(text: &str) -> bool {
    let mut lines = text.lines().map(str::trim);
    while let (Some(code), Some(value)) = (lines.next(), lines.next()) {
        if code != "999" {
            return code == "0" && value == "SECTION";
        }
    }
    false
}

fn known_names() -> String {
    let names: Vec<&str> = FORMATS.iter().map(|(name, _)| *name).collect();
    format!("known are {}", names.join(", "))
}

/// Reads one file of a format, or of the format it seems to be of.
pub fn read(
    bytes: &[u8],
    format: Option<Format>,
    mapping: Option<&str>,
    wishes: &Wishes,
) -> Result<Imported, ImportError> {
    read_all(&[(&wishes.name, bytes)], format, mapping, wishes)
}

/// Reads files given as (name, bytes). GeoJSON with a mapping and DXF take several, one a level, lowest first; IMDF
/// takes the files of its archive.
pub fn read_all(
    files: &[(&str, &[u8])],
    format: Option<Format>,
    mapping: Option<&str>,
    wishes: &Wishes,
) -> Result<Imported, ImportError> {
    let Some(&(_, first)) = files.first() else {
        return Err(ImportError::Unknown("no file is given".to_owned()));
    };
    let format = match format {
        Some(format) => format,
        None if imdf::is_archive(files) => Format::Imdf,
        None if mapping.is_some() && Format::recognised(first).ok() != Some(Format::Dxf) => {
            Format::GeoJson
        }
        None => Format::recognised(first)?,
    };
    // Old drawings are written in code pages of their time; only their names suffer.
    let texts: Vec<(&str, Cow<'_, str>)> = if format == Format::Dxf {
        files.iter().map(|(name, bytes)| (*name, String::from_utf8_lossy(bytes))).collect()
    } else {
        let text = |(name, bytes): &(&'_ str, &'_ [u8])| {
            let broken =
                |_| ImportError::Unknown(format!("{name} is not UTF-8 text: save it as UTF-8"));
            std::str::from_utf8(bytes).map(str::to_owned).map_err(broken)
        };
        let mut texts = Vec::new();
        for file in files {
            texts.push((file.0, Cow::Owned(text(file)?)));
        }
        texts
    };
    let texts: Vec<(&str, &str)> =
        texts.iter().map(|(name, text)| (*name, text.as_ref())).collect();
    if texts.len() > 1 && !matches!(format, Format::GeoJson | Format::Dxf | Format::Imdf) {
        return Err(ImportError::Unknown(
            "several files make one plan only as geojson with a mapping, dxf or imdf".to_owned(),
        ));
    }
    let text = texts[0].1;
    let mut imported = match format {
        Format::IndoorTagging => indoor_tagging_geojson(text, wishes),
        Format::GeoJson => {
            let needed = || {
                ImportError::Unknown(
                    "a GeoJSON plan needs a mapping file: give it with --map".to_owned(),
                )
            };
            mapped::plan(&texts, mapping.ok_or_else(needed)?, wishes)
        }
        Format::IndoorGml => indoorgml::plan(text, wishes),
        Format::OsmXml => indoor_tagging::plan(osm_xml::drawn(text)?, wishes),
        Format::Dxf => dxf::plan(&texts, mapping, wishes),
        Format::Imdf => imdf::plan(&texts, wishes),
    }?;
    untangle::untangle(&mut imported.plan, &mut imported.report);
    scale::ask(&imported.plan)?;
    Ok(imported)
}

/// Reads OpenStreetMap Simple Indoor Tagging from GeoJSON.
pub fn indoor_tagging_geojson(text: &str, wishes: &Wishes) -> Result<Imported, ImportError> {
    indoor_tagging::plan(drawn::from_geojson(text)?, wishes)
}

/// One zone a level, one stop in each corridor, area and stair (or the largest room): a beginning for the person who
/// knows the place.
fn levels_into_zones(
    plan: &mut Plan,
    report: &mut Report,
    taken: &mut BTreeMap<String, u32>,
    wishes: &Wishes,
) {
    for level in plan.levels.clone() {
        let zone = ZoneId::from_name(level.id.as_str());
        report.guessed(&format!("one zone a level, longest gap {} s", wishes.gap_s), zone.as_str());
        plan.zones.push(Zone {
            id: zone.clone(),
            name: format!("Level {}", level.name),
            level: Some(level.id.clone()),
            kind: ZoneKind::General,
            gap_s: wishes.gap_s,
            shape: None,
            sight_mm: None,
        });
        for i in stop_rooms(plan, &level.id) {
            let room = &plan.rooms[i];
            let Some(at) = border::inside(&room.shape) else { continue };
            let id = StopId::from_name(&unused(taken, &format!("stop {}", room.id)));
            report.guessed("one stop in each corridor, area and stair", id.as_str());
            let (name, level) = (room.name.clone(), Some(level.id.clone()));
            plan.stops.push(Stop {
                id,
                name,
                zone: zone.clone(),
                level,
                at: Some(at),
                inspect_s: None,
            });
        }
        for room in plan.rooms.iter_mut().filter(|room| room.level == level.id) {
            room.zone = Some(zone.clone());
        }
    }
}

/// Corridors, areas and stairs of a level; its largest room when there are none.
fn stop_rooms(plan: &Plan, level: &LevelId) -> Vec<usize> {
    let on: Vec<usize> = (0..plan.rooms.len()).filter(|&i| plan.rooms[i].level == *level).collect();
    let ways = |i: &usize| {
        matches!(plan.rooms[*i].kind, RoomKind::Corridor | RoomKind::Area | RoomKind::Stair)
    };
    let chosen: Vec<usize> = on.iter().copied().filter(ways).collect();
    if !chosen.is_empty() {
        return chosen;
    }
    let walkable = on.into_iter().filter(|&i| plan.rooms[i].kind.walkable());
    walkable.max_by_key(|&i| plan.rooms[i].shape.double_area_mm2()).into_iter().collect()
}
