//! The stops of the rounds with their numbers, each number beside its stop and none over another.

use super::{Frame, Round};
use std::fmt::Write;

/// Left and upper edge, width and height.
type Boxed = [f64; 4];

/// Of a number's letters.
const WIDE: f64 = 6.8;
const HIGH: f64 = 10.0;

/// Where each number stands: left end of its baseline.
pub(super) struct Placed {
    numbers: Vec<(f64, f64, f64, f64, usize)>,
}

/// Finds a place for every number.
pub(super) fn placed(rounds: &[Round], frame: &Frame) -> Placed {
    let stops = || rounds.iter().flat_map(|round| &round.stops);
    let mut taken: Vec<Boxed> = Vec::new();
    for (at, _) in stops() {
        let (x, y) = frame.at(*at);
        taken.push([x - 4.5, y - 4.5, 9.0, 9.0]);
    }
    let mut numbers = Vec::new();
    for (at, number) in stops() {
        let (x, y) = frame.at(*at);
        let wide = WIDE * number.to_string().len() as f64;
        let beside = |away: f64| {
            let (left, right) = (x - 5.0 - wide - away, x + 5.0 + away);
            let (below, above) = (y + 13.0 + away, y - 5.0 - away);
            [
                (right, above),
                (right, below),
                (left, above),
                (left, below),
                (right + 2.0, y + 4.0),
                (left - 2.0, y + 4.0),
                (x - wide / 2.0, above - 2.0),
                (x - wide / 2.0, below + 2.0),
            ]
        };
        let places = (0..4).flat_map(|k| beside(f64::from(k) * 9.0));
        let boxed = |(x, y): (f64, f64)| [x, y - HIGH + 1.0, wide, HIGH];
        let free = |place: &(f64, f64)| taken.iter().all(|other| !overlap(&boxed(*place), other));
        let place = places.into_iter().find(free).unwrap_or((x + 5.0, y - 5.0));
        taken.push(boxed(place));
        numbers.push((x, y, place.0, place.1, *number));
    }
    Placed { numbers }
}

fn overlap(a: &Boxed, b: &Boxed) -> bool {
    a[0] < b[0] + b[2] && b[0] < a[0] + a[2] && a[1] < b[1] + b[3] && b[1] < a[1] + a[3]
}

impl Placed {
    /// Middle and half of width and height of each number, for what must keep off them.
    pub(super) fn boxes(&self) -> impl Iterator<Item = Boxed> {
        self.numbers.iter().map(|&(_, _, x, y, number)| {
            let half = WIDE * number.to_string().len() as f64 / 2.0;
            [x + half, y - 4.0, half + 1.0, HIGH / 2.0 + 1.0]
        })
    }

    /// Draws the stops first, so that no number lies under one.
    pub(super) fn put(&self, out: &mut String) {
        for (x, y, ..) in &self.numbers {
            let _ = write!(out, r#"<circle class="view" cx="{x:.1}" cy="{y:.1}" r="4"/>"#);
        }
        for (.., x, y, number) in &self.numbers {
            let _ = write!(out, r#"<text class="turn" x="{x:.1}" y="{y:.1}">{number}</text>"#);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use floorplan::{Point, Shape};

    #[test]
    fn numbers_of_stops_side_by_side_stand_apart() {
        let hall = Shape::rectangle((0, 0), (100_000, 50_000));
        let frame = Frame::around(std::iter::once(&hall), 56.0).expect("a hall");
        let stops = (0..8).map(|k| (Point::new(50_000 + k * 300, 25_000), k as usize + 95));
        let round = Round { stops: stops.collect(), ..Round::default() };
        let boxes: Vec<Boxed> = placed(&[round], &frame)
            .boxes()
            .map(|[x, y, wide, high]| {
                [x - wide + 1.0, y - high + 1.0, 2.0 * wide - 2.0, 2.0 * high - 2.0]
            })
            .collect();
        for (i, a) in boxes.iter().enumerate() {
            assert!(boxes[..i].iter().all(|b| !overlap(a, b)), "{boxes:?}");
        }
    }
}
