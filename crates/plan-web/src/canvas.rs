//! A level as SVG. Shapes carry the meaning; `static/draw.css` inks them from the tokens. One unit is one millimetre, y
//! points down; signs and letters keep their size on the screen, so they are drawn by the scale that is shown.

use crate::drawing::{Drawing, Part, middle};
use crate::model::Model;
use crate::signs::{escaped, grip, line, mark_sign, opening, sign, text, thing_sign};
use crate::thinking::Thought;
use floorplan::{LevelId, LinkKind, Point, RoomKind, Shape};
use std::fmt::Write;

/// Dashes of the rounds, repeated when there are more; in pixels of the screen.
const DASHES: [&str; 6] = ["none", "9 5", "2 4", "14 4 2 4", "5 5", "18 6"];

/// What of the plain is seen: left and top in millimetres (y down), and millimetres for a pixel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    /// Left edge.
    pub left: f64,
    /// Upper edge, y pointing down.
    pub top: f64,
    /// Millimetres for a pixel.
    pub mm_per_px: f64,
}

impl Sight {
    /// All of a level in a window of so many pixels; 24 m by 16 m of paper where nothing is there.
    pub fn of(drawing: &Drawing, level: &LevelId, [w, h]: [f64; 2]) -> Sight {
        let plan = &drawing.plan;
        let mut points: Vec<Point> = crate::snap::corners(drawing, level);
        points.extend(
            plan.stops.iter().filter(|s| s.level.as_ref() == Some(level)).filter_map(|s| s.at),
        );
        if let Some(under) = drawing.pictures.get(level) {
            let [pw, ph] = under.size_px.map(f64::from);
            let half = libm::hypot(pw, ph) / 2.0 * under.mm_per_px;
            let (mx, my) = (under.middle.x as f64, under.middle.y as f64);
            let (hw, hh) = if under.turn_mdeg % 180_000 == 0 {
                (pw * under.mm_per_px / 2.0, ph * under.mm_per_px / 2.0)
            } else {
                (half, half)
            };
            points.push(crate::snap::whole(mx - hw, my - hh));
            points.push(crate::snap::whole(mx + hw, my + hh));
        }
        let paper = Shape { rings: vec![points] };
        let (lo, hi) = paper.bounds().unwrap_or((Point::new(0, 0), Point::new(24_000, 16_000)));
        let (wide, high) = ((hi.x - lo.x).max(4000) as f64, (hi.y - lo.y).max(3000) as f64);
        let mm_per_px = (wide / (w - 64.0).max(100.0)).max(high / (h - 64.0).max(100.0));
        let (mx, my) = ((lo.x + hi.x) as f64 / 2.0, (lo.y + hi.y) as f64 / 2.0);
        Sight { left: mx - w / 2.0 * mm_per_px, top: -my - h / 2.0 * mm_per_px, mm_per_px }
    }

    /// The place of the plan under a pixel.
    pub fn place(&self, x_px: f64, y_px: f64) -> Point {
        crate::snap::whole(self.left + x_px * self.mm_per_px, -(self.top + y_px * self.mm_per_px))
    }

    /// Closer (below 1) or farther, about a pixel that stays.
    pub fn zoomed(&self, factor: f64, x_px: f64, y_px: f64) -> Sight {
        let mm_per_px = (self.mm_per_px * factor).clamp(1.0, 2000.0);
        let change = self.mm_per_px - mm_per_px;
        Sight { left: self.left + x_px * change, top: self.top + y_px * change, mm_per_px }
    }
}

/// The level below, faint; rooms, walls and doors; what stands there.
pub fn floor(model: &Model, thought: Option<&Thought>, mm_per_px: f64) -> String {
    let mut out = String::new();
    let (plan, level) = (&model.drawing.plan, &model.level);
    ghost(&model.drawing, level, &mut out);
    let here = || plan.rooms.iter().filter(|room| room.level == *level);
    for room in here() {
        let lost = thought.is_some_and(|t| t.lost.iter().any(|(id, _)| *id == room.id));
        let class = if lost { "room lost" } else { room_class(room.kind) };
        let _ = write!(out, r#"<path class="{class}" d="{}"/>"#, area(&room.shape));
    }
    for (_, piece) in thought.iter().flat_map(|t| &t.unseen).filter(|(on, _)| on == level) {
        let _ = write!(out, r#"<path class="unseen" d="{}z"/>"#, line(piece));
    }
    for room in here().filter(|room| !matches!(room.kind, RoomKind::Area | RoomKind::Doorway)) {
        let _ = write!(out, r#"<path class="wall" d="{}"/>"#, area(&room.shape));
    }
    for wall in plan.walls.iter().filter(|wall| wall.level == *level) {
        let _ = write!(out, r#"<path class="wall" d="{}"/>"#, line(&wall.line));
    }
    for door in plan.openings.iter().filter(|door| door.level == *level) {
        opening(door, mm_per_px, &mut out);
    }
    if let Some(thought) = thought {
        rounds(thought, level, mm_per_px, &mut out);
    }
    for room in here() {
        let Some(at) = floorplan::import::border::inside(&room.shape) else { continue };
        let Some((lo, hi)) = room.shape.bounds() else { continue };
        let wide = (hi.x - lo.x) as f64 / mm_per_px;
        let name = fitting(&room.name, wide - 8.0);
        text("roomname", at, (0.0, 22.0), 13.0, mm_per_px, &name, &mut out);
    }
    standing(&model.drawing, level, mm_per_px, &mut out);
    out
}

/// What is chosen, being drawn, or measured, and the cross.
pub fn hand(model: &Model, mm_per_px: f64) -> String {
    let mut out = String::new();
    if let Some(part) = &model.chosen {
        chosen(&model.drawing, &model.level, part, mm_per_px, &mut out);
    }
    if !model.ring.is_empty() {
        let mut ring = model.ring.clone();
        ring.push(model.cross);
        let _ = write!(out, r#"<path class="ring" d="{}"/>"#, line(&ring));
        for (i, &corner) in model.ring.iter().enumerate() {
            let class = if i == 0 { "grip first" } else { "grip" };
            grip(class, corner, mm_per_px, &mut out);
        }
        if let [.., last] = model.ring[..] {
            length(last, model.cross, model.lang, mm_per_px, &mut out);
        }
    }
    if let [a, ref rest @ ..] = model.measure[..] {
        let b = rest.first().copied().unwrap_or(model.cross);
        let _ = write!(out, r#"<path class="measure" d="{}"/>"#, line(&[a, b]));
        grip("grip", a, mm_per_px, &mut out);
        if !rest.is_empty() {
            grip("grip", b, mm_per_px, &mut out);
        }
    }
    if let Some(press) = model.press.as_ref().filter(|press| press.drags)
        && matches!(model.tool, crate::Tool::Room(_))
        && model.ring.is_empty()
    {
        let (a, b) = (press.from, model.cross);
        let shape = Shape::rectangle((a.x, a.y), (b.x, b.y));
        let _ = write!(out, r#"<path class="ring" d="{}"/>"#, area(&shape));
        length(a, Point::new(b.x, a.y), model.lang, mm_per_px, &mut out);
        length(Point::new(b.x, a.y), b, model.lang, mm_per_px, &mut out);
    }
    if model.by_keys {
        let r = 13.0 * mm_per_px;
        let (x, y) = (model.cross.x as f64, -(model.cross.y as f64));
        let _ = write!(
            out,
            r#"<path class="cross" d="M{:.0} {y:.0}h{:.0}M{x:.0} {:.0}v{:.0}"/>"#,
            x - r,
            2.0 * r,
            y - r,
            2.0 * r
        );
    }
    out
}

fn ghost(drawing: &Drawing, level: &LevelId, out: &mut String) {
    let levels = &drawing.plan.levels;
    let Some(here) = levels.iter().position(|it| it.id == *level) else { return };
    let Some(below) = here.checked_sub(1).map(|i| &levels[i].id) else { return };
    for room in drawing.plan.rooms.iter().filter(|room| room.level == *below) {
        let _ = write!(out, r#"<path class="ghost" d="{}"/>"#, area(&room.shape));
    }
}

fn room_class(kind: RoomKind) -> &'static str {
    match kind {
        RoomKind::Room => "room",
        RoomKind::Corridor | RoomKind::Area | RoomKind::Doorway => "room way",
        RoomKind::Stair => "room stair",
        RoomKind::Lift | RoomKind::Shaft => "room shaft",
    }
}

fn rounds(thought: &Thought, level: &LevelId, mm_per_px: f64, out: &mut String) {
    for (i, round) in thought.rounds.iter().enumerate() {
        let dash = DASHES[i % DASHES.len()];
        for (_, way) in round.lines.iter().filter(|(on, _)| on == level) {
            let d = line(way);
            let _ = write!(
                out,
                r#"<path class="walkedge" d="{d}"/><path class="walk" stroke-dasharray="{dash}" d="{d}"/>"#
            );
        }
    }
    for round in &thought.rounds {
        for (_, at, number) in round.stops.iter().filter(|(on, ..)| on == level) {
            text("turn", *at, (12.0, -7.0), 12.0, mm_per_px, &number.to_string(), out);
        }
    }
}

fn standing(drawing: &Drawing, level: &LevelId, mm_per_px: f64, out: &mut String) {
    let plan = &drawing.plan;
    for link in &plan.links {
        for foot in link.feet.iter().filter(|foot| foot.level == *level) {
            let body = match link.kind {
                LinkKind::Stair => r#"<circle r="12"/><path d="M-8 6h4v-4h4v-4h4v-4h4"/>"#,
                LinkKind::Ramp => r#"<circle r="12"/><path d="M-8 6L8 -6"/>"#,
                LinkKind::Lift => r#"<circle r="12"/><path d="M-6 -2l6 -6l6 6M-6 2l6 6l6 -6"/>"#,
            };
            sign("link", foot.at, mm_per_px, body, out);
            text("linkname", foot.at, (0.0, 25.0), 12.0, mm_per_px, &link.name, out);
        }
    }
    for thing in plan.equipment.iter().filter(|it| it.level == *level) {
        let (class, body) = thing_sign(thing.kind);
        sign(class, thing.at, mm_per_px, body, out);
    }
    for mark in plan.marks.iter().filter(|it| it.level == *level) {
        sign("safe", mark.at, mm_per_px, mark_sign(mark.kind), out);
    }
    for stop in plan.stops.iter().filter(|it| it.level.as_ref() == Some(level)) {
        if let Some(at) = stop.at {
            sign("stop", at, mm_per_px, r#"<path d="M0 -8L8 0L0 8L-8 0z"/>"#, out);
        }
    }
}

fn chosen(drawing: &Drawing, level: &LevelId, part: &Part, mm_per_px: f64, out: &mut String) {
    if drawing.level_of(part).as_ref() != Some(level) {
        return;
    }
    match part {
        Part::Room(id) | Part::Corner(id, _) => {
            let Some(ring) = drawing.ring(id) else { return };
            let _ = write!(out, r#"<path class="chosen" d="{}z"/>"#, line(ring));
            for (i, &corner) in ring.iter().enumerate() {
                let here = matches!(part, Part::Corner(_, k) if *k == i);
                grip(if here { "grip here" } else { "grip" }, corner, mm_per_px, out);
            }
        }
        Part::Door(id) => {
            let door = drawing.plan.openings.iter().find(|it| it.id == *id);
            if let Some(door) = door {
                let _ = write!(out, r#"<path class="chosen" d="{}"/>"#, line(&door.line));
                door.line.iter().for_each(|&jamb| grip("grip", jamb, mm_per_px, out));
            }
        }
        _ => {
            if let Some(at) = drawing.place(part) {
                sign("chosenspot", at, mm_per_px, r#"<circle r="17"/>"#, out);
            }
        }
    }
}

/// How long the side being drawn is.
fn length(a: Point, b: Point, lang: words::Lang, mm_per_px: f64, out: &mut String) {
    if a.distance_mm(b) as f64 / mm_per_px > 40.0 {
        let says = words::metres(lang, a.distance_mm(b));
        text("length", middle([a, b]), (0.0, -6.0), 13.0, mm_per_px, &says, out);
    }
}

/// A name shortened to so many pixels; empty when hardly a letter fits.
fn fitting(name: &str, wide_px: f64) -> String {
    let most = (wide_px / 6.6).max(0.0) as usize;
    if name.chars().count() <= most {
        return name.to_owned();
    }
    if most < 5 {
        return String::new();
    }
    name.chars().take(most - 1).chain(['…']).collect()
}

fn area(shape: &Shape) -> String {
    shape.rings.iter().map(|ring| line(ring) + "z").collect()
}

/// Squared paper, the picture by its address, and the hatchings; `window` in pixels.
pub fn paper(model: &Model, sight: &Sight, window: [f64; 2], address: Option<&str>) -> String {
    let px = sight.mm_per_px;
    let (w, h) = (window[0] * px, window[1] * px);
    // Lines 1 m apart, 10 m where those would be a grey haze.
    let step = if px < 80.0 { 1000 } else { 10_000 };
    let mut out = format!(
        r#"<defs><pattern id="squares" width="{step}" height="{step}" patternUnits="userSpaceOnUse"><path class="square" d="M0 0H{step}M0 0V{step}"/></pattern>"#
    );
    for (id, size) in [("lost", 8.0), ("dim", 11.0)] {
        let _ = write!(
            out,
            r#"<pattern id="{id}" width="{size}" height="{size}" patternUnits="userSpaceOnUse" patternTransform="scale({px:.3}) rotate(45)"><path class="hatch-{id}" d="M0 0V{size}"/></pattern>"#
        );
    }
    let (left, top) = (sight.left, sight.top);
    let _ = write!(
        out,
        r#"</defs><rect class="sheet" x="{left:.0}" y="{top:.0}" width="{w:.0}" height="{h:.0}"/>"#
    );
    let under = model.drawing.pictures.get(&model.level);
    match (under, address) {
        (Some(under), Some(address)) => {
            let [pw, ph] = under.size_px;
            let _ = write!(
                out,
                r#"<image class="under" href="{}" width="{pw}" height="{ph}" opacity="{:.2}" transform="translate({} {}) rotate({:.3}) scale({:.5}) translate({} {})"/>"#,
                escaped(address),
                f64::from(under.shows_percent) / 100.0,
                under.middle.x,
                -under.middle.y,
                -(under.turn_mdeg as f64) / 1e3,
                under.mm_per_px,
                -f64::from(pw) / 2.0,
                -f64::from(ph) / 2.0
            );
        }
        _ => {
            let _ = write!(
                out,
                r#"<rect class="squares" fill="url(#squares)" x="{left:.0}" y="{top:.0}" width="{w:.0}" height="{h:.0}"/>"#
            );
        }
    }
    out
}

/// The bar that says how long a round number of metres is: its length in pixels and in metres.
pub fn scale_bar(mm_per_px: f64) -> (f64, u32) {
    let metres =
        [50, 20, 10, 5, 2, 1].into_iter().find(|m| f64::from(*m) * 1e3 / mm_per_px <= 160.0);
    let metres = metres.unwrap_or(1);
    (f64::from(metres) * 1e3 / mm_per_px, metres)
}
