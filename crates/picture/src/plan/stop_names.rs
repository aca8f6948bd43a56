//! Names of stops on a map that is printed small: large letters, each beside its place, none over another.

use super::{Frame, WIDTH, escaped};
use floorplan::Point;
use std::fmt::Write;

/// Height of the letters, units of the picture: on a card 84 mm wide they are 2.4 mm high.
const LETTERS: f64 = 34.0;
/// A letter's width as a share of its height, on average (measured on the faces of the look).
const WIDE: f64 = 0.53;
/// Of the disc with the stop's number.
const RADIUS: f64 = 20.0;

/// Left, upper edge, width, height.
type Taken = [f64; 4];

/// Stops in the order of walking: a disc with the number, the name beside it.
pub(super) fn put(frame: &Frame, stops: &[(Point, usize, String)], out: &mut String) {
    let disc = |at: &Point| {
        let (x, y) = frame.at(*at);
        [x - RADIUS, y - RADIUS, 2.0 * RADIUS, 2.0 * RADIUS]
    };
    let mut taken: Vec<Taken> = stops.iter().map(|(at, ..)| disc(at)).collect();
    for (at, number, name) in stops {
        let (x, y) = frame.at(*at);
        let wide = (name.chars().count() as f64 * LETTERS * WIDE).min(WIDTH - 8.0);
        let place = free(&taken, (x, y), wide, frame.height);
        taken.push(place);
        let _ = write!(
            out,
            r#"<circle class="view" cx="{x:.1}" cy="{y:.1}" r="{RADIUS}"/><text class="stopnumber" x="{x:.1}" y="{:.1}">{number}</text><text class="stopname" x="{:.1}" y="{:.1}">{}</text>"#,
            y + 9.0,
            place[0],
            place[1] + LETTERS * 0.8,
            escaped(name)
        );
    }
}

/// Right of its disc, left, below, above, then further down and up, wherever nothing else is.
fn free(taken: &[Taken], (x, y): (f64, f64), wide: f64, height: f64) -> Taken {
    let beside = RADIUS + 6.0;
    let middle = (x - wide / 2.0).clamp(4.0, (WIDTH - 4.0 - wide).max(4.0));
    let (right, left) = (x + beside, x - beside - wide);
    let level = y - LETTERS / 2.0;
    let mut places = vec![[right, level], [left, level]];
    for step in 0..6 {
        let away = RADIUS + 2.0 + f64::from(step) * LETTERS;
        places.extend([[middle, y + away], [middle, y - away - LETTERS]]);
    }
    let fits = |place: &Taken| {
        place[0] >= 4.0
            && place[0] + place[2] <= WIDTH
            && place[1] >= 0.0
            && place[1] + place[3] <= height
            && taken.iter().all(|other| !overlap(place, other))
    };
    let mut places = places.into_iter().map(|[x, y]| [x, y, wide, LETTERS]);
    places.find(fits).unwrap_or([middle, y + RADIUS, wide, LETTERS])
}

fn overlap(a: &Taken, b: &Taken) -> bool {
    a[0] < b[0] + b[2] && b[0] < a[0] + a[2] && a[1] < b[1] + b[3] && b[1] < a[1] + a[3]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_at_one_place_stand_below_and_above_each_other() {
        let mut taken = vec![[580.0, 380.0, 40.0, 40.0]];
        for _ in 0..8 {
            let place = free(&taken, (600.0, 400.0), 200.0, 800.0);
            assert!(taken.iter().all(|other| !overlap(&place, other)), "{place:?} {taken:?}");
            taken.push(place);
        }
    }

    #[test]
    fn a_name_at_the_right_edge_stands_to_the_left() {
        let place = free(&[], (1150.0, 100.0), 300.0, 800.0);
        assert!(place[0] + place[2] < 1150.0, "{place:?}");
    }
}
