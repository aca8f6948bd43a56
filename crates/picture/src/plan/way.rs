//! The way to the next stop on a small screen: lines and numbers as large as a thumb sees them, however
//! much of the level is shown.

use super::{Frame, WIDTH};
use floorplan::Point;
use std::fmt::Write;

/// The walk of one guard, for a screen held in the hand.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Way {
    /// The whole round on this level: pieces of line.
    pub walks: Vec<Vec<Point>>,
    /// The walk to the next stop on this level.
    pub ahead: Vec<Vec<Point>>,
    /// The stops on this level.
    pub stops: Vec<WayStop>,
    /// Show only what lies about the walk to the next stop.
    pub near: bool,
}

/// A stop with its number in the round.
#[derive(Debug, Clone, PartialEq)]
pub struct WayStop {
    /// Where.
    pub at: Point,
    /// Its number, from 1.
    pub number: usize,
    /// How it stands.
    pub is: StopIs,
}

/// How a stop stands in the round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StopIs {
    /// Seen: a full disc.
    Seen,
    /// Could not be entered: a dashed circle.
    Refused,
    /// The next one: a larger disc with a ring.
    Next,
    /// To come: a circle.
    ToCome,
}

/// The width of a small screen, CSS pixels: marks are sized for it.
const SCREEN: f64 = 328.0;
/// About the walk ahead so much is shown, at least, mm.
const AROUND_MM: i64 = 4_000;
/// So little is never shown, mm: one must see where one is.
const LEAST_MM: i64 = 12_000;

impl Way {
    /// The part of the picture that is shown: left, top, width, height.
    pub(super) fn shown(&self, frame: &Frame) -> [f64; 4] {
        let whole = [0.0, 0.0, WIDTH, frame.height];
        let points = self.ahead.iter().flatten();
        let bounds = points.map(|p| (*p, *p)).reduce(|(l, h), (lo, hi)| {
            (Point::new(l.x.min(lo.x), l.y.min(lo.y)), Point::new(h.x.max(hi.x), h.y.max(hi.y)))
        });
        let Some((lo, hi)) = bounds.filter(|_| self.near) else { return whole };
        let wide = (hi.x - lo.x + 2 * AROUND_MM).max(LEAST_MM);
        let high = (hi.y - lo.y + 2 * AROUND_MM).max(LEAST_MM * 3 / 4);
        let (mid_x, mid_y) = frame.at(Point::new((lo.x + hi.x) / 2, (lo.y + hi.y) / 2));
        let (wide, high) = (wide as f64 * frame.scale, high as f64 * frame.scale);
        if wide >= WIDTH {
            return whole;
        }
        [mid_x - wide / 2.0, mid_y - high / 2.0, wide, high]
    }

    /// One pixel of a small screen, in units of the picture.
    pub(super) fn px(&self, frame: &Frame) -> f64 {
        self.shown(frame)[2] / SCREEN
    }

    /// Lines under, numbers over.
    pub(super) fn put(&self, frame: &Frame, out: &mut String) {
        let px = self.px(frame);
        for line in &self.walks {
            let d = frame.line(line);
            let _ = write!(
                out,
                r#"<path class="round" stroke-width="{:.1}" stroke-dasharray="{:.1} {:.1}" d="{d}"/>"#,
                1.5 * px,
                5.0 * px,
                4.0 * px
            );
        }
        for line in &self.ahead {
            let d = frame.line(line);
            let _ = write!(
                out,
                r#"<path class="wayedge" stroke-width="{:.1}" d="{d}"/><path class="ahead" stroke-width="{:.1}" d="{d}"/>"#,
                8.0 * px,
                4.5 * px
            );
        }
        let next = |stop: &&WayStop| stop.is == StopIs::Next;
        // The next stop last, so that none lies over it.
        let others = self.stops.iter().filter(|stop| !next(stop));
        for stop in others.chain(self.stops.iter().filter(next)) {
            stop.put(frame, px, out);
        }
    }
}

impl WayStop {
    fn put(&self, frame: &Frame, px: f64, out: &mut String) {
        let (x, y) = frame.at(self.at);
        let (class, radius, letters) = match self.is {
            StopIs::Seen => ("waystop seen", 9.0, 11.0),
            StopIs::Refused => ("waystop refused", 9.0, 11.0),
            StopIs::ToCome => ("waystop", 9.0, 11.0),
            StopIs::Next => ("waystop next", 14.0, 16.0),
        };
        if self.is == StopIs::Next {
            let _ = write!(
                out,
                r#"<circle class="waystop" cx="{x:.1}" cy="{y:.1}" r="{:.1}" stroke-width="{:.1}"/>"#,
                18.0 * px,
                2.0 * px
            );
        }
        let dashes = if self.is == StopIs::Refused { 3.0 * px } else { 0.0 };
        let _ = write!(
            out,
            r#"<circle class="{class}" cx="{x:.1}" cy="{y:.1}" r="{:.1}" stroke-width="{:.1}" stroke-dasharray="{dashes:.1}"/><text class="{class}" x="{x:.1}" y="{:.1}" font-size="{:.1}">{}</text>"#,
            radius * px,
            1.8 * px,
            y + letters * 0.36 * px,
            letters * px,
            self.number
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame() -> Frame {
        Frame { left: 0, top: 40_000, scale: 0.028, height: 1216.0 }
    }

    fn way(near: bool) -> Way {
        let ahead = vec![vec![Point::new(10_000, 10_000), Point::new(18_000, 10_000)]];
        let stop = WayStop { at: Point::new(18_000, 10_000), number: 7, is: StopIs::Next };
        Way { ahead, near, stops: vec![stop], ..Way::default() }
    }

    #[test]
    fn closer_shows_the_walk_with_four_metres_about_it() {
        assert_eq!(way(false).shown(&frame()), [0.0, 0.0, 1200.0, 1216.0]);
        // 8 m of walk and 4 m on each side are 16 m; the middle lies 14 m from the left, 30 m from the top.
        let [left, top, wide, high] = way(true).shown(&frame());
        assert_eq!((wide, high), (16_000.0 * 0.028, 9_000.0 * 0.028));
        assert_eq!(left + wide / 2.0, 40.0 + 14_000.0 * 0.028);
        assert_eq!(top + high / 2.0, 40.0 + 30_000.0 * 0.028);
        let alone = Way { near: true, ..Way::default() };
        assert_eq!(alone.shown(&frame()), [0.0, 0.0, 1200.0, 1216.0]);
    }

    #[test]
    fn marks_keep_their_size_on_the_screen() {
        let radius = |near| {
            let mut svg = String::new();
            way(near).put(&frame(), &mut svg);
            assert!(svg.contains(">7</text>"), "{svg}");
            let from = svg.find(r#"class="waystop next" cx"#).expect("the next stop");
            let r = svg[from..].split(r#" r=""#).nth(1).and_then(|rest| rest.split('"').next());
            r.expect("a radius").parse::<f64>().expect("a number")
        };
        // 14 px on a screen of 328 px, in units of a picture 1,200 and 448 wide.
        assert_eq!((radius(false), radius(true)), (51.2, 19.1));
    }
}
