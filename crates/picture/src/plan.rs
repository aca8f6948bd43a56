//! One level of a plan: floor, walls, doors, stairs, equipment, and a walk over it. Symbols follow the meanings of
//! NFPA 170 and ISO 7010 and are our own drawing; a scale bar and a north mark say what size and way it is.

mod legend;
mod names;
mod numbers;
mod stop_names;
mod walls;
mod way;

use floorplan::{
    EquipmentKind, Leaf, LevelId, LinkKind, MarkKind, Pieces, Plan, Point, Room, RoomKind, Shape,
    Spot,
};
use std::fmt::Write;
use words::Lang;

pub use walls::Walls;
pub use way::{StopIs, Way, WayStop};

/// What is drawn over the floor.
#[derive(Debug, Clone, Default)]
pub struct Over {
    /// Walks on this level: pieces of line.
    pub walks: Vec<Vec<Point>>,
    /// Where one looks.
    pub viewpoints: Vec<Point>,
    /// Rooms drawn hatched, by index: what cannot be reached.
    pub hatched: Vec<usize>,
    /// Rounds, told apart by dash and by name.
    pub rounds: Vec<Round>,
    /// Stops with number and name for a map that is printed small: they stand in place of the rooms' names, of the
    /// rounds' numbers and of the legend.
    pub stop_names: Vec<(Point, usize, String)>,
    /// The way of one guard, for a screen held in the hand.
    pub way: Option<Way>,
    /// How the walls are found: [`Over::exact`]. Without it the borders of rooms stand for them, which a small program
    /// can draw that carries no mesh.
    pub walls: Option<WallsOf>,
    /// The language in which the signs are explained below the picture; none leaves them out.
    pub lang: Option<Lang>,
}

/// Finds the walls of a level.
pub type WallsOf = fn(&Plan, &LevelId) -> Option<Walls>;

impl Over {
    /// Nothing over the floor yet, and its walls exactly where steps are stopped.
    pub fn exact() -> Over {
        Over { walls: Some(walls::of), ..Over::default() }
    }
}

/// A round as far as it lies on this level.
#[derive(Debug, Clone, Default)]
pub struct Round {
    /// Who walks it.
    pub name: String,
    /// Pieces of line.
    pub lines: Vec<Vec<Point>>,
    /// Where somebody stops, and the number of that stop in the round.
    pub stops: Vec<(Point, usize)>,
}

impl Round {
    /// As far as it lies on a level: of the places in walking order those that stand there, and of the walks to them
    /// ([`floorplan::walked`]) what leads over it.
    pub fn on(level: &LevelId, name: String, places: &[Option<Spot>], walks: &[Pieces]) -> Round {
        let here = walks.iter().flatten().filter(|(of, _)| of == level);
        let stop = |(i, place): (usize, &Option<Spot>)| {
            let place = place.as_ref().filter(|place| place.level == *level)?;
            Some((place.at, i + 1))
        };
        Round {
            name,
            lines: here.map(|(_, line)| line.clone()).collect(),
            stops: places.iter().enumerate().filter_map(stop).collect(),
        }
    }

    /// Whether nothing of it lies there.
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty() && self.stops.is_empty()
    }
}

/// Dashes of the rounds, repeated when there are more.
const DASHES: [&str; 6] = ["none", "9 5", "2 4", "14 4 2 4", "5 5", "18 6"];

/// The picture of a level as a whole SVG document, 1,200 units wide; none when nothing is drawn on the level.
pub fn plan_svg(plan: &Plan, level: &LevelId, over: &Over) -> Option<String> {
    let rooms: Vec<(usize, &Room)> =
        plan.rooms.iter().enumerate().filter(|(_, room)| room.level == *level).collect();
    let small = !over.stop_names.is_empty();
    let legend = if small { Vec::new() } else { legend::rows(plan, level, over) };
    let foot = FOOT + legend::ROW * legend.len().saturating_sub(1) as f64;
    let frame = Frame::around(rooms.iter().map(|(_, room)| &room.shape), foot)?;
    let mut out = String::new();
    let shown = over.way.as_ref().map_or([0.0, 0.0, WIDTH, frame.height], |way| way.shown(&frame));
    frame.open(shown, &mut out);
    for (i, room) in &rooms {
        let class = if over.hatched.contains(i) { "floor lost" } else { kind_class(room.kind) };
        let _ = write!(out, r#"<path class="{class}" d="{}"/>"#, frame.area(&room.shape));
    }
    let walls = over.walls.and_then(|walls_of| walls_of(plan, level));
    // Else the borders of rooms must do; what nobody walks has no other.
    let bordered = |kind: RoomKind| match &walls {
        Some(_) => !kind.walkable(),
        None => !matches!(kind, RoomKind::Area | RoomKind::Doorway),
    };
    for (_, room) in rooms.iter().filter(|(_, room)| bordered(room.kind)) {
        let _ = write!(out, r#"<path class="wall" d="{}"/>"#, frame.area(&room.shape));
    }
    let walls = walls.unwrap_or_default();
    for (class, lines) in [("end", &walls.ends), ("wall", &walls.walls)] {
        if !lines.is_empty() {
            let d: String = lines.iter().map(|line| frame.line(line)).collect();
            let _ = write!(out, r#"<path class="{class}" d="{d}"/>"#);
        }
    }
    for wall in plan.walls.iter().filter(|wall| wall.level == *level) {
        let _ = write!(out, r#"<path class="wall" d="{}"/>"#, frame.line(&wall.line));
    }
    for (_, room) in rooms.iter().filter(|(_, room)| room.kind == RoomKind::Lift) {
        frame.lift(&room.shape, &mut out);
    }
    doors(plan, level, &frame, &mut out);
    stairs(plan, level, &frame, &mut out);
    for walk in &over.walks {
        let _ = write!(
            out,
            r#"<path class="walkedge" d="{0}"/><path class="walk" d="{0}"/>"#,
            frame.line(walk)
        );
    }
    for (i, round) in over.rounds.iter().enumerate() {
        let dash = DASHES[i % DASHES.len()];
        for line in &round.lines {
            let d = frame.line(line);
            let _ = write!(
                out,
                r#"<path class="walkedge" d="{d}"/><path class="walk" stroke-dasharray="{dash}" d="{d}"/>"#
            );
        }
    }
    let letters = over.way.as_ref().map_or(11.0, |way| 11.0 * way.px(&frame));
    let numbers = numbers::placed(if small { &[] } else { &over.rounds }, &frame);
    let mut taken = names::taken(plan, level, &frame, over);
    taken.extend(numbers.boxes());
    for (_, room) in rooms.iter().filter(|_| !small) {
        names::put(room, &rooms, &frame, letters, &mut taken, &mut out);
    }
    numbers.put(&mut out);
    for viewpoint in &over.viewpoints {
        let (x, y) = frame.at(*viewpoint);
        let _ = write!(out, r#"<circle class="view" cx="{x:.1}" cy="{y:.1}" r="4"/>"#);
    }
    things(plan, level, &frame, &mut out);
    if over.way.is_none() {
        stops(plan, level, &frame, &mut out);
    }
    stop_names::put(&frame, &over.stop_names, &mut out);
    if let Some(way) = &over.way {
        way.put(&frame, &mut out);
    }
    legend::put(&frame, &legend, &mut out);
    // The screen around a way says the level's name itself.
    if over.way.is_none() {
        frame.foot(plan, level, &mut out);
    }
    out.push_str("</svg>\n");
    Some(out)
}

fn kind_class(kind: RoomKind) -> &'static str {
    match kind {
        RoomKind::Room => "floor",
        RoomKind::Corridor | RoomKind::Area | RoomKind::Doorway => "floor way",
        RoomKind::Stair => "floor stair",
        RoomKind::Lift | RoomKind::Shaft => "floor shaft",
    }
}

/// A door is a gap in the wall with its leaf ajar; a locked one has a bar, a one-way one an arrowhead, an exit a wedge.
fn doors(plan: &Plan, level: &LevelId, frame: &Frame, out: &mut String) {
    for opening in plan.openings.iter().filter(|opening| opening.level == *level) {
        let ((ax, ay), (bx, by)) = (frame.at(opening.line[0]), frame.at(opening.line[1]));
        if opening.leaf == Leaf::Window {
            let _ = write!(out, r#"<path class="window" d="M{ax:.1} {ay:.1}L{bx:.1} {by:.1}"/>"#);
            continue;
        }
        let _ = write!(out, r#"<path class="gap" d="M{ax:.1} {ay:.1}L{bx:.1} {by:.1}"/>"#);
        let (ux, uy) = (bx - ax, by - ay);
        let width = libm::sqrt(ux * ux + uy * uy);
        if opening.leaf != Leaf::Gap && width < 60.0 {
            let (tx, ty) = (ax + ux * 0.5 - uy * 0.866, ay + uy * 0.5 + ux * 0.866);
            let class = if opening.leaf == Leaf::Locked { "leaf locked" } else { "leaf" };
            let _ = write!(out, r#"<path class="{class}" d="M{ax:.1} {ay:.1}L{tx:.1} {ty:.1}"/>"#);
        }
        if opening.exit {
            let (cx, cy) = (ax + ux / 2.0, ay + uy / 2.0);
            let _ = write!(
                out,
                r#"<path class="exit" d="M{:.1} {:.1}l12 0l-6 11z"/>"#,
                cx - 6.0,
                cy - 14.0
            );
        }
    }
}

/// A stair is a disc of treads, a lift a crossed box.
fn stairs(plan: &Plan, level: &LevelId, frame: &Frame, out: &mut String) {
    for link in &plan.links {
        for foot in link.feet.iter().filter(|foot| foot.level == *level) {
            let (x, y) = frame.at(foot.at);
            let body = match link.kind {
                LinkKind::Stair => "M-8 6h4v-4h4v-4h4v-4h4",
                LinkKind::Ramp => "M-8 6L8 -6",
                LinkKind::Lift => "M-6 -2l6 -6l6 6M-6 2l6 6l6 -6",
            };
            let _ = write!(
                out,
                r#"<g class="link" transform="translate({x:.1} {y:.1})"><circle r="12"/><path d="{body}"/></g>"#
            );
        }
    }
}

fn things(plan: &Plan, level: &LevelId, frame: &Frame, out: &mut String) {
    let mut put = |at: Point, class: &str, body: &str| {
        let (x, y) = frame.at(at);
        let _ =
            write!(out, r#"<g class="{class}" transform="translate({x:.1} {y:.1})">{body}</g>"#);
    };
    for it in plan.equipment.iter().filter(|it| it.level == *level) {
        let (class, body) = match it.kind {
            EquipmentKind::Extinguisher => ("fire", r#"<path d="M0 -9L9 7H-9z"/>"#),
            EquipmentKind::Hydrant => ("fire", r#"<circle r="8"/><path class="in" d="M-8 0H8"/>"#),
            EquipmentKind::Standpipe => ("fire", r#"<circle r="8"/><circle class="in" r="3"/>"#),
            EquipmentKind::FireServiceInlet => {
                ("fire", r#"<path d="M-8 -8H8V8H-8z"/><path class="in" d="M-4 0H4M0 -4V4"/>"#)
            }
            EquipmentKind::AlarmPanel => {
                ("fire", r#"<path d="M-9 -6H9V6H-9z"/><path class="in" d="M-5 0H5"/>"#)
            }
            EquipmentKind::CallPoint => {
                ("fire", r#"<path d="M-8 -8H8V8H-8z"/><circle class="in" r="3"/>"#)
            }
            EquipmentKind::Valve => ("fire", r#"<path d="M-9 -6L9 6V-6L-9 6z"/>"#),
            EquipmentKind::Heater | EquipmentKind::HotWork => (
                "danger",
                r#"<path d="M0 -10L10 8H-10z"/><path class="in" d="M0 4C-4 1 0 -1 0 -5C4 -1 4 2 0 4"/>"#,
            ),
            EquipmentKind::Combustible | EquipmentKind::Flammable | EquipmentKind::Hazard => {
                ("danger", r#"<path d="M0 -10L10 8H-10z"/><path class="in" d="M0 -4V2M0 4.5V6"/>"#)
            }
        };
        put(it.at, class, body);
    }
    for mark in plan.marks.iter().filter(|mark| mark.level == *level) {
        let body = match mark.kind {
            MarkKind::CallSpot => r#"<circle r="9"/><path class="in" d="M-4 -4c0 6 2 8 8 8"/>"#,
            MarkKind::AssemblyPoint => {
                r#"<path d="M-9 -9H9V9H-9z"/><path class="in" d="M-7 -7l5 5M7 -7l-5 5M-7 7l5 -5M7 7l-5 -5"/>"#
            }
            MarkKind::MeetingPoint => r#"<path d="M-9 -9H9V9H-9z"/><circle class="in" r="4"/>"#,
        };
        put(mark.at, "safe", body);
    }
}

fn stops(plan: &Plan, level: &LevelId, frame: &Frame, out: &mut String) {
    for stop in plan.stops.iter().filter(|stop| stop.level.as_ref() == Some(level)) {
        if let Some(at) = stop.at {
            let (x, y) = frame.at(at);
            // Lower right of its place, so that it hides no stair sign or viewpoint.
            let _ = write!(
                out,
                r#"<g class="stop" transform="translate({x:.1} {y:.1})"><path d="M11 5L17 11L11 17L5 11z"/></g>"#
            );
        }
    }
}

/// From millimetres to the picture.
struct Frame {
    left: i64,
    top: i64,
    scale: f64,
    height: f64,
}

const WIDTH: f64 = 1200.0;
const MARGIN: f64 = 40.0;
const FOOT: f64 = 56.0;

impl Frame {
    fn around<'a>(shapes: impl Iterator<Item = &'a Shape>, foot: f64) -> Option<Self> {
        let bounds = shapes.filter_map(Shape::bounds).reduce(|(l, h), (lo, hi)| {
            (Point::new(l.x.min(lo.x), l.y.min(lo.y)), Point::new(h.x.max(hi.x), h.y.max(hi.y)))
        });
        let (lo, hi) = bounds?;
        let scale = (WIDTH - 2.0 * MARGIN) / ((hi.x - lo.x).max(hi.y - lo.y).max(1)) as f64;
        let height = (hi.y - lo.y) as f64 * scale + 2.0 * MARGIN + foot;
        Some(Self { left: lo.x, top: hi.y, scale, height })
    }

    fn at(&self, p: Point) -> (f64, f64) {
        (
            MARGIN + (p.x - self.left) as f64 * self.scale,
            MARGIN + (self.top - p.y) as f64 * self.scale,
        )
    }

    fn line(&self, points: &[Point]) -> String {
        let mut out = String::new();
        for (i, p) in points.iter().enumerate() {
            let (x, y) = self.at(*p);
            let _ = write!(out, "{}{x:.1} {y:.1}", if i == 0 { 'M' } else { 'L' });
        }
        out
    }

    fn area(&self, shape: &Shape) -> String {
        shape.rings.iter().map(|ring| self.line(ring) + "z").collect()
    }

    fn lift(&self, shape: &Shape, out: &mut String) {
        if let Some((lo, hi)) = shape.bounds() {
            let cross = [[lo, hi], [Point::new(lo.x, hi.y), Point::new(hi.x, lo.y)]];
            for ends in cross {
                let _ = write!(out, r#"<path class="leaf" d="{}"/>"#, self.line(&ends));
            }
        }
    }

    /// The place of the plan under a point of the picture.
    fn back(&self, x: f64, y: f64) -> Point {
        Point::new(
            self.left + libm::round((x - MARGIN) / self.scale) as i64,
            self.top - libm::round((y - MARGIN) / self.scale) as i64,
        )
    }

    fn open(&self, [left, top, wide, high]: [f64; 4], out: &mut String) {
        let height = self.height;
        let _ = write!(
            out,
            r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="{left:.0} {top:.0} {wide:.0} {high:.0}" class="plan"><style>{STYLE}</style><defs><pattern id="lost" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="8" height="8" fill="#fffdf8"/><path d="M0 0V8" stroke="#96200a" stroke-width="1.6"/></pattern></defs><rect class="ground" width="{WIDTH}" height="{height:.0}"/>"##
        );
    }

    /// Name, level, scale bar of a round length, north mark.
    fn foot(&self, plan: &Plan, level: &LevelId, out: &mut String) {
        let y = self.height - 30.0;
        let name =
            plan.levels.iter().find(|l| l.id == *level).map_or(level.as_str(), |l| l.name.as_str());
        let title = format!("{} · {name}", plan.name);
        let _ = write!(
            out,
            r#"<text class="title" x="{MARGIN}" y="{y:.0}">{}</text>"#,
            escaped(&title)
        );
        let metres = [1, 2, 5, 10, 20, 50, 100]
            .into_iter()
            .rev()
            .find(|m| f64::from(*m) * 1e3 * self.scale < 240.0);
        let metres = metres.unwrap_or(1);
        let (x1, length) = (WIDTH - MARGIN - 60.0, f64::from(metres) * 1e3 * self.scale);
        let x0 = x1 - length;
        let _ = write!(
            out,
            r#"<path class="bar" d="M{x0:.1} {:.0}v8H{x1:.1}v-8"/><text class="name" x="{:.1}" y="{:.0}">{metres} m</text>"#,
            y - 8.0,
            (x0 + x1) / 2.0,
            y - 4.0
        );
        if let Some(anchor) = plan.anchor {
            let turn = anchor.turn_mdeg as f64 / 1e3;
            let (x, y) = (WIDTH - MARGIN - 16.0, y - 6.0);
            let _ = write!(
                out,
                r#"<path class="north" transform="translate({x:.0} {y:.0}) rotate({turn:.1})" d="M0 -14L7 10L0 5L-7 10z"/>"#
            );
        }
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// The day inks of the look, so that the document stands alone.
const STYLE: &str = ".ground{fill:#f7f2e8}.floor{fill:#fffdf8}.floor.way{fill:#f1e8d6}.floor.stair{fill:#e3d7bf}\
.floor.shaft{fill:#cfc4b0}.floor.lost{fill:url(#lost)}.wall{fill:none;stroke:#1d1913;stroke-width:2.2;stroke-linejoin:round}\
.end{fill:none;stroke:#1d1913;stroke-width:1.1}.gap{stroke:#fffdf8;stroke-width:4}.window{stroke:#93825f;stroke-width:4;stroke-dasharray:3 2}\
.leaf{fill:none;stroke:#574c3c;stroke-width:1.2}.leaf.locked{stroke-width:3}.exit{fill:#1f6b3a}\
.link circle{fill:#1f6b3a}.link path{fill:none;stroke:#fffdf8;stroke-width:2.4}\
.walkedge{fill:none;stroke:#fffdf8;stroke-width:6;stroke-linejoin:round;opacity:.8}\
.walk{fill:none;stroke:#6f4300;stroke-width:2.6;stroke-linejoin:round}.view{fill:#fffdf8;stroke:#6f4300;stroke-width:2}\
.fire>*{fill:#96200a}.fire>.in{fill:none;stroke:#fffdf8;stroke-width:2}.danger>*{fill:#f2b45c;stroke:#1d1913}\
.danger>.in{fill:none;stroke-width:2}.safe>*{fill:#1f6b3a}.safe>.in{fill:none;stroke:#fffdf8;stroke-width:2}\
.stop path{fill:#fffdf8;stroke:#1d1913;stroke-width:2}.name{font:400 11px Next,sans-serif;fill:#574c3c;text-anchor:middle}\
.round,.wayedge,.ahead{fill:none;stroke-linejoin:round;stroke-linecap:round}.round{stroke:#6f4300}.wayedge{stroke:#fffdf8}\
.ahead{stroke:#1d1913}\
.waystop{fill:#fffdf8;stroke:#1d1913}.waystop.seen{fill:#1d1913}.waystop.next{fill:#6f4300;stroke:#fffdf8}\
text.waystop{font-family:Next,sans-serif;font-weight:700;text-anchor:middle;stroke:none;fill:#1d1913}\
text.waystop.seen,text.waystop.next{fill:#fffdf8}\
.turn{font:700 11px Next,sans-serif;fill:#1d1913;stroke:#fffdf8;stroke-width:3;paint-order:stroke}\
.stopnumber{font:700 26px Next,sans-serif;fill:#1d1913;text-anchor:middle}\
.stopname{font:700 34px Next,sans-serif;fill:#1d1913;stroke:#fffdf8;stroke-width:7;paint-order:stroke}\
.who{font:400 14px Next,sans-serif;fill:#1d1913}\
.title{font:700 21px Next,sans-serif;fill:#1d1913}.bar{fill:none;stroke:#1d1913;stroke-width:2}.north{fill:#1d1913}";

#[cfg(test)]
mod tests {
    use super::*;
    use floorplan::{Level, RoomId};

    #[test]
    fn a_level_with_a_room_is_a_document_and_one_without_is_none() {
        let mut plan = Plan::simple("Gannet <Quay>", &["Ground"], 1800);
        let level = LevelId::from_name("ground");
        plan.levels.push(Level { id: level.clone(), name: "Ground".to_owned(), elevation_mm: 0 });
        assert_eq!(plan_svg(&plan, &level, &Over::default()), None);
        plan.rooms.push(Room {
            id: RoomId::from_name("r"),
            name: "Hoist & hall".to_owned(),
            level: level.clone(),
            kind: RoomKind::Room,
            zone: None,
            shape: Shape::rectangle((0, 0), (10_000, 5_000)),
        });
        let svg = plan_svg(&plan, &level, &Over::default()).expect("a room");
        // 10 m fill the 1,120 units between the margins, so 2 m are 224 of them.
        for part in [
            "M40.0 600.0L1160.0 600.0L1160.0 40.0",
            "Hoist &amp; hall",
            "Gannet &lt;Quay&gt; · Ground",
            "2 m",
        ] {
            assert!(svg.contains(part), "{part} in {svg}");
        }
    }
}
