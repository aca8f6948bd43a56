//! A strip of one piece of work in time order: phases side by side, with strokes for the looks in them.
//!
//! Widths follow the time, but no phase is too narrow for its words. Each kind of phase has its own
//! shape, so that it reads without colour: before the work an outline, the work solid, the watch after it
//! toothed, the looks an open band with strokes.

use crate::polar::{escape, number};
use std::fmt::Write as _;

/// What goes on in a phase.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PhaseKind {
    /// Permit and checks.
    Before,
    /// Sparks may fly.
    Work,
    /// Watched without a break.
    Tail,
    /// Looked at now and then.
    Looks,
}

/// One phase.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Phase {
    /// What goes on.
    pub kind: PhaseKind,
    /// Its name in words.
    pub name: String,
    /// From, ms UTC.
    pub from_ms: i64,
    /// Until, ms UTC.
    pub until_ms: i64,
    /// The local time of its beginning, as it is written.
    pub from: String,
    /// The local time of its end.
    pub until: String,
}

const WIDE: f64 = 1000.0;
const HIGH: f64 = 110.0;
const TOP: f64 = 34.0;
const BAND: f64 = 34.0;
/// The least share of the strip that one phase takes.
const SHARE_MIN: f64 = 0.14;

/// Draws the strip; nothing without phases.
pub fn strip(phases: &[Phase], looks_ms: &[i64], says: &str) -> String {
    let mut svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {HIGH}" class="strip" role="img" aria-label="{}">"#,
        escape(says)
    );
    let mut left = 10.0;
    for (i, (phase, width)) in phases.iter().zip(widths(phases)).enumerate() {
        draw(&mut svg, phase, left, width, i + 1 == phases.len());
        let length = (phase.until_ms - phase.from_ms).max(1) as f64;
        for at_ms in looks_ms.iter().filter(|at| (phase.from_ms..phase.until_ms).contains(*at)) {
            let x = left + width * (at_ms - phase.from_ms) as f64 / length;
            let (y0, y1) = (number(TOP - 5.0), number(TOP + BAND + 5.0));
            let _ = write!(svg, r#"<path class="look" d="M{0} {y0}L{0} {y1}"/>"#, number(x));
        }
        left += width;
    }
    svg.push_str("</svg>");
    svg
}

/// Shares by length, none under the least, together the whole width.
fn widths(phases: &[Phase]) -> Vec<f64> {
    let room = WIDE - 20.0;
    let length = |phase: &Phase| (phase.until_ms - phase.from_ms).max(1) as f64;
    let all: f64 = phases.iter().map(length).sum();
    let shares: Vec<f64> = phases.iter().map(|p| (length(p) / all).max(SHARE_MIN)).collect();
    let sum: f64 = shares.iter().sum();
    shares.into_iter().map(|share| share / sum * room).collect()
}

fn draw(svg: &mut String, phase: &Phase, left: f64, width: f64, last: bool) {
    let (class, x, w) = (class(phase.kind), number(left), number(width));
    let _ = write!(svg, r#"<rect class="{class}" x="{x}" y="{TOP}" width="{w}" height="{BAND}"/>"#);
    if phase.kind == PhaseKind::Tail {
        let teeth = (width / 14.0).max(1.0) as usize;
        let step = width / teeth as f64;
        let mut path = format!("M{x} {TOP}");
        for i in 0..teeth {
            let at = left + step * i as f64;
            let (mid, end) = (number(at + step / 2.0), number(at + step));
            let _ = write!(path, "L{mid} {}L{end} {TOP}", number(TOP - 9.0));
        }
        let _ = write!(svg, r#"<path class="tail" d="{path}"/>"#);
    }
    let middle = number(left + width / 2.0);
    let name = escape(&phase.name);
    let _ = write!(svg, r#"<text class="name" x="{middle}" y="18">{name}</text>"#);
    let below = TOP + BAND + 24.0;
    let _ = write!(
        svg,
        r#"<text class="hour" x="{}" y="{below}">{}</text>"#,
        number(left.max(30.0)),
        escape(&phase.from)
    );
    if last {
        let _ = write!(
            svg,
            r#"<text class="hour" x="{}" y="{below}">{}</text>"#,
            number((left + width).min(WIDE - 30.0)),
            escape(&phase.until)
        );
    }
}

fn class(kind: PhaseKind) -> &'static str {
    match kind {
        PhaseKind::Before => "before",
        PhaseKind::Work => "work",
        PhaseKind::Tail => "tailband",
        PhaseKind::Looks => "looks",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn phase(kind: PhaseKind, from_min: i64, until_min: i64) -> Phase {
        Phase {
            kind,
            name: "a <b>".to_owned(),
            from_ms: from_min * 60_000,
            until_ms: until_min * 60_000,
            from: "20:00".to_owned(),
            until: "21:00".to_owned(),
        }
    }

    #[test]
    fn short_phases_keep_room_for_their_words_and_all_fill_the_strip() {
        let phases = [
            phase(PhaseKind::Before, 0, 1),
            phase(PhaseKind::Work, 1, 120),
            phase(PhaseKind::Tail, 120, 180),
        ];
        let widths = widths(&phases);
        assert!(widths.iter().all(|width| *width > 110.0), "{widths:?}");
        assert!((widths.iter().sum::<f64>() - 980.0).abs() < 1e-9);
    }

    #[test]
    fn looks_are_strokes_in_their_phase_and_text_cannot_break_out() {
        let phases = [phase(PhaseKind::Looks, 0, 100)];
        let svg = strip(&phases, &[50 * 60_000, 200 * 60_000], "x");
        assert_eq!(svg.matches(r#"class="look""#).count(), 1);
        assert!(svg.contains(r#"class="look" d="M500 "#), "{svg}");
        assert!(svg.contains("a &lt;b&gt;"));
    }
}
