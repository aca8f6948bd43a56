//! DXF drawings: walls are lines, rooms are the faces between them, gaps of door size are closed and reported.
//!
//! The text is read here and not by a library: a plan needs a dozen of the format's entities, this room has no clock
//! and no file system, and a hostile file must end in a sentence (DXF Reference, ASCII form; the binary form is
//! refused). One file is one level, lowest first.

mod drawing;
mod faces;
mod gaps;
mod groups;

use super::{EXTENT_MAX_M, ImportError, Imported, Report, Wishes, levels_into_zones};
use crate::id::LevelId;
use crate::place::Level;
use crate::plan::{Plan, unused};
use drawing::Drawing;
use geometry::Point;
use serde::Deserialize;
use std::collections::BTreeMap;

/// What the layers mean.
#[derive(Debug, Clone, PartialEq, Deserialize, Default)]
#[serde(deny_unknown_fields)]
pub(super) struct Mapping {
    /// Layers that hold walls.
    #[serde(default)]
    pub(super) wall: Vec<String>,
    /// Layers that hold windows and glass: they close rooms and are seen through.
    #[serde(default)]
    pub(super) window: Vec<String>,
    /// Layers that hold the signs of doors.
    #[serde(default)]
    pub(super) door: Vec<String>,
    /// Layers that hold the names of rooms.
    #[serde(default)]
    pub(super) name: Vec<String>,
    /// The unit, where the file's own is missing or wrong: mm, cm, m, in, ft.
    #[serde(default)]
    pub(super) unit: Option<String>,
    /// The height of a storey, in millimetres.
    #[serde(default)]
    pub(super) storey_mm: Option<i64>,
}

/// Words in the names of layers that say what they hold, in the languages drawings come in.
const WALL: &[&str] = &[
    "wall", "mauer", "wand", "muro", "mur", "pared", "parete", "concr", "beton", "plaster", "putz",
];
const WINDOW: &[&str] = &["window", "glaz", "fenster", "ventana", "fenetre", "finestra"];
const DOOR: &[&str] = &["door", "tuer", "tür", "puerta", "porte", "porta"];

/// Makes a plan out of drawings given as (level name, text), lowest first.
pub(super) fn plan(
    files: &[(&str, &str)],
    mapping: Option<&str>,
    wishes: &Wishes,
) -> Result<Imported, ImportError> {
    let malformed = |why: String| ImportError::Malformed { format: "mapping file", why };
    let given: Option<Mapping> = mapping
        .map(|text| toml::from_str(text).map_err(|e| malformed(e.to_string())))
        .transpose()?;
    let mut reading = Reading {
        plan: Plan::new(&wishes.name),
        report: Report::default(),
        taken: BTreeMap::new(),
        wishes,
    };
    for (i, (name, text)) in files.iter().enumerate() {
        let sections = groups::sections(text)?;
        let unit_mm =
            reading.unit(given.as_ref().and_then(|m| m.unit.as_deref()), sections.unit)?;
        let drawing = Drawing::new(&sections, unit_mm)?;
        let mapping = match &given {
            Some(mapping) => mapping.clone(),
            None => reading.guessed(&drawing)?,
        };
        let storey_mm = mapping.storey_mm.unwrap_or(wishes.storey_mm);
        let id = LevelId::from_name(&unused(&mut reading.taken, name));
        let elevation_mm = storey_mm * i as i64;
        reading.plan.levels.push(Level { id: id.clone(), name: (*name).to_owned(), elevation_mm });
        if files.len() > 1 && mapping.storey_mm.is_none() {
            reading.report.guessed(&format!("elevation: {storey_mm} mm a storey"), id.as_str());
        }
        for (kind, count) in &drawing.unread {
            reading.report.dropped(&format!("{count} of the kind {kind}, which is not read"), name);
        }
        if drawing.beyond > 0 {
            let count = drawing.beyond;
            reading.report.dropped(&format!("{count} lines that end beyond all numbers"), name);
        }
        reading.level(&id, &drawing, &mapping)?;
    }
    reading.report.dropped("the place on Earth, which a drawing does not state", &wishes.name);
    levels_into_zones(&mut reading.plan, &mut reading.report, &mut reading.taken, wishes);
    Ok(Imported { plan: reading.plan, report: reading.report })
}

pub(super) struct Reading<'a> {
    pub(super) plan: Plan,
    pub(super) report: Report,
    pub(super) taken: BTreeMap<String, u32>,
    wishes: &'a Wishes,
}

impl Reading<'_> {
    /// The millimetres of the drawing's unit.
    fn unit(&mut self, given: Option<&str>, stated: Option<i64>) -> Result<f64, ImportError> {
        if let Some(name) = given {
            let known = [("mm", 1.0), ("cm", 10.0), ("m", 1e3), ("in", 25.4), ("ft", 304.8)];
            let found = known.iter().find(|(known, _)| *known == name).map(|(_, mm)| *mm);
            return found.ok_or_else(|| ImportError::Malformed {
                format: "mapping file",
                why: format!("unit = {name:?} is none of mm, cm, m, in, ft"),
            });
        }
        // DXF Reference, header variable $INSUNITS.
        let mm = match stated.unwrap_or(0) {
            1 => 25.4,
            2 => 304.8,
            4 => 1.0,
            5 => 10.0,
            6 => 1e3,
            14 => 100.0,
            0 => {
                let what = "the drawing states no unit: taken as millimetres";
                self.report.guessed(what, &self.wishes.name);
                return Ok(1.0);
            }
            other => {
                let why = format!(
                    "its unit ($INSUNITS {other}) is none of a building: give `unit` with --map"
                );
                return Err(ImportError::Malformed { format: "DXF", why });
            }
        };
        self.report.understood(&format!("one unit is {mm} mm"), &self.wishes.name);
        Ok(mm)
    }

    /// What layers mean by their names.
    fn guessed(&mut self, drawing: &Drawing) -> Result<Mapping, ImportError> {
        let drawn: Vec<&String> = (drawing.layers.iter().enumerate())
            .filter(|(i, _)| drawing.strokes.iter().any(|stroke| stroke.layer == *i))
            .map(|(_, name)| name)
            .collect();
        let named = |words: &[&str]| -> Vec<String> {
            let holds = |name: &&&String| words.iter().any(|w| name.to_lowercase().contains(w));
            drawn.iter().filter(holds).map(|name| (*name).clone()).collect()
        };
        let mapping = Mapping {
            wall: named(WALL),
            window: named(WINDOW),
            door: named(DOOR),
            name: drawing.layers.clone(),
            ..Mapping::default()
        };
        if mapping.wall.is_empty() {
            let layers: Vec<&str> = drawn.iter().take(40).map(|name| name.as_str()).collect();
            return Err(ImportError::NoFloor(format!(
                "no layer is named like walls; say with --map which of these holds them: {}",
                layers.join(", ")
            )));
        }
        for (what, layers) in
            [("walls", &mapping.wall), ("windows", &mapping.window), ("doors", &mapping.door)]
        {
            for layer in layers {
                self.report.guessed(&format!("a layer holds {what} by its name"), layer);
            }
        }
        Ok(mapping)
    }

    fn level(
        &mut self,
        level: &LevelId,
        drawing: &Drawing,
        mapping: &Mapping,
    ) -> Result<(), ImportError> {
        let on = |layer: usize, names: &[String]| {
            names.iter().any(|name| name.eq_ignore_ascii_case(&drawing.layers[layer]))
        };
        for name in mapping.wall.iter().chain(&mapping.window).chain(&mapping.door) {
            if !drawing.layers.iter().any(|layer| layer.eq_ignore_ascii_case(name)) {
                self.report.dropped("a layer of the mapping that the drawing has not", name);
            }
        }
        let strokes = |names: &[String]| -> Vec<(Point, Point)> {
            let on = drawing.strokes.iter().filter(|stroke| on(stroke.layer, names));
            on.map(|stroke| (stroke.a, stroke.b)).collect()
        };
        let (walls, windows) = (strokes(&mapping.wall), strokes(&mapping.window));
        if walls.is_empty() {
            let why = format!("nothing is drawn on the layers {}", mapping.wall.join(", "));
            return Err(ImportError::NoFloor(why));
        }
        // The frame begins at the lower left corner of the walls, wherever the drawing's own zero is.
        let all = || walls.iter().flat_map(|&(a, b)| [a, b]);
        let least = |of: fn(Point) -> f64| all().map(of).fold(f64::INFINITY, f64::min);
        let most = |of: fn(Point) -> f64| all().map(of).fold(f64::NEG_INFINITY, f64::max);
        let corner = Point::new(libm::floor(least(|p| p.x)), libm::floor(least(|p| p.y)));
        let extent = (most(|p| p.x) - corner.x).max(most(|p| p.y) - corner.y);
        if extent > EXTENT_MAX_M as f64 * 1e3 {
            return Err(ImportError::Extent((extent / 1e3).min(1e15) as i64));
        }
        if extent < 1_500.0 {
            return Err(ImportError::Tiny(extent as i64));
        }
        let moved = |p: Point| Point::new(p.x - corner.x, p.y - corner.y);
        let pairs = |list: Vec<(Point, Point)>| -> Vec<(Point, Point)> {
            list.into_iter().map(|(a, b)| (moved(a), moved(b))).collect()
        };
        let signs: Vec<drawing::Stroke> = (drawing.strokes.iter())
            .filter(|stroke| on(stroke.layer, &mapping.door))
            .map(|s| drawing::Stroke { a: moved(s.a), b: moved(s.b), ..*s })
            .collect();
        let glass: Vec<drawing::Stroke> = (drawing.strokes.iter())
            .filter(|s| drawing.windows.contains(&s.entity) || on(s.layer, &mapping.window))
            .map(|s| drawing::Stroke { a: moved(s.a), b: moved(s.b), ..*s })
            .collect();
        let texts = drawing.texts.iter().filter(|(_, _, layer)| on(*layer, &mapping.name));
        let names: Vec<(Point, &str)> =
            texts.map(|(at, text, _)| (moved(*at), text.as_str())).collect();
        let parts = faces::Parts {
            walls: pairs(walls),
            windows: pairs(windows),
            signs: [
                gaps::Signs::new(signs.iter().filter(|s| !drawing.windows.contains(&s.entity))),
                gaps::Signs::new(glass.iter()),
            ],
            names,
        };
        self.faces(level, &parts)
    }
}
