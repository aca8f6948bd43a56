//! Rooms as the faces between walls, doors where gaps were closed.

use super::Reading;
use super::gaps::{Gap, Signs, Size, gaps, in_glass};
use crate::fabric::{Leaf, Opening, Room, RoomKind};
use crate::floor::whole;
use crate::id::{LevelId, OpeningId, RoomId};
use crate::import::ImportError;
use crate::plan::unused;
use crate::shape::{self, Shape, ring_double_area};
use geometry::arrangement::NONE;
use geometry::{Arrangement, Grid, Line, Point};

/// What a level's drawing holds, in millimetres.
pub(super) struct Parts<'a> {
    pub(super) walls: Vec<(Point, Point)>,
    pub(super) windows: Vec<(Point, Point)>,
    /// Signs of doors, and of windows.
    pub(super) signs: [Signs; 2],
    pub(super) names: Vec<(Point, &'a str)>,
}

/// Lines nearer than this are one, in millimetres.
const MERGE_MM: f64 = 20.0;
/// A face whose area over half its border is less is the body of a wall, in millimetres (ours).
const WALL_MAX_MM: f64 = 350.0;
/// The same for what lies between the two closings of one gap: as deep as the thickest wall (ours).
const DOORWAY_MAX_MM: f64 = 500.0;
/// The same for a face without a door: old outer walls are as thick, in millimetres (ours).
const BODY_MAX_MM: f64 = 700.0;
/// A face without a door and smaller than this is a shaft or a column, in square metres (ours).
const CLOSED_MIN_M2: f64 = 1.5;
/// A face with a door is at least this large, in square metres (ours).
const ROOM_MIN_M2: f64 = 0.5;
/// Two closings whose ends lie this near are one, in millimetres.
const SAME_GAP_MM: f64 = 90.0;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Face {
    Outside,
    Wall,
    Doorway,
    Room,
}

struct Faces {
    arrangement: Arrangement,
    kinds: Vec<Face>,
    /// For each closing the faces on its sides.
    sides: Vec<Vec<u32>>,
}

impl Reading<'_> {
    /// Makes rooms and doors of one level.
    pub(super) fn faces(&mut self, level: &LevelId, parts: &Parts<'_>) -> Result<(), ImportError> {
        let grid = Grid::whole(MERGE_MM);
        let solid: Vec<(Point, Point)> =
            parts.walls.iter().chain(&parts.windows).copied().collect();
        let (found, loose) = gaps(&solid, &parts.signs, grid);
        let mut closings = one_each(found);
        for gap in in_glass(&parts.windows, &parts.signs[0], &closings) {
            self.report.guessed("a door drawn on glass opens it", &spoken(level, gap.a));
            closings.push(gap);
        }
        for at in loose {
            let place = spoken(level, at);
            self.report.dropped("a wall ends free: if a room is missing, draw it closed", &place);
        }
        let lines: Vec<Line> = (solid.iter().map(|&(a, b)| Line { a, b }))
            .chain(closings.iter().map(|gap| Line { a: gap.a, b: gap.b }))
            .collect();
        let arrangement = Arrangement::new(&[], &lines, grid)
            .map_err(|fault| ImportError::NoFloor(format!("{level}: {fault}")))?;
        let faces = Faces::new(arrangement, solid.len() as u32, &closings);
        let rooms = self.rooms(level, &faces, parts);
        if rooms == 0 {
            return Err(ImportError::NoFloor(format!(
                "on {level} the walls enclose no room: close them, or name the layers of walls, windows and doors with --map"
            )));
        }
        self.doors(level, &faces, &closings, !parts.signs[0].is_empty());
        Ok(())
    }

    fn rooms(&mut self, level: &LevelId, faces: &Faces, parts: &Parts<'_>) -> usize {
        let mut count = 0;
        for component in 0..faces.kinds.len() as u32 {
            let face = faces.kinds[component as usize];
            if !matches!(face, Face::Room | Face::Doorway) {
                continue;
            }
            let shape = faces.shape(component);
            let name = if face == Face::Doorway {
                "Doorway".to_owned()
            } else {
                count += 1;
                named(&shape, parts).unwrap_or_else(|| format!("Room {count}"))
            };
            let kind = if face == Face::Doorway { RoomKind::Doorway } else { kind(&name) };
            let id = RoomId::from_name(&unused(&mut self.taken, &format!("{level} {name}")));
            if face == Face::Room {
                self.report.understood("a room between walls", id.as_str());
            }
            self.plan.rooms.push(Room { id, name, level: level.clone(), kind, zone: None, shape });
        }
        count
    }

    fn doors(&mut self, level: &LevelId, faces: &Faces, closings: &[Gap], shown: bool) {
        let mut done = vec![false; closings.len()];
        for i in 0..closings.len() {
            let sides = &faces.sides[i];
            let kind = |c: &u32| faces.kinds[*c as usize];
            if closings[i].size == Size::Window && sides.len() > 1 {
                self.report.understood("a window closes its gap", &spoken(level, closings[i].a));
            }
            if done[i] || matches!(closings[i].size, Size::Slip | Size::Window) {
                if closings[i].size == Size::Slip && sides.len() > 1 {
                    let width = closings[i].a.distance(closings[i].b);
                    let what = "a gap too narrow for a door is closed as wall";
                    let place = format!("{}, {width:.0} mm", spoken(level, closings[i].a));
                    self.report.guessed(what, &place);
                }
                continue;
            }
            done[i] = true;
            if sides.len() < 2 || sides.iter().any(|c| kind(c) == Face::Wall) {
                continue;
            }
            let mut line = [closings[i].a, closings[i].b];
            let mut around: Vec<u32> = sides.clone();
            let doorway = sides.iter().copied().find(|c| kind(c) == Face::Doorway);
            if let Some(doorway) = doorway {
                let other =
                    (0..closings.len()).find(|&j| !done[j] && faces.sides[j].contains(&doorway));
                let Some(j) = other else { continue };
                done[j] = true;
                line = between(&closings[i], &closings[j]);
                around.extend(&faces.sides[j]);
            }
            around.retain(|c| *c != doorway.unwrap_or(NONE));
            let exit = around.iter().any(|c| kind(c) == Face::Outside);
            if exit && around.iter().all(|c| kind(c) == Face::Outside) {
                continue;
            }
            let sized = closings[i].size;
            let leaf = if sized == Size::Shown || !shown { Leaf::Door } else { Leaf::Gap };
            let id = OpeningId::from_name(&unused(&mut self.taken, &format!("{level} door")));
            let line = line.map(whole);
            match (sized, shown) {
                (Size::Shown, _) => {
                    self.report.understood("a door where the drawing shows one", id.as_str())
                }
                (_, false) => self.report.guessed("a gap of door size is a door", id.as_str()),
                _ => self
                    .report
                    .guessed("a gap of door size without the sign of a door is open", id.as_str()),
            }
            if exit {
                self.report.guessed("a door to the outside is an exit", id.as_str());
            }
            let (name, level) = (String::new(), level.clone());
            self.plan.openings.push(Opening { id, name, level, leaf, line, exit });
        }
    }
}

impl Faces {
    fn new(arrangement: Arrangement, solid: u32, closings: &[Gap]) -> Self {
        let count = arrangement.inside.len();
        let (mut area, mut border) = (vec![0.0; count], vec![0.0; count]);
        let mut outside = vec![false; count];
        let mut sides: Vec<Vec<u32>> = vec![Vec::new(); closings.len()];
        for t in 0..arrangement.triangles.len() {
            let c = arrangement.component[t];
            area[c as usize] += arrangement.area(t);
            for h in 3 * t..3 * t + 3 {
                let twin = arrangement.twins[h];
                let drawn = arrangement.drawn_on(h);
                outside[c as usize] |= twin == NONE && drawn.is_none();
                let Some(drawn) = drawn else { continue };
                let (a, b) = (arrangement.origin(h as u32), arrangement.origin(next(h as u32)));
                border[c as usize] += a.distance(b);
                for &line in drawn.lines.iter().filter(|&&line| line >= solid) {
                    sides[(line - solid) as usize].push(c);
                    if twin == NONE {
                        sides[(line - solid) as usize].push(NONE);
                    }
                }
            }
        }
        let mut doors = vec![0; count];
        for (list, gap) in sides.iter_mut().zip(closings) {
            list.sort_unstable();
            list.dedup();
            let walked = matches!(gap.size, Size::Door | Size::Shown);
            list.iter().filter(|c| walked && **c != NONE).for_each(|c| doors[*c as usize] += 1);
        }
        let kind = |c: usize| {
            let (m2, thick) = (area[c] / 1e6, 2.0 * area[c] / border[c].max(1.0));
            match () {
                () if outside[c] => Face::Outside,
                () if doors[c] >= 2 && thick < DOORWAY_MAX_MM && m2 < 2.0 => Face::Doorway,
                () if thick < if doors[c] == 0 { BODY_MAX_MM } else { WALL_MAX_MM } => Face::Wall,
                () if m2 < if doors[c] == 0 { CLOSED_MIN_M2 } else { ROOM_MIN_M2 } => Face::Wall,
                () => Face::Room,
            }
        };
        let mut kinds: Vec<Face> = (0..count).map(kind).collect();
        let thin = |c: usize| 2.0 * area[c] / border[c].max(1.0) < BODY_MAX_MM;
        bodies(&mut kinds, thin, &sides, closings);
        // Beyond the hull of all lines is outside as well.
        let beyond = kinds.len() as u32;
        kinds.push(Face::Outside);
        sides.iter_mut().flatten().filter(|c| **c == NONE).for_each(|c| *c = beyond);
        Self { arrangement, kinds, sides }
    }

    fn shape(&self, component: u32) -> Shape {
        let rings = self.arrangement.outline(|c| c == component);
        let points = |ring: &Vec<u32>| -> Vec<shape::Point> {
            ring.iter().map(|&h| whole(self.arrangement.origin(h))).collect()
        };
        let mut rings: Vec<Vec<shape::Point>> = rings.iter().map(points).collect();
        rings.sort_by_key(|ring| std::cmp::Reverse(ring_double_area(ring).abs()));
        Shape { rings }
    }
}

/// A thin face is the body of a wall, too, when every gap beside it leads into a wall: where two thick walls meet, the
/// line of one is drawn on through the other.
fn bodies(kinds: &mut [Face], thin: impl Fn(usize) -> bool, sides: &[Vec<u32>], closings: &[Gap]) {
    let mut body: Vec<bool> = (0..kinds.len()).map(|c| kinds[c] == Face::Room && thin(c)).collect();
    let mut again = true;
    while again {
        again = false;
        for (list, gap) in sides.iter().zip(closings) {
            let walked = matches!(gap.size, Size::Door | Size::Shown);
            let solid =
                |c: &u32| *c != NONE && (body[*c as usize] || kinds[*c as usize] == Face::Wall);
            if !walked || (gap.size == Size::Door && list.iter().all(solid)) {
                continue;
            }
            for &c in list.iter().filter(|c| **c != NONE) {
                again |= std::mem::take(&mut body[c as usize]);
            }
        }
    }
    kinds.iter_mut().zip(body).filter(|(_, body)| *body).for_each(|(kind, _)| *kind = Face::Wall);
}

/// Of closings that mean the same gap the first stays.
fn one_each(found: Vec<Gap>) -> Vec<Gap> {
    let mut out: Vec<Gap> = Vec::new();
    for gap in found {
        let near = |p: Point, q: Point| p.distance(q) < SAME_GAP_MM;
        let known = |other: &Gap| {
            (near(gap.a, other.a) && near(gap.b, other.b))
                || (near(gap.a, other.b) && near(gap.b, other.a))
        };
        match out.iter_mut().find(|other| known(other)) {
            Some(other) => other.size = other.size.max(gap.size),
            None => out.push(gap),
        }
    }
    out
}

/// The line in the middle of two closings of one doorway.
fn between(one: &Gap, other: &Gap) -> [Point; 2] {
    let straight = one.a.distance(other.a) + one.b.distance(other.b);
    let crossed = one.a.distance(other.b) + one.b.distance(other.a);
    let (a, b) = if straight <= crossed { (other.a, other.b) } else { (other.b, other.a) };
    [one.a.toward(a, 0.5), one.b.toward(b, 0.5)]
}

/// The texts that stand in a room, from top to bottom.
fn named(shape: &Shape, parts: &Parts<'_>) -> Option<String> {
    let mut inside: Vec<&(Point, &str)> = parts
        .names
        .iter()
        .filter(|(at, text)| !text.is_empty() && shape.contains(whole(*at)))
        .collect();
    inside.sort_by(|x, y| y.0.y.total_cmp(&x.0.y).then(x.0.x.total_cmp(&y.0.x)));
    let name = inside.iter().map(|(_, text)| *text).collect::<Vec<_>>().join(" ");
    let name: String = name.chars().take(60).collect();
    (!name.trim().is_empty()).then(|| name.trim().to_owned())
}

/// What a room is by its name.
fn kind(name: &str) -> RoomKind {
    let name = name.to_lowercase();
    let says = |words: &[&str]| words.iter().any(|word| name.contains(word));
    match () {
        () if says(&["stair", "treppe", "escalera", "escalier"]) => RoomKind::Stair,
        () if says(&["lift", "elevator", "aufzug", "ascensor", "ascenseur"]) => RoomKind::Lift,
        () if says(&["corridor", "hall", "lobby", "flur", "pasillo", "couloir"]) => {
            RoomKind::Corridor
        }
        () => RoomKind::Room,
    }
}

fn spoken(level: &LevelId, at: Point) -> String {
    let at = whole(at);
    format!("{level} at x {} mm, y {} mm", at.x, at.y)
}

fn next(h: u32) -> u32 {
    if h % 3 == 2 { h - 2 } else { h + 1 }
}
