//! Points of a TSPLIB `.tsp` file (EUC_2D) or of an mtsp text file (a header line, then `id x y`).
//! The counts in mtsp headers are unreliable, so rows are counted.

use anyhow::{Context, Result, bail};
use planner::Walks;
use std::path::{Path, PathBuf};

pub(crate) struct Instance {
    pub(crate) points: Vec<(f64, f64)>,
}

/// Reads a file given by path, or by its path below the data folder.
pub(crate) fn read(file: &str) -> Result<Instance> {
    let path = locate(file)?;
    let text =
        std::fs::read_to_string(&path).with_context(|| format!("reading {}", path.display()))?;
    parse(&text).with_context(|| format!("in {}", path.display()))
}

fn locate(file: &str) -> Result<PathBuf> {
    let given = Path::new(file);
    if given.exists() {
        return Ok(given.to_owned());
    }
    ["", "tsplib/", "mtsp/"]
        .iter()
        .find_map(|folder| crate::data::path(&format!("{folder}{file}")).ok())
        .map_or_else(|| crate::data::path(file), Ok)
}

fn parse(text: &str) -> Result<Instance> {
    if let Some(kind) = text.lines().find_map(|l| l.trim().strip_prefix("EDGE_WEIGHT_TYPE")) {
        let kind = kind.trim_start_matches([':', ' ', '\t']).trim();
        if kind != "EUC_2D" {
            bail!("only EUC_2D distances are read, this file has {kind}");
        }
    }
    let mut points = Vec::new();
    for line in text.lines() {
        let fields: Vec<&str> = line.split_whitespace().collect();
        if fields.len() != 3 || fields[0].parse::<u32>().is_err() {
            continue;
        }
        let (Ok(x), Ok(y)) = (fields[1].parse(), fields[2].parse()) else { continue };
        points.push((x, y));
        if fields[0].parse() != Ok(points.len()) {
            bail!("row {} is numbered {}: rows must be 1, 2, 3 …", points.len(), fields[0]);
        }
    }
    if points.len() < 2 {
        bail!("fewer than two points");
    }
    Ok(Instance { points })
}

impl Instance {
    pub(crate) fn distance(&self, a: usize, b: usize) -> f64 {
        let ((ax, ay), (bx, by)) = (self.points[a], self.points[b]);
        ((ax - bx) * (ax - bx) + (ay - by) * (ay - by)).sqrt()
    }

    /// EUC_2D: distances rounded to the nearest whole number.
    pub(crate) fn rounded(&self) -> Walks {
        Walks::from_fn(self.points.len(), |a, b| (self.distance(a, b) + 0.5).floor() as i64)
    }

    /// Distances in `parts` of a unit, rounded to the nearest.
    pub(crate) fn in_parts(&self, parts: f64) -> Walks {
        Walks::from_fn(self.points.len(), |a, b| (self.distance(a, b) * parts + 0.5).floor() as i64)
    }
}
