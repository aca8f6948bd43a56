//! What a DXF file draws, as straight strokes in millimetres by layer: arcs and bulges in chords, blocks put in their
//! places.

use super::super::ImportError;
use super::groups::{Entity, Group, Sections};
use geometry::Point;
use std::collections::{BTreeMap, BTreeSet};

/// A stroke of the drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stroke {
    pub(super) a: Point,
    pub(super) b: Point,
    /// The layer, as numbered by [`Drawing::layers`].
    pub(super) layer: usize,
    /// Strokes of one entity on the page, blocks included, share a number.
    pub(super) entity: usize,
}

/// Strokes, texts and layers.
#[derive(Debug, Clone, Default)]
pub(super) struct Drawing {
    pub(super) strokes: Vec<Stroke>,
    /// Texts with their places and layers.
    pub(super) texts: Vec<(Point, String, usize)>,
    pub(super) layers: Vec<String>,
    /// Entities that are blocks named like windows.
    pub(super) windows: BTreeSet<usize>,
    /// Kinds of entity that are not read, with how many.
    pub(super) unread: BTreeMap<String, usize>,
    /// Lines left out because an end is beyond all numbers.
    pub(super) beyond: usize,
    numbers: BTreeMap<String, usize>,
    entity: usize,
}

/// Words in the names of blocks that are windows, whatever layer they lie on.
const WINDOW_BLOCKS: &[&str] = &["wind", "fenst", "ventan", "fenet", "finestr"];
/// A stroke count that no floor plan has: the drawing is cut short with an error.
const STROKES_MAX: usize = 2_000_000;
/// Blocks inside blocks deeper than this draw themselves.
const DEPTH_MAX: usize = 12;
/// An arc is drawn in chords of at most this turn, in radians.
const CHORD: f64 = 0.26;

impl Drawing {
    /// Draws a file; `scale` is the millimetres of its unit.
    pub(super) fn new(sections: &Sections<'_>, scale: f64) -> Result<Self, ImportError> {
        let mut drawing = Self::default();
        let blocks: Blocks<'_> =
            sections.blocks.iter().map(|(name, base, inside)| (*name, (*base, inside))).collect();
        let page = Placing { x: [scale, 0.0], y: [0.0, scale], at: [0.0, 0.0] };
        // What lies on paper space (code 67) is the sheet around the plan.
        for entity in sections.entities.iter().filter(|entity| entity.whole(67) == 0) {
            drawing.entity += 1;
            let block = entity.text(2).filter(|_| entity.kind == "INSERT").unwrap_or_default();
            if WINDOW_BLOCKS.iter().any(|word| block.to_lowercase().contains(word)) {
                drawing.windows.insert(drawing.entity);
            }
            drawing.draw(entity, &blocks, page, None, 0)?;
        }
        drawing.polylines(&sections.entities, page)?;
        Ok(drawing)
    }

    /// The number of a layer; names are the same whatever their case.
    fn layer(&mut self, name: &str) -> usize {
        let key = name.to_lowercase();
        if let Some(&known) = self.numbers.get(&key) {
            return known;
        }
        self.layers.push(name.to_owned());
        self.numbers.insert(key, self.layers.len() - 1);
        self.layers.len() - 1
    }

    fn draw(
        &mut self,
        entity: &Entity<'_>,
        blocks: &Blocks<'_>,
        placing: Placing,
        inherited: Option<usize>,
        depth: usize,
    ) -> Result<(), ImportError> {
        if self.strokes.len() > STROKES_MAX {
            let why = format!("it has more than {STROKES_MAX} strokes: export only the walls");
            return Err(ImportError::Malformed { format: "DXF", why });
        }
        // Things on layer 0 of a block lie on the layer the block is put on.
        let own = entity.layer();
        let layer = match inherited {
            Some(layer) if own == "0" => layer,
            _ => self.layer(own),
        };
        // Flat things seen from below are mirrored (the arbitrary axis rule for an extrusion of 0, 0, −1).
        let flipped = entity.number(230).is_some_and(|z| z < 0.0) && entity.kind != "LINE";
        let placing = if flipped { placing.mirrored() } else { placing };
        let at =
            |x: i32, y: i32| -> Option<[f64; 2]> { Some([entity.number(x)?, entity.number(y)?]) };
        match entity.kind {
            "LINE" => {
                if let (Some(a), Some(b)) = (at(10, 20), at(11, 21)) {
                    self.line(&[a, b], placing, layer);
                }
            }
            "LWPOLYLINE" => {
                let line = bulged(&corners(&entity.groups), entity.whole(70) & 1 == 1);
                self.line(&line, placing, layer);
            }
            "ARC" | "CIRCLE" => {
                if let (Some(middle), Some(radius)) = (at(10, 20), entity.number(40)) {
                    let whole = entity.kind == "CIRCLE";
                    let from = if whole { 0.0 } else { entity.number(50).unwrap_or(0.0) };
                    let to = if whole { 360.0 } else { entity.number(51).unwrap_or(360.0) };
                    self.line(&arc(middle, radius, from, to), placing, layer);
                }
            }
            "INSERT" => self.insert(entity, blocks, placing, layer, depth)?,
            "TEXT" | "MTEXT" => {
                if let (Some(p), Some(text)) = (at(10, 20), entity.text(1)) {
                    self.texts.push((placing.put(p), plain(text), layer));
                }
            }
            "VERTEX" | "SEQEND" | "POLYLINE" | "ATTRIB" | "ATTDEF" | "POINT" | "HATCH"
            | "SOLID" | "VIEWPORT" | "DIMENSION" | "LEADER" => {}
            other => *self.unread.entry(other.to_owned()).or_insert(0) += 1,
        }
        Ok(())
    }

    fn insert(
        &mut self,
        entity: &Entity<'_>,
        blocks: &Blocks<'_>,
        placing: Placing,
        layer: usize,
        depth: usize,
    ) -> Result<(), ImportError> {
        let Some((base, inside)) = entity.text(2).and_then(|name| blocks.get(name)) else {
            return Ok(());
        };
        if depth >= DEPTH_MAX {
            let why = "its blocks hold each other: explode them and export again".to_owned();
            return Err(ImportError::Malformed { format: "DXF", why });
        }
        let number = |code| entity.number(code);
        let (sin, cos) = libm::sincos(number(50).unwrap_or(0.0).to_radians());
        let (sx, sy) = (number(41).unwrap_or(1.0), number(42).unwrap_or(1.0));
        let (columns, rows) = (entity.whole(70).clamp(1, 100), entity.whole(71).clamp(1, 100));
        for column in 0..columns {
            for row in 0..rows {
                let (dx, dy) = (
                    column as f64 * number(44).unwrap_or(0.0),
                    row as f64 * number(45).unwrap_or(0.0),
                );
                let at = [
                    number(10).unwrap_or(0.0) + dx * cos - dy * sin,
                    number(20).unwrap_or(0.0) + dx * sin + dy * cos,
                ];
                let own = Placing { x: [sx * cos, sx * sin], y: [-sy * sin, sy * cos], at };
                let put = placing.then(own, *base);
                for part in inside.iter() {
                    self.draw(part, blocks, put, Some(layer), depth + 1)?;
                }
            }
        }
        Ok(())
    }

    /// Polylines of the old kind: their corners follow as entities of their own.
    fn polylines(&mut self, entities: &[Entity<'_>], placing: Placing) -> Result<(), ImportError> {
        let mut open: Option<(Vec<Corner>, bool, usize)> = None;
        for entity in entities.iter().filter(|entity| entity.whole(67) == 0) {
            match entity.kind {
                "POLYLINE" => {
                    let layer = self.layer(entity.layer());
                    open = Some((Vec::new(), entity.whole(70) & 1 == 1, layer));
                }
                "VERTEX" => {
                    if let Some((corners, ..)) = &mut open {
                        corners.extend(self::corners(&entity.groups));
                    }
                }
                _ => {
                    if let Some((corners, closed, layer)) = open.take() {
                        self.entity += 1;
                        self.line(&bulged(&corners, closed), placing, layer);
                    }
                }
            }
        }
        Ok(())
    }

    fn line(&mut self, points: &[[f64; 2]], placing: Placing, layer: usize) {
        for ends in points.windows(2) {
            let (a, b) = (placing.put(ends[0]), placing.put(ends[1]));
            if ![a.x, a.y, b.x, b.y].iter().all(|n| n.is_finite()) {
                self.beyond += 1;
            } else if a != b {
                self.strokes.push(Stroke { a, b, layer, entity: self.entity });
            }
        }
    }
}

type Blocks<'a> = BTreeMap<&'a str, ([f64; 2], &'a Vec<Entity<'a>>)>;

/// Where a block's axes and origin come to lie.
#[derive(Debug, Clone, Copy)]
struct Placing {
    x: [f64; 2],
    y: [f64; 2],
    at: [f64; 2],
}

impl Placing {
    fn put(self, [x, y]: [f64; 2]) -> Point {
        Point::new(
            self.at[0] + x * self.x[0] + y * self.y[0],
            self.at[1] + x * self.x[1] + y * self.y[1],
        )
    }

    fn mirrored(self) -> Self {
        Self { x: [-self.x[0], -self.x[1]], ..self }
    }

    /// This placing around `inner`, whose points count from `base`.
    fn then(self, inner: Placing, base: [f64; 2]) -> Self {
        let turned =
            |[x, y]: [f64; 2]| [x * self.x[0] + y * self.y[0], x * self.x[1] + y * self.y[1]];
        let (x, y, at) = (turned(inner.x), turned(inner.y), self.put(inner.at));
        let moved =
            [at.x - base[0] * x[0] - base[1] * y[0], at.y - base[0] * x[1] - base[1] * y[1]];
        Self { x, y, at: moved }
    }
}

/// A corner of a polyline and how far the way to the next one bulges: the tangent of a quarter of its turn.
type Corner = ([f64; 2], f64);

fn corners(groups: &[Group<'_>]) -> Vec<Corner> {
    let mut out: Vec<Corner> = Vec::new();
    for group in groups {
        match group.code {
            10 => out.push(([group.number(), 0.0], 0.0)),
            20 => out.last_mut().into_iter().for_each(|corner| corner.0[1] = group.number()),
            42 => out.last_mut().into_iter().for_each(|corner| corner.1 = group.number()),
            _ => {}
        }
    }
    out
}

fn bulged(corners: &[Corner], closed: bool) -> Vec<[f64; 2]> {
    let mut out = Vec::new();
    let count = if closed { corners.len() } else { corners.len().saturating_sub(1) };
    out.extend(corners.first().map(|corner| corner.0));
    for i in 0..count {
        let (a, bulge) = corners[i];
        let b = corners[(i + 1) % corners.len()].0;
        let turn = 4.0 * libm::atan(bulge);
        let steps = libm::ceil(turn.abs() / CHORD).clamp(1.0, 200.0) as usize;
        // The middle of the circle lies beside the chord at half its length over the tangent of half the turn.
        let (mx, my, half) = ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0, libm::tan(turn / 2.0));
        for k in 1..steps {
            let off = 0.5 / half;
            let (cx, cy) = (mx - (b[1] - a[1]) * off, my + (b[0] - a[0]) * off);
            let (sin, cos) = libm::sincos(turn * k as f64 / steps as f64);
            let (dx, dy) = (a[0] - cx, a[1] - cy);
            out.push([cx + dx * cos - dy * sin, cy + dx * sin + dy * cos]);
        }
        out.push(b);
    }
    out
}

/// An arc, counter-clockwise between two directions in degrees.
fn arc(middle: [f64; 2], radius: f64, from: f64, to: f64) -> Vec<[f64; 2]> {
    let turn = if to > from { to - from } else { to - from + 360.0 }.to_radians();
    let steps = libm::ceil(turn / CHORD).clamp(1.0, 64.0) as usize;
    let at = |k: usize| {
        let (sin, cos) = libm::sincos(from.to_radians() + turn * k as f64 / steps as f64);
        [middle[0] + radius * cos, middle[1] + radius * sin]
    };
    (0..=steps).map(at).collect()
}

/// A text without its formatting codes (`\P`, `{\fArial|…;`, `%%u`).
fn plain(text: &str) -> String {
    let (mut out, mut rest) = (String::new(), text.chars().peekable());
    while let Some(c) = rest.next() {
        match c {
            '\\' => match rest.next() {
                Some('P' | '~') => out.push(' '),
                Some('\\') => out.push('\\'),
                Some('L' | 'l' | 'O' | 'o' | 'K' | 'k') | None => {}
                Some(_) => {
                    for inner in rest.by_ref() {
                        if inner == ';' {
                            break;
                        }
                    }
                }
            },
            '%' if rest.peek() == Some(&'%') => {
                rest.next();
                rest.next();
            }
            '{' | '}' => {}
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A bulge of 1 is half a circle (DXF Reference, LWPOLYLINE, code 42): from (0, 0) to (2, 0) it runs through
    /// (1, −1), counter-clockwise.
    #[test]
    fn a_bulge_of_one_is_half_a_circle() {
        let line = bulged(&[([0.0, 0.0], 1.0), ([2.0, 0.0], 0.0)], false);
        let lowest = line.iter().map(|p| p[1]).fold(f64::INFINITY, f64::min);
        assert!((lowest + 1.0).abs() < 0.01, "{line:?}");
        assert!(line.iter().all(|p| (libm::hypot(p[0] - 1.0, p[1]) - 1.0).abs() < 1e-9));
    }

    #[test]
    fn formatting_is_no_part_of_a_name() {
        assert_eq!(plain(r"{\fArial|b1;Boiler}\Proom %%u2"), "Boiler room 2");
    }
}
