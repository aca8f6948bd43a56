//! The photographed or scanned floor plan below a level: how large it is, how it is turned, where it lies.

use crate::drawing::Drawing;
use crate::snap::whole;
use floorplan::{LevelId, Point};
use serde::{Deserialize, Serialize};

/// Until two points have been measured the longer side of a picture counts as this long, in millimetres: a guess, and
/// shown as one.
pub const GUESSED_MM: i64 = 40_000;
/// The two measured points must lie this far apart on the picture, in pixels: a slip of one pixel is then at most 2 %.
pub const MEASURED_MIN_PX: f64 = 50.0;

/// A picture below a level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Underlay {
    /// The name under which the browser keeps its bytes.
    pub key: String,
    /// Its size in pixels.
    pub size_px: [u32; 2],
    /// Millimetres on the floor for a pixel.
    pub mm_per_px: f64,
    /// Its turn, counter-clockwise, in thousandths of a degree.
    pub turn_mdeg: i64,
    /// Where its middle lies.
    pub middle: Point,
    /// Two points of known distance have set its scale.
    pub measured: bool,
    /// It shines through this much, in percent.
    pub shows_percent: u8,
}

impl Underlay {
    /// A picture whose scale is a guess, its lower left corner at the origin.
    pub fn guessed(key: &str, size_px: [u32; 2]) -> Underlay {
        let [w, h] = size_px.map(|px| f64::from(px.max(1)));
        let mm_per_px = GUESSED_MM as f64 / w.max(h);
        Underlay {
            key: key.to_owned(),
            size_px,
            mm_per_px,
            turn_mdeg: 0,
            middle: whole(w * mm_per_px / 2.0, h * mm_per_px / 2.0),
            measured: false,
            shows_percent: 60,
        }
    }

    /// A picture laid like the one of another level: pages of one set have one scale.
    pub fn like(&self, key: &str, size_px: [u32; 2]) -> Underlay {
        Underlay { key: key.to_owned(), size_px, measured: false, ..self.clone() }
    }
}

/// A turn and stretch about a place that stays.
struct Change {
    about: Point,
    factor: f64,
    turn_rad: f64,
}

impl Change {
    fn place(&self, p: Point) -> Point {
        let (sin, cos) = libm::sincos(self.turn_rad);
        let (x, y) = ((p.x - self.about.x) as f64, (p.y - self.about.y) as f64);
        whole(
            self.about.x as f64 + self.factor * (x * cos - y * sin),
            self.about.y as f64 + self.factor * (x * sin + y * cos),
        )
    }

    fn picture(&self, under: &mut Underlay) {
        under.middle = self.place(under.middle);
        under.mm_per_px *= self.factor;
        let turned = self.turn_rad.to_degrees() * 1e3;
        under.turn_mdeg = (under.turn_mdeg + libm::round(turned) as i64).rem_euclid(360_000);
    }
}

/// What measuring led to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measured {
    /// The points lie too near to each other, or the length is none.
    TooNear,
    /// The scale is set; `true` when what was drawn went along.
    Scaled(bool),
}

impl Drawing {
    /// Sets the scale: the two points, as they are shown now, lie `length_mm` apart; with `straight` the line between them
    /// is laid exactly across or up. A level drawn before its first measure goes along, later only the picture changes.
    pub(crate) fn measured(
        &mut self,
        level: &LevelId,
        [a, b]: [Point; 2],
        length_mm: i64,
        straight: bool,
    ) -> Measured {
        let (dx, dy) = ((b.x - a.x) as f64, (b.y - a.y) as f64);
        let shown_mm = libm::hypot(dx, dy);
        let px = self.pictures.get(level).map_or(1.0, |under| under.mm_per_px);
        if length_mm <= 0 || shown_mm / px < MEASURED_MIN_PX {
            return Measured::TooNear;
        }
        let angle = libm::atan2(dy, dx);
        let quarter = std::f64::consts::FRAC_PI_2;
        let turn_rad = if straight { libm::round(angle / quarter) * quarter - angle } else { 0.0 };
        let change = Change { about: a, factor: length_mm as f64 / shown_mm, turn_rad };
        let first = self.pictures.get(level).is_none_or(|under| !under.measured);
        let drawn = self.plan.rooms.iter().any(|room| room.level == *level);
        if let Some(under) = self.pictures.get_mut(level) {
            change.picture(under);
            under.measured = true;
        }
        if first && drawn {
            self.every_place(level, |p| change.place(p));
        }
        Measured::Scaled(first && drawn)
    }

    /// Turns the picture about its middle.
    pub(crate) fn turn(&mut self, level: &LevelId, by_mdeg: i64) {
        if let Some(under) = self.pictures.get_mut(level) {
            under.turn_mdeg = (under.turn_mdeg + by_mdeg).rem_euclid(360_000);
        }
    }

    /// Changes every place of a level.
    fn every_place(&mut self, level: &LevelId, change: impl Fn(Point) -> Point) {
        let plan = &mut self.plan;
        for room in plan.rooms.iter_mut().filter(|it| it.level == *level) {
            room.shape.rings.iter_mut().flatten().for_each(|p| *p = change(*p));
        }
        for wall in plan.walls.iter_mut().filter(|it| it.level == *level) {
            wall.line.iter_mut().for_each(|p| *p = change(*p));
        }
        for door in plan.openings.iter_mut().filter(|it| it.level == *level) {
            door.line = door.line.map(&change);
        }
        for foot in plan.links.iter_mut().flat_map(|link| link.feet.iter_mut()) {
            if foot.level == *level {
                foot.at = change(foot.at);
            }
        }
        for stop in plan.stops.iter_mut().filter(|it| it.level.as_ref() == Some(level)) {
            stop.at = stop.at.map(&change);
        }
        plan.equipment
            .iter_mut()
            .filter(|it| it.level == *level)
            .for_each(|it| it.at = change(it.at));
        plan.marks.iter_mut().filter(|it| it.level == *level).for_each(|it| it.at = change(it.at));
        let zones = plan.zones.iter_mut().filter(|it| it.level.as_ref() == Some(level));
        for ring in zones.filter_map(|zone| zone.shape.as_mut()).flat_map(|s| s.rings.iter_mut()) {
            ring.iter_mut().for_each(|p| *p = change(*p));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with_picture() -> (Drawing, LevelId) {
        let mut drawing = Drawing::empty("Gannet Quay", "Ground");
        let level = LevelId::from_name("ground");
        drawing.pictures.insert(level.clone(), Underlay::guessed("scan", [2000, 1000]));
        (drawing, level)
    }

    #[test]
    fn two_points_set_the_scale() {
        let (mut drawing, level) = with_picture();
        // 2,000 pixels count as 40 m: 20 mm each. Two points 500 pixels apart are 10 m now and 25 m in truth.
        let points = [Point::new(1_000, 2_000), Point::new(11_000, 2_000)];
        assert_eq!(drawing.measured(&level, points, 25_000, false), Measured::Scaled(false));
        let under = &drawing.pictures[&level];
        assert_eq!((under.mm_per_px, under.measured), (50.0, true));
        // The first point stays; the middle of the picture, 19 m right of it, is now 47.5 m right of it.
        assert_eq!(under.middle, Point::new(48_500, 22_000));
    }

    #[test]
    fn a_crooked_photo_is_laid_straight() {
        let (mut drawing, level) = with_picture();
        let points = [Point::new(0, 0), Point::new(10_000, 1_000)];
        drawing.measured(&level, points, 10_050, true);
        // atan(1/10) = 5.7106 degrees (a table of tangents), turned back.
        assert_eq!(drawing.pictures[&level].turn_mdeg, 360_000 - 5_711);
    }

    #[test]
    fn points_too_near_to_measure_by_are_refused() {
        let (mut drawing, level) = with_picture();
        let before = drawing.clone();
        let near = [Point::new(0, 0), Point::new(900, 0)];
        assert_eq!(drawing.measured(&level, near, 1_000, false), Measured::TooNear);
        let far = [Point::new(0, 0), Point::new(9_000, 0)];
        assert_eq!(drawing.measured(&level, far, 0, false), Measured::TooNear);
        assert_eq!(drawing, before);
    }
}
