//! Points, arcs and hatching in a disc. Angles are turns (0 to 1) clockwise from the top.

use std::f64::consts::TAU;
use std::fmt::Write as _;

/// A disc to draw in: its centre, and the SVG text that grows.
pub(crate) struct Disc {
    pub(crate) centre: f64,
    pub(crate) svg: String,
}

/// A number as SVG: two decimals at most, so that the bytes stay few and equal everywhere.
pub(crate) fn number(value: f64) -> String {
    let hundredths = libm::round(value * 100.0) as i64;
    let sign = if hundredths < 0 { "-" } else { "" };
    let (whole, rest) = (hundredths.abs() / 100, hundredths.abs() % 100);
    match rest {
        0 => format!("{sign}{whole}"),
        rest if rest % 10 == 0 => format!("{sign}{whole}.{}", rest / 10),
        rest => format!("{sign}{whole}.{rest:02}"),
    }
}

/// Text made safe for SVG and HTML.
pub(crate) fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

impl Disc {
    pub(crate) fn point(&self, radius: f64, turn: f64) -> (f64, f64) {
        let angle = turn * TAU;
        (self.centre + radius * libm::sin(angle), self.centre - radius * libm::cos(angle))
    }

    /// `x y`, ready for a path.
    pub(crate) fn at(&self, radius: f64, turn: f64) -> String {
        let (x, y) = self.point(radius, turn);
        format!("{} {}", number(x), number(y))
    }

    pub(crate) fn circle(&mut self, class: &str, radius: f64) {
        let (c, r) = (number(self.centre), number(radius));
        let _ = write!(self.svg, r#"<circle class="{class}" cx="{c}" cy="{c}" r="{r}"/>"#);
    }

    /// A stroke along a radius.
    pub(crate) fn radial(&mut self, class: &str, turn: f64, from: f64, to: f64) {
        let (a, b) = (self.at(from, turn), self.at(to, turn));
        let _ = write!(self.svg, r#"<path class="{class}" d="M{a}L{b}"/>"#);
    }

    fn arc_to(&self, radius: f64, from: f64, to: f64) -> String {
        let large = u8::from(to - from > 0.5);
        let r = number(radius);
        format!("A{r} {r} 0 {large} 1 {}", self.at(radius, to))
    }

    /// The outline of a piece of a ring. A whole turn is drawn as two halves, since an arc that ends
    /// where it begins is no arc.
    pub(crate) fn sector_path(&self, inner: f64, outer: f64, from: f64, to: f64) -> String {
        if to - from > 0.9999 {
            let half = from + 0.5;
            return self.sector_path(inner, outer, from, half)
                + &self.sector_path(inner, outer, half, from + 0.9999);
        }
        let back = {
            let large = u8::from(to - from > 0.5);
            let r = number(inner);
            format!("L{}A{r} {r} 0 {large} 0 {}Z", self.at(inner, to), self.at(inner, from))
        };
        format!("M{}{}{back}", self.at(outer, from), self.arc_to(outer, from, to))
    }

    pub(crate) fn sector(&mut self, class: &str, inner: f64, outer: f64, from: f64, to: f64) {
        let path = self.sector_path(inner, outer, from, to);
        let _ = write!(self.svg, r#"<path class="{class}" d="{path}"/>"#);
    }

    /// Hatching: slanted strokes inside a piece of a ring, about `step` apart. Drawn as strokes, not as a
    /// pattern, so that grey print and every SVG reader show the same.
    pub(crate) fn hatch(&mut self, inner: f64, outer: f64, from: f64, to: f64, step: f64) {
        let depth = (outer - inner) / (TAU * outer);
        let pitch = step / (TAU * outer);
        let mut path = String::new();
        let mut start = from - depth + pitch / 2.0;
        while start < to {
            // The stroke runs from (inner, start) to (outer, start + depth); keep what lies inside.
            let low = ((from - start) / depth).clamp(0.0, 1.0);
            let high = ((to - start) / depth).clamp(0.0, 1.0);
            if high - low > 0.02 {
                let (r0, r1) = (inner + low * (outer - inner), inner + high * (outer - inner));
                let (a, b) = (self.at(r0, start + low * depth), self.at(r1, start + high * depth));
                let _ = write!(path, "M{a}L{b}");
            }
            start += pitch;
        }
        if !path.is_empty() {
            let _ = write!(self.svg, r#"<path class="hatch" d="{path}"/>"#);
        }
    }

    /// Text centred on a point.
    pub(crate) fn text(&mut self, class: &str, x: f64, y: f64, text: &str) {
        let _ = write!(
            self.svg,
            r#"<text class="{class}" x="{}" y="{}">{}</text>"#,
            number(x),
            number(y),
            escape(text)
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_never_minus_zero() {
        let shown: Vec<String> = [0.0, -0.001, 1.5, -2.25, 3.004, 10.0].map(number).to_vec();
        assert_eq!(shown, ["0", "0", "1.5", "-2.25", "3", "10"]);
    }

    #[test]
    fn the_top_is_twelve_and_time_runs_clockwise() {
        let disc = Disc { centre: 100.0, svg: String::new() };
        assert_eq!(disc.at(50.0, 0.0), "100 50");
        assert_eq!(disc.at(50.0, 0.25), "150 100");
    }

    #[test]
    fn text_cannot_break_out() {
        assert_eq!(escape(r#"<b>"&"#), "&lt;b&gt;&quot;&amp;");
    }
}
