//! The phone's burning lane: one turn is the allowed gap, what is lit is what is left.

use crate::polar::{Disc, escape, number};
use std::fmt::Write as _;

const SIZE: f64 = 192.0;
const OUTER: f64 = 90.0;
const INNER: f64 = 76.0;

/// Draws the ring for a zone whose gap may last `allowed_s`, with `left_s` of it left. When nothing is
/// left, `left_s` is zero or less and the lane is hatched. `says` is the same in words.
///
/// The words inside the ring are the screen's, laid over it, so that they grow with the reader's text size.
pub fn ring(allowed_s: i64, left_s: i64, says: &str) -> String {
    let size = number(SIZE);
    let mut disc = Disc {
        centre: SIZE / 2.0,
        svg: format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" class="dial ring" viewBox="0 0 {size} {size}" role="img" aria-label="{}">"#,
            escape(says)
        ),
    };
    minute_marks(&mut disc, allowed_s);
    if left_s > 0 {
        let burnt = 1.0 - (left_s as f64 / allowed_s.max(1) as f64).min(1.0);
        disc.circle("rim", OUTER);
        disc.circle("rim", INNER);
        disc.sector("lit", INNER, OUTER, burnt, 1.0);
    } else {
        disc.hatch(INNER, OUTER, 0.0, 1.0, 7.0);
        disc.sector("gap", INNER, OUTER, 0.0, 1.0);
    }
    disc.radial("startmark", 0.0, INNER - 6.0, OUTER + 6.0);
    let _ = write!(disc.svg, "</svg>");
    disc.svg
}

/// One mark a minute, the fifth longer; beyond an hour one mark in five minutes.
fn minute_marks(disc: &mut Disc, allowed_s: i64) {
    let minutes = (allowed_s / 60).max(1);
    let step = if minutes > 60 { 5 } else { 1 };
    for minute in (step..minutes).step_by(step as usize) {
        // Counted from the end, so that the marks are the minutes that are left.
        let turn = 1.0 - minute as f64 / minutes as f64;
        let length = if minute % (step * 5) == 0 { 5.0 } else { 2.5 };
        disc.radial("tickmark", turn, OUTER + 1.5, OUTER + 1.5 + length);
    }
}

#[cfg(test)]
mod tests {
    use super::ring;

    #[test]
    fn what_is_lit_is_what_is_left() {
        let svg = ring(900, 450, "");
        // Half is burnt: the lit part begins at the bottom, 96 + 90 down.
        assert!(svg.contains(r#"class="lit" d="M96 186A90 90 0 0 1 96 6"#), "{svg}");
        assert!(!svg.contains("hatch"));
    }

    #[test]
    fn over_the_gap_is_hatched_and_nothing_is_lit() {
        let svg = ring(900, -240, "4 min over");
        assert!(svg.contains("hatch") && !svg.contains("lit"));
        assert!(svg.contains(r#"aria-label="4 min over""#));
    }

    #[test]
    fn there_is_a_mark_for_each_minute() {
        assert_eq!(ring(900, 60, "").matches("tickmark").count(), 14);
        assert_eq!(ring(7200, 60, "").matches("tickmark").count(), 23);
    }
}
