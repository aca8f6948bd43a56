//! Signs of the drawing: doors, equipment, marks, corners to grip, letters. They keep their size on the screen.

use crate::drawing::middle;
use floorplan::{EquipmentKind, Leaf, MarkKind, Opening, Point};
use std::fmt::Write;

/// A door is a gap in the wall with its leaf ajar; a locked one has a bar across, a one-way one an arrowhead, an exit a
/// wedge.
pub(crate) fn opening(door: &Opening, mm_per_px: f64, out: &mut String) {
    let [a, b] = door.line;
    if door.leaf == Leaf::Window {
        let _ = write!(out, r#"<path class="window" d="{}"/>"#, line(&door.line));
        return;
    }
    let _ = write!(out, r#"<path class="gap" d="{}"/>"#, line(&door.line));
    let (ax, ay) = (a.x as f64, -(a.y as f64));
    let (ux, uy) = ((b.x - a.x) as f64, -((b.y - a.y) as f64));
    let width = libm::hypot(ux, uy).max(1.0);
    let (nx, ny) = (uy / width, -ux / width);
    if door.leaf != Leaf::Gap {
        let (tx, ty) = (ax + ux * 0.5 + nx * width * 0.866, ay + uy * 0.5 + ny * width * 0.866);
        let _ = write!(out, r#"<path class="leaf" d="M{ax:.0} {ay:.0}L{tx:.0} {ty:.0}"/>"#);
    }
    let (mx, my) = (ax + ux / 2.0, ay + uy / 2.0);
    let px = mm_per_px;
    if door.leaf == Leaf::Locked {
        let (dx, dy) = (ux / width * 5.0 * px, uy / width * 5.0 * px);
        let _ = write!(
            out,
            r#"<path class="lock" d="M{:.0} {:.0}L{:.0} {:.0}"/>"#,
            mx - dx,
            my - dy,
            mx + dx,
            my + dy
        );
    }
    if door.leaf == Leaf::OneWay {
        // From the left of the line to its right: against the side where the leaf is drawn.
        let (fx, fy) = (-nx * 10.0 * px, -ny * 10.0 * px);
        let (sx, sy) = (ux / width * 5.0 * px, uy / width * 5.0 * px);
        let _ = write!(
            out,
            r#"<path class="oneway" d="M{:.0} {:.0}L{:.0} {:.0}L{:.0} {:.0}z"/>"#,
            mx + sx,
            my + sy,
            mx + fx,
            my + fy,
            mx - sx,
            my - sy
        );
    }
    if door.exit {
        sign("exit", middle(door.line), mm_per_px, r#"<path d="M-7 -17h14l-7 11z"/>"#, out);
    }
}

/// Shapes follow the meanings of NFPA 170 and ISO 7010 and are our own drawing.
pub(crate) fn thing_sign(kind: EquipmentKind) -> (&'static str, &'static str) {
    match kind {
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
    }
}

pub(crate) fn mark_sign(kind: MarkKind) -> &'static str {
    match kind {
        MarkKind::CallSpot => r#"<circle r="9"/><path class="in" d="M-4 -4c0 6 2 8 8 8"/>"#,
        MarkKind::AssemblyPoint => {
            r#"<path d="M-9 -9H9V9H-9z"/><path class="in" d="M-7 -7l5 5M7 -7l-5 5M-7 7l5 -5M7 7l-5 -5"/>"#
        }
        MarkKind::MeetingPoint => r#"<path d="M-9 -9H9V9H-9z"/><circle class="in" r="4"/>"#,
    }
}

pub(crate) fn grip(class: &str, at: Point, mm_per_px: f64, out: &mut String) {
    sign(class, at, mm_per_px, r#"<path d="M-5 -5H5V5H-5z"/>"#, out);
}

pub(crate) fn sign(class: &str, at: Point, mm_per_px: f64, body: &str, out: &mut String) {
    let _ = write!(
        out,
        r#"<g class="{class}" transform="translate({} {}) scale({mm_per_px:.3})">{body}</g>"#,
        at.x, -at.y
    );
}

pub(crate) fn text(
    class: &str,
    at: Point,
    (dx, dy): (f64, f64),
    size_px: f64,
    mm_per_px: f64,
    words: &str,
    out: &mut String,
) {
    if words.is_empty() {
        return;
    }
    let _ = write!(
        out,
        r#"<text class="{class}" x="{:.0}" y="{:.0}" font-size="{:.1}">{}</text>"#,
        at.x as f64 + dx * mm_per_px,
        -(at.y as f64) + dy * mm_per_px,
        size_px * mm_per_px,
        escaped(words)
    );
}

/// Points as a line, y down.
pub(crate) fn line(points: &[Point]) -> String {
    let mut out = String::new();
    for (i, p) in points.iter().enumerate() {
        let _ = write!(out, "{}{} {}", if i == 0 { 'M' } else { 'L' }, p.x, -p.y);
    }
    out
}

pub(crate) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
