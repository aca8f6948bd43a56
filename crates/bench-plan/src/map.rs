//! Reads polygons with holes as the open sets write them: `[BORDER]` / `[OBSTACLE]` text, `.pol` of fractions, and
//! GeoJSON polygons. All figures stay in the file's own units.

use crate::data;
use anyhow::{Context, Result, anyhow, bail};
use geometry::{Grid, Mesh, Point};
use std::path::{Path, PathBuf};

/// One border and its holes.
#[derive(Debug)]
pub struct Map {
    /// The outer ring.
    pub border: Vec<Point>,
    /// Its holes.
    pub holes: Vec<Vec<Point>>,
}

impl Map {
    /// Reads a file: a path, or a name below the data root.
    pub fn read(name: &str) -> Result<Self> {
        let path = found(name)?;
        let text = std::fs::read_to_string(&path)
            .with_context(|| format!("reading {}", path.display()))?;
        let mut rings = match path.extension().and_then(|e| e.to_str()) {
            Some("pol") => pol(&text)?,
            Some("geojson" | "json") => geojson(&text)?,
            _ => sections(&text)?,
        };
        if rings.is_empty() {
            bail!("{} holds no ring", path.display());
        }
        let border = rings.remove(0);
        Ok(Self { border, holes: rings })
    }

    /// How far it reaches, the longer side of its box.
    pub fn extent(&self) -> f64 {
        let (mut lo, mut hi) = (self.border[0], self.border[0]);
        for p in &self.border {
            lo = Point::new(lo.x.min(p.x), lo.y.min(p.y));
            hi = Point::new(hi.x.max(p.x), hi.y.max(p.y));
        }
        (hi.x - lo.x)
            .max(hi.y - lo.y)
            .max(lo.x.abs())
            .max(lo.y.abs())
            .max(hi.x.abs())
            .max(hi.y.abs())
    }

    pub(crate) fn mesh(&self) -> Result<Mesh> {
        Ok(Mesh::of_shape(&self.border, &self.holes, Grid::fine(self.extent()))?)
    }
}

fn found(name: &str) -> Result<PathBuf> {
    let direct = Path::new(name);
    if direct.exists() {
        return Ok(direct.to_owned());
    }
    for folder in ["", "maps", "agp", "indoor"] {
        let relative = Path::new(folder).join(name);
        if let Ok(path) = data::path(&relative.to_string_lossy()) {
            return Ok(path);
        }
    }
    data::path(name)
}

fn sections(text: &str) -> Result<Vec<Vec<Point>>> {
    let mut rings: Vec<Vec<Point>> = Vec::new();
    let mut reading = false;
    for line in text.lines().map(str::trim).filter(|line| !line.is_empty()) {
        match line {
            "[BORDER]" | "[OBSTACLE]" => {
                reading = true;
                rings.push(Vec::new());
            }
            _ if line.starts_with('[') => reading = false,
            _ if reading => {
                let mut numbers = line.split_whitespace().map(str::parse::<f64>);
                let (Some(Ok(x)), Some(Ok(y))) = (numbers.next(), numbers.next()) else {
                    bail!("{line:?} is no pair of numbers");
                };
                rings
                    .last_mut()
                    .ok_or_else(|| anyhow!("numbers before a section"))?
                    .push(Point::new(x, y));
            }
            _ => {}
        }
    }
    Ok(rings)
}

fn pol(text: &str) -> Result<Vec<Vec<Point>>> {
    let mut words = text.split_whitespace();
    let mut rings = vec![pol_ring(&mut words)?];
    let holes: usize = words.next().unwrap_or("0").parse()?;
    for _ in 0..holes {
        rings.push(pol_ring(&mut words)?);
    }
    Ok(rings)
}

fn pol_ring<'a>(words: &mut impl Iterator<Item = &'a str>) -> Result<Vec<Point>> {
    let count: usize = words.next().context("a ring without a count")?.parse()?;
    let mut number = || -> Result<f64> {
        let word = words.next().context("a ring ends too soon")?;
        let (p, q) = word.split_once('/').unwrap_or((word, "1"));
        Ok(p.parse::<f64>()? / q.parse::<f64>()?)
    };
    (0..count).map(|_| Ok(Point::new(number()?, number()?))).collect()
}

fn geojson(text: &str) -> Result<Vec<Vec<Point>>> {
    let value: serde_json::Value = serde_json::from_str(text)?;
    let polygon = polygon(&value).context("no Polygon in this GeoJSON")?;
    let ring = |ring: &serde_json::Value| -> Option<Vec<Point>> {
        let mut points: Vec<Point> = (ring.as_array()?.iter())
            .map(|p| Some(Point::new(p.get(0)?.as_f64()?, p.get(1)?.as_f64()?)))
            .collect::<Option<_>>()?;
        if points.first() == points.last() {
            points.pop();
        }
        Some(points)
    };
    polygon.iter().map(ring).collect::<Option<Vec<_>>>().context("a ring that is no list of pairs")
}

fn polygon(value: &serde_json::Value) -> Option<&Vec<serde_json::Value>> {
    match value.get("type")?.as_str()? {
        "Polygon" => value.get("coordinates")?.as_array(),
        "Feature" => polygon(value.get("geometry")?),
        "FeatureCollection" => value.get("features")?.as_array()?.iter().find_map(polygon),
        _ => None,
    }
}
