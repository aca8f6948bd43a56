//! The dial: the paper disc of a mechanical watch clock. Angle is time, each ring a zone, worst
//! first; the empty arc between two strokes *is* the unseen gap.
//!
//! One turn is 12 hours and the hour stands where a clock has it; longer shifts take a 24-hour face.
//! A look is a dark stroke; from it the band runs on for the allowed gap, and what comes after is
//! hatched. It reads without colour: over the gap is hatched, unclear is an outline with "?", not heard
//! from is dotted, a stop for an emergency is left open with a dotted edge, late sealing is a thin
//! line inside, a tail is a toothed edge outside, an emergency a radial line with a flag.

use crate::polar::{Disc, escape, number};
use crate::rim_labels::spread;
use std::fmt::Write as _;

/// A stretch of time, ms UTC, `from` before `to`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// Its beginning.
    pub from_ms: i64,
    /// Its end.
    pub to_ms: i64,
}

/// One zone's ring.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DialZone {
    /// Its longest allowed gap, s.
    pub allowed_s: i64,
    /// When it was recorded as seen, ms UTC, ascending.
    pub looks_ms: Vec<i64>,
    /// Stretches where the evidence conflicts or is missing.
    pub unclear: Vec<Span>,
    /// Stretches of which nothing was heard yet.
    pub unheard: Vec<Span>,
}

/// What stands in the middle, one line each.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum MiddleLine {
    /// The place, bold.
    Title(String),
    /// A plain line.
    Plain(String),
    /// What is over, bold.
    Over(String),
    /// A second line to it.
    OverSmall(String),
}

/// Everything that a dial shows.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DialInput {
    /// Beginning of the shift, ms UTC.
    pub from_ms: i64,
    /// Its end, planned or real, ms UTC.
    pub until_ms: i64,
    /// Now, if the shift still runs: nothing is drawn after it.
    pub now_ms: Option<i64>,
    /// Local time minus UTC, minutes.
    pub tz_min: i64,
    /// Zones, worst first. The first eight are drawn, the rest belong into the table beside it.
    pub zones: Vec<DialZone>,
    /// Rounds stopped for an emergency.
    pub held: Vec<Span>,
    /// Lines received late.
    pub sealed_late: Vec<Span>,
    /// Tails of hot work.
    pub tails: Vec<Span>,
    /// Emergencies, ms UTC.
    pub emergencies_ms: Vec<i64>,
    /// What stands in the middle, four lines at most.
    pub middle: Vec<MiddleLine>,
    /// The same in words, for those who do not see it.
    pub says: String,
}

/// The most rings that stay readable.
pub const RINGS_MAX: usize = 8;

const SIZE: f64 = 460.0;
const RIM: f64 = 152.0;
const OUTER: f64 = 147.0;
const INNER: f64 = 62.0;
const HOURS: f64 = 170.0;
const LABELS: f64 = 191.0;
/// Where lines to labels run along the rim, inside of the hours.
const ALONG: f64 = 160.0;

/// Turns time into turns of the face.
struct Face {
    turn_ms: i64,
    tz_min: i64,
}

impl Face {
    fn of(input: &DialInput) -> Face {
        let hours = if input.until_ms - input.from_ms > 12 * 3_600_000 { 24 } else { 12 };
        Face { turn_ms: hours * 3_600_000, tz_min: input.tz_min }
    }

    fn hours(&self) -> i64 {
        self.turn_ms / 3_600_000
    }

    fn turn(&self, at_ms: i64) -> f64 {
        let local = at_ms + self.tz_min * 60_000;
        local.rem_euclid(self.turn_ms) as f64 / self.turn_ms as f64
    }

    /// The turns of a stretch; the end lies after the beginning and at most one turn away.
    fn turns(&self, span: Span) -> (f64, f64) {
        let from = self.turn(span.from_ms);
        let length = (span.to_ms - span.from_ms).min(self.turn_ms) as f64 / self.turn_ms as f64;
        (from, from + length)
    }
}

/// Draws the dial.
pub fn dial(input: &DialInput) -> String {
    let face = Face::of(input);
    let mut disc = Disc { centre: SIZE / 2.0, svg: open_svg("dial", SIZE, &input.says) };
    draw_face(&mut disc, input, &face);
    let zones = &input.zones[..input.zones.len().min(RINGS_MAX)];
    // Six rings fill the disc; fewer stay as thin as six would be, so that two dials compare.
    let pitch = (OUTER - INNER) / zones.len().max(6) as f64;
    let mut over = Vec::new();
    for (i, zone) in zones.iter().enumerate() {
        let outer = OUTER - i as f64 * pitch;
        over.extend(draw_zone(&mut disc, input, &face, zone, outer - pitch + 1.5, outer));
    }
    let inner_edge = OUTER - zones.len().max(1) as f64 * pitch;
    draw_held(&mut disc, input, &face, inner_edge);
    draw_marks(&mut disc, input, &face, inner_edge);
    draw_labels(&mut disc, &over, face.hours());
    draw_middle(&mut disc, &input.middle);
    disc.svg.push_str("</svg>");
    disc.svg
}

/// The small dial for lists, 84 px: the worst zone alone, thick.
pub fn small_dial(input: &DialInput) -> String {
    let face = Face::of(input);
    let mut disc = Disc { centre: 42.0, svg: open_svg("dial small", 84.0, &input.says) };
    disc.circle("rim", 36.0);
    if let Some(zone) = input.zones.first() {
        draw_zone(&mut disc, input, &face, zone, 23.0, 35.0);
    }
    draw_held(&mut disc, input, &face, 22.0);
    disc.radial("startmark", face.turn(input.from_ms), 19.0, 38.0);
    for at_ms in &input.emergencies_ms {
        disc.radial("alarm", face.turn(*at_ms), 0.0, 38.0);
    }
    if let Some(now_ms) = input.now_ms {
        disc.radial("now", face.turn(now_ms), 19.0, 38.0);
    }
    disc.svg.push_str("</svg>");
    disc.svg
}

fn open_svg(class: &str, size: f64, says: &str) -> String {
    let (size, says) = (number(size), escape(says));
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" class="{class}" viewBox="0 0 {size} {size}" width="{size}" height="{size}" role="img" aria-label="{says}">"#
    )
}

fn draw_face(disc: &mut Disc, input: &DialInput, face: &Face) {
    disc.circle("rim", RIM);
    let hours = face.hours();
    for quarter in 0..hours * 4 {
        let turn = quarter as f64 / (hours * 4) as f64;
        let length = if quarter % 4 == 0 { 6.0 } else { 2.5 };
        disc.radial("tickmark", turn, RIM, RIM + length);
    }
    // A 12-hour face says the hours of this shift: 20, 21, … and not 8, 9, ….
    let first = (input.from_ms + input.tz_min * 60_000).div_euclid(3_600_000);
    for hour in first..first + hours {
        let (x, y) = disc.point(HOURS, hour.rem_euclid(hours) as f64 / hours as f64);
        if hours == 12 || hour % 2 == 0 {
            disc.text("hour", x, y + 4.0, &format!("{:02}", hour.rem_euclid(24)));
        }
    }
}

/// What is over on one ring: where its worst gap lies and how long it was.
struct Over {
    turn: f64,
    unseen_min: i64,
}

fn draw_zone(
    disc: &mut Disc,
    input: &DialInput,
    face: &Face,
    zone: &DialZone,
    inner: f64,
    outer: f64,
) -> Option<Over> {
    // Before the beginning nothing is owed yet, so nothing is drawn.
    let end_ms = input.now_ms.unwrap_or(input.until_ms).min(input.until_ms).max(input.from_ms);
    disc.circle("lane", outer);
    disc.circle("lane", inner);
    let inside: Vec<i64> =
        zone.looks_ms.iter().copied().filter(|at| (input.from_ms..=end_ms).contains(at)).collect();
    // The shift's beginning starts the clock of each zone, though nobody has looked yet.
    let starts = std::iter::once(input.from_ms).chain(inside.iter().copied());
    let ends = inside.iter().copied().chain(std::iter::once(end_ms));
    let mut worst: Option<(i64, Over)> = None;
    for (from_ms, to_ms) in starts.zip(ends).filter(|(from, to)| to > from) {
        let allowed_ms = zone.allowed_s * 1000;
        let kept = Span { from_ms, to_ms: to_ms.min(from_ms + allowed_ms) };
        let (a, b) = face.turns(kept);
        disc.sector("seen", inner, outer, a, b);
        let over_ms = excused(input, zone, Span { from_ms, to_ms }, allowed_ms);
        if let Some(over) = over_ms {
            let (a, b) = face.turns(over);
            disc.sector("hole", inner, outer, a, b);
            disc.hatch(inner, outer, a, b, 4.2);
            disc.sector("gap", inner, outer, a, b);
            let unseen_ms = to_ms - from_ms;
            if worst.as_ref().is_none_or(|(longest, _)| unseen_ms > *longest) {
                worst = Some((
                    unseen_ms,
                    Over {
                        turn: (a + b) / 2.0, // Rounded up: what is over is never shown as just allowed.
                        unseen_min: (unseen_ms + 59_999) / 60_000,
                    },
                ));
            }
        }
    }
    for span in &zone.unclear {
        let (a, b) = face.turns(*span);
        disc.sector("hole", inner, outer, a, b);
        disc.sector("unclear", inner, outer, a, b);
        let (x, y) = disc.point((inner + outer) / 2.0, (a + b) / 2.0);
        disc.text("hour", x, y + 4.0, "?");
    }
    for span in &zone.unheard {
        let (a, b) = face.turns(*span);
        disc.sector("hole", inner, outer, a, b);
        disc.sector("unheard", inner, outer, a, b);
    }
    for at_ms in &inside {
        disc.radial("look", face.turn(*at_ms), inner, outer);
    }
    worst.map(|(_, over)| over)
}

/// The part of a gap that is over, unless it lies in a stretch that is drawn otherwise: rounds
/// stopped for an emergency, unclear, or not heard from.
fn excused(input: &DialInput, zone: &DialZone, gap: Span, allowed_ms: i64) -> Option<Span> {
    let over = Span { from_ms: gap.from_ms + allowed_ms, to_ms: gap.to_ms };
    let otherwise = input.held.iter().chain(&zone.unclear).chain(&zone.unheard);
    let covered =
        otherwise.into_iter().any(|span| span.from_ms < over.to_ms && over.from_ms < span.to_ms);
    (over.from_ms < over.to_ms && !covered).then_some(over)
}

fn draw_held(disc: &mut Disc, input: &DialInput, face: &Face, inner: f64) {
    let outer = if disc.centre > 100.0 { OUTER } else { 35.0 };
    for span in &input.held {
        let (a, b) = face.turns(*span);
        disc.sector("hole", inner, outer, a, b);
        disc.sector("held", inner, outer, a, b);
    }
}

fn draw_marks(disc: &mut Disc, input: &DialInput, face: &Face, inner: f64) {
    for span in &input.sealed_late {
        let (a, b) = face.turns(*span);
        disc.sector("late", inner - 5.0, inner - 2.5, a, b);
    }
    for span in &input.tails {
        tail(disc, face, *span);
    }
    disc.radial("startmark", face.turn(input.from_ms), inner - 12.0, RIM + 8.0);
    for at_ms in &input.emergencies_ms {
        let turn = face.turn(*at_ms);
        disc.radial("alarm", turn, inner - 14.0, RIM + 3.0);
        let flag = format!(
            "M{}L{}L{}Z",
            disc.at(RIM + 3.0, turn),
            disc.at(RIM + 11.0, turn + 0.012),
            disc.at(RIM + 11.0, turn - 0.012)
        );
        let _ = write!(disc.svg, r#"<path class="alarmflag" d="{flag}"/>"#);
    }
    if let Some(now_ms) = input.now_ms.filter(|now_ms| *now_ms >= input.from_ms) {
        disc.radial("now", face.turn(now_ms), inner - 12.0, RIM + 8.0);
    }
}

/// A toothed edge between the outermost ring and the rim.
fn tail(disc: &mut Disc, face: &Face, span: Span) {
    let (from, to) = face.turns(span);
    let teeth = libm::ceil((to - from) * 144.0).max(1.0) as usize * 2;
    let path: Vec<String> = (0..=teeth)
        .map(|i| {
            let turn = from + (to - from) * i as f64 / teeth as f64;
            disc.at(if i % 2 == 0 { OUTER + 0.5 } else { RIM - 0.5 }, turn)
        })
        .collect();
    let _ = write!(disc.svg, r#"<path class="tail" d="M{}"/>"#, path.join("L"));
}

/// Each ring's worst gap in figures outside of the hours. Labels move along the rim until there is room; the line to a
/// label goes along the rim too, so that neither crosses the figures of an hour.
fn draw_labels(disc: &mut Disc, over: &[Over], hours: i64) {
    let wanted: Vec<f64> = over.iter().map(|o| o.turn.rem_euclid(1.0)).collect();
    for (over, placed) in over.iter().zip(spread(&wanted, 0.045)) {
        let lead = lead(disc, over.turn.rem_euclid(1.0), placed, hours);
        let _ = write!(disc.svg, r#"<path class="lead" d="{lead}"/>"#);
        let label = words::unseen_for(over.unseen_min);
        // Beside the face a label is as far out as it is wide, above and below it as it is high.
        let half = label.chars().count() as f64 * 3.1;
        let (sideways, _) = disc.point(1.0, placed);
        let out = (sideways - disc.centre).abs() * (half - 8.0).max(0.0);
        let (x, y) = disc.point(LABELS + out, placed);
        disc.text("gaplab", x, y + 4.0, &label);
    }
}

/// The nearest turn at which a line does not touch the figures of an hour.
fn between_hours(turn: f64, hours: i64) -> f64 {
    // Half of an hour's figures, and a little.
    const CLEAR: f64 = 0.014;
    let hour = libm::round(turn * hours as f64) / hours as f64;
    match turn - hour {
        aside if aside.abs() >= CLEAR => turn,
        aside if aside < 0.0 => hour - CLEAR,
        _ => hour + CLEAR,
    }
}

/// From the rim at one turn along it to another, and outwards between the hours.
fn lead(disc: &Disc, from: f64, to: f64, hours: i64) -> String {
    let out = between_hours(to, hours);
    let ahead = out - from;
    // The shorter way round.
    let ahead = ahead - libm::round(ahead);
    let (r, sweep) = (number(ALONG), u8::from(ahead > 0.0));
    format!(
        "M{}L{}A{r} {r} 0 0 {sweep} {}L{}",
        disc.at(RIM, from),
        disc.at(ALONG, from),
        disc.at(ALONG, out),
        disc.at(LABELS - 11.0, out)
    )
}

fn draw_middle(disc: &mut Disc, lines: &[MiddleLine]) {
    let mut y = disc.centre - (lines.len() as f64 - 1.0) * 8.0 + 4.0;
    for line in lines {
        let (class, text) = match line {
            MiddleLine::Title(text) => ("c0", text),
            MiddleLine::Plain(text) => ("c1", text),
            MiddleLine::Over(text) => ("c2", text),
            MiddleLine::OverSmall(text) => ("c3", text),
        };
        disc.text(class, disc.centre, y, text);
        y += 16.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOUR: i64 = 3_600_000;

    fn night(looks_min: &[i64]) -> DialInput {
        let from_ms = 20 * HOUR;
        DialInput {
            from_ms,
            until_ms: from_ms + 12 * HOUR,
            now_ms: Some(from_ms + 2 * HOUR),
            zones: vec![DialZone {
                allowed_s: 1800,
                looks_ms: looks_min.iter().map(|min| from_ms + min * 60_000).collect(),
                ..DialZone::default()
            }],
            ..DialInput::default()
        }
    }

    #[test]
    fn a_kept_zone_is_an_unbroken_band() {
        let svg = dial(&night(&[10, 35, 60, 85, 110]));
        assert_eq!(svg.matches(r#"class="look""#).count(), 5);
        assert!(!svg.contains("hatch") && !svg.contains("gaplab"));
    }

    #[test]
    fn the_whole_unseen_time_is_the_label_and_only_what_is_over_is_hatched() {
        let svg = dial(&night(&[10, 51, 75, 100]));
        assert!(svg.contains("41\u{a0}min"), "{svg}");
        assert_eq!(svg.matches(r#"class="hatch""#).count(), 1);
        assert_eq!(svg.matches(r#"class="gap""#).count(), 1);
    }

    #[test]
    fn a_zone_never_seen_is_over_from_the_allowed_gap_on() {
        let svg = dial(&night(&[]));
        assert!(svg.contains("120\u{a0}min"), "{svg}");
    }

    #[test]
    fn before_its_beginning_a_watch_has_no_gap_and_no_now() {
        let mut input = night(&[]);
        input.now_ms = Some(input.from_ms - HOUR);
        let svg = dial(&input);
        for class in ["gap", "hatch", "seen", "now"] {
            assert!(!svg.contains(&format!(r#"class="{class}""#)), "{class}: {svg}");
        }
        assert!(!svg.contains("gaplab") && svg.contains("startmark"), "{svg}");
    }

    #[test]
    fn a_stop_for_an_emergency_is_left_open_and_not_hatched() {
        let mut input = night(&[10, 35, 100]);
        input.held =
            vec![Span { from_ms: 20 * HOUR + 50 * 60_000, to_ms: 20 * HOUR + 98 * 60_000 }];
        let svg = dial(&input);
        assert!(svg.contains(r#"class="held""#) && !svg.contains("hatch"));
    }

    #[test]
    fn the_hour_stands_where_a_clock_has_it() {
        let mut input = night(&[]);
        let svg = dial(&input);
        // 21 o'clock is at nine, left of the middle: x = 230 - 170.
        assert!(svg.contains(r#"<text class="hour" x="60" y="234">21</text>"#), "{svg}");
        input.until_ms = input.from_ms + 14 * HOUR;
        assert!(dial(&input).contains(r#"<text class="hour" x="230" y="64">00</text>"#));
    }

    #[test]
    fn lines_to_labels_go_between_the_hours() {
        for hours in [12, 24] {
            for step in -100..1100 {
                let turn = f64::from(step) / 1000.0;
                let out = between_hours(turn, hours);
                let from_hour = out * hours as f64 - libm::round(out * hours as f64);
                // Figures are 16 wide at most, 170 from the middle.
                assert!(from_hour.abs() / hours as f64 > 8.0 / (170.0 * std::f64::consts::TAU));
                assert!((out - turn).abs() < 0.0141);
            }
        }
    }

    #[test]
    fn only_eight_rings_are_drawn() {
        let mut input = night(&[10]);
        input.zones = vec![input.zones[0].clone(); 11];
        assert_eq!(dial(&input).matches(r#"class="look""#).count(), 8);
        assert_eq!(small_dial(&input).matches(r#"class="look""#).count(), 1);
    }
}
