//! A plan traced over a photo or scan: corners in pixels, and two points whose distance on the floor is known.

use super::{EXTENT_MAX_M, ImportError, Imported, Report, Wishes, levels_into_zones, scale};
use crate::fabric::{Leaf, Opening, Room, RoomKind};
use crate::id::{LevelId, OpeningId, RoomId};
use crate::place::Level;
use crate::plan::{Plan, unused};
use crate::shape::{Point, Shape};
use std::collections::BTreeMap;

/// A place on the picture in pixels: to the right, and down.
pub type Pixel = [f64; 2];

/// One level's picture and what was traced on it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Traced {
    /// What people call the level.
    pub name: String,
    /// Two places on the picture.
    pub measured: [Pixel; 2],
    /// How far they are apart on the floor, in millimetres.
    pub measured_mm: i64,
    /// The place of the picture that lies over the plan's origin: the same stair corner on each level's picture.
    pub origin: Pixel,
    /// Rooms by their corners.
    pub rooms: Vec<TracedRoom>,
    /// Doors by their two jambs.
    pub doors: Vec<TracedDoor>,
}

/// A room by its corners.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TracedRoom {
    /// What people call it.
    pub name: String,
    /// What it is.
    pub kind: RoomKind,
    /// Its corners, in any direction.
    pub corners: Vec<Pixel>,
}

/// A door by its two jambs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TracedDoor {
    /// Its jambs.
    pub line: [Pixel; 2],
    /// What closes it.
    pub leaf: Leaf,
    /// It leads out of the building.
    pub exit: bool,
}

/// The two measured points must lie this far apart on the picture, in pixels: a slip of one pixel is then at most 2 %.
const MEASURED_MIN_PX: f64 = 50.0;
/// Corners of neighbouring rooms nearer than this on the picture are meant to be one, in pixels.
const CORNER_PX: f64 = 6.0;

/// Makes a plan out of traced levels, lowest first.
pub fn plan(levels: &[Traced], wishes: &Wishes) -> Result<Imported, ImportError> {
    let mut plan = Plan::new(&wishes.name);
    let (mut report, mut taken) = (Report::default(), BTreeMap::new());
    for (i, traced) in levels.iter().enumerate() {
        let frame = Frame::new(traced)?;
        let id = LevelId::from_name(&unused(&mut taken, &traced.name));
        let elevation_mm = wishes.storey_mm * i as i64;
        plan.levels.push(Level { id: id.clone(), name: traced.name.clone(), elevation_mm });
        let mut corners: Vec<Pixel> = Vec::new();
        for room in &traced.rooms {
            let mut ring = Vec::new();
            for &corner in &room.corners {
                let corner = joined(&mut corners, corner, &mut report, &room.name);
                ring.push(frame.place(corner, &room.name)?);
            }
            ring.dedup();
            let shape = Shape { rings: vec![ring] };
            let part = RoomId::from_name(&unused(&mut taken, &format!("{id} {}", room.name)));
            if shape.double_area_mm2() <= 0 {
                report.dropped("a room without three corners that enclose an area", part.as_str());
                continue;
            }
            report.understood("a traced room", part.as_str());
            let (name, level, kind) = (room.name.clone(), id.clone(), room.kind);
            plan.rooms.push(Room { id: part, name, level, kind, zone: None, shape });
        }
        for door in &traced.doors {
            let part = OpeningId::from_name(&unused(&mut taken, &format!("{id} door")));
            let [a, b] = door.line.map(|jamb| joined(&mut corners, jamb, &mut report, "door"));
            let line = [frame.place(a, part.as_str())?, frame.place(b, part.as_str())?];
            if line[0] == line[1] {
                report.dropped("a door without width", part.as_str());
                continue;
            }
            report.understood("a traced door", part.as_str());
            let (name, level) = (String::new(), id.clone());
            plan.openings.push(Opening {
                id: part,
                name,
                level,
                leaf: door.leaf,
                line,
                exit: door.exit,
            });
        }
    }
    if plan.rooms.is_empty() {
        return Err(ImportError::NoFloor("no room is traced: click its corners".to_owned()));
    }
    scale::ask(&plan)?;
    levels_into_zones(&mut plan, &mut report, &mut taken, wishes);
    Ok(Imported { plan, report })
}

/// A corner already set nearby, else this one from now on.
fn joined(corners: &mut Vec<Pixel>, at: Pixel, report: &mut Report, part: &str) -> Pixel {
    let far = |other: &Pixel| libm::hypot(other[0] - at[0], other[1] - at[1]);
    match corners.iter().find(|other| far(other) <= CORNER_PX) {
        Some(&known) => {
            if known != at {
                report.guessed(&format!("corners within {CORNER_PX} pixels are one"), part);
            }
            known
        }
        None => {
            corners.push(at);
            at
        }
    }
}

/// From pixels to millimetres.
struct Frame {
    origin: Pixel,
    mm_per_pixel: f64,
}

impl Frame {
    fn new(traced: &Traced) -> Result<Self, ImportError> {
        let malformed = |why: String| ImportError::Malformed { format: "traced plan", why };
        let [[ax, ay], [bx, by]] = traced.measured;
        let pixels = libm::hypot(bx - ax, by - ay);
        if pixels.is_nan() || pixels < MEASURED_MIN_PX || pixels.is_infinite() {
            return Err(malformed(format!(
                "the two measured points on {} lie {pixels:.0} pixels apart: choose points at least {MEASURED_MIN_PX} pixels apart",
                traced.name
            )));
        }
        if traced.measured_mm <= 0 {
            return Err(malformed(format!(
                "the measured length on {} is {} mm: measure it on the floor and give it above zero",
                traced.name, traced.measured_mm
            )));
        }
        Ok(Self { origin: traced.origin, mm_per_pixel: traced.measured_mm as f64 / pixels })
    }

    fn place(&self, at: Pixel, part: &str) -> Result<Point, ImportError> {
        let x = (at[0] - self.origin[0]) * self.mm_per_pixel;
        let y = (self.origin[1] - at[1]) * self.mm_per_pixel;
        if !(x.is_finite() && y.is_finite()) {
            let why = format!("{part} has a corner that is no number: trace it again");
            return Err(ImportError::Malformed { format: "traced plan", why });
        }
        if x.abs().max(y.abs()) > EXTENT_MAX_M as f64 * 1e3 {
            return Err(ImportError::Extent((x.abs().max(y.abs()) / 1e3).min(1e15) as i64));
        }
        Ok(Point::new(libm::round(x) as i64, libm::round(y) as i64))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn room(name: &str, [w, n, e, s]: [f64; 4]) -> TracedRoom {
        let corners = vec![[w, s], [e, s], [e, n], [w, n]];
        TracedRoom { name: name.to_owned(), kind: RoomKind::Room, corners }
    }

    /// A picture on which 100 pixels are 5 m: a hall of 200 × 100 pixels beside a room of 100 × 100, drawn 3 pixels off.
    fn traced() -> Traced {
        Traced {
            name: "Ground".to_owned(),
            measured: [[10.0, 300.0], [110.0, 300.0]],
            measured_mm: 5_000,
            origin: [10.0, 210.0],
            rooms: vec![
                room("Hall", [10.0, 110.0, 210.0, 210.0]),
                room("Store", [213.0, 110.0, 310.0, 212.0]),
            ],
            doors: vec![TracedDoor {
                line: [[210.0, 150.0], [210.0, 170.0]],
                leaf: Leaf::Door,
                exit: false,
            }],
        }
    }

    #[test]
    fn two_points_set_the_scale_and_corners_join() {
        let Imported { plan, report } = plan(&[traced()], &Wishes::default()).expect("a plan");
        assert_eq!(plan.check(), vec![]);
        assert_eq!(plan.rooms[0].shape.area_m2(), 50.0);
        assert_eq!(plan.openings[0].line, [Point::new(10_000, 3_000), Point::new(10_000, 2_000)]);
        assert_eq!(report.guessed["corners within 6 pixels are one"].count, 2);
        let floors = crate::Floors::new(&plan);
        let network = crate::Network::new(&plan, &floors, |p| crate::network::walked(p, 2.0));
        let spot = |x, y| crate::Spot { level: plan.levels[0].id.clone(), at: Point::new(x, y) };
        assert!(network.matrix(&[spot(1_000, 1_000), spot(12_000, 1_000)])[1].is_finite());
    }

    #[test]
    fn a_measure_that_cannot_be_is_asked_about() {
        let says = |change: fn(&mut Traced), words: &str| {
            let mut it = traced();
            change(&mut it);
            let error = plan(&[it], &Wishes::default()).expect_err(words).to_string();
            assert!(error.contains(words), "{error}");
        };
        says(|t| t.measured[1] = [12.0, 300.0], "at least 50 pixels");
        says(|t| t.measured_mm = 0, "above zero");
        says(|t| t.measured_mm = 5_000_000, "is the unit right");
        says(|t| t.measured_mm = 5, "is the unit right");
        says(|t| t.rooms[0].corners[0][0] = f64::NAN, "no number");
        says(|t| t.rooms.clear(), "no room is traced");
    }
}
