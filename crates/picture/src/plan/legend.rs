//! What the signs on a level mean and which dash is whose, in rows above the level's name.

use super::{DASHES, Frame, MARGIN, Over, WIDTH, escaped};
use floorplan::{Leaf, LevelId, LinkKind, Plan};
use std::fmt::Write;
use words::{Lang, route as said};

/// Height of a row.
pub(super) const ROW: f64 = 24.0;
const LETTER: f64 = 7.4;

/// A sign, drawn around its middle, and what it means.
type Item = (String, String);

/// The rows of a level; none without a language, unless rounds are drawn.
pub(super) fn rows(plan: &Plan, level: &LevelId, over: &Over) -> Vec<Vec<Item>> {
    let mut items: Vec<Item> = Vec::new();
    for (i, round) in over.rounds.iter().enumerate() {
        if round.lines.is_empty() && round.stops.is_empty() {
            continue;
        }
        let dash = DASHES[i % DASHES.len()];
        let sign = format!(r#"<path class="walk" stroke-dasharray="{dash}" d="M-14 0h40"/>"#);
        items.push((sign, round.name.clone()));
    }
    if let Some(lang) = over.lang {
        signs(plan, level, over, lang, &mut items);
    }
    let (mut rows, mut wide) = (Vec::<Vec<Item>>::new(), f64::INFINITY);
    for item in items {
        let own = width(&item);
        if wide + own > WIDTH - 2.0 * MARGIN {
            rows.push(Vec::new());
            wide = 0.0;
        }
        wide += own;
        rows.last_mut().expect("a row was begun").push(item);
    }
    rows
}

fn width((sign, name): &Item) -> f64 {
    text_at(sign) + 16.0 + name.chars().count() as f64 * LETTER
}

/// How far right of its sign's beginning a name begins: signs are of three widths.
fn text_at(sign: &str) -> f64 {
    match sign {
        dash if dash.contains("h40") => 50.0,
        numbered if numbered.contains("turn") => 34.0,
        _ => 28.0,
    }
}

fn signs(plan: &Plan, level: &LevelId, over: &Over, lang: Lang, items: &mut Vec<Item>) {
    let mut put = |there: bool, sign: &str, name: &str| {
        if there {
            items.push((sign.to_owned(), name.to_owned()));
        }
    };
    let numbered = over.rounds.iter().any(|round| !round.stops.is_empty());
    let place = r#"<circle class="view" r="4"/><text class="turn" x="5" y="-3">1</text>"#;
    put(numbered, place, said::sign_place(lang));
    put(!over.viewpoints.is_empty(), r#"<circle class="view" r="4"/>"#, said::sign_look(lang));
    let stop = plan.stops.iter().any(|s| s.level.as_ref() == Some(level) && s.at.is_some());
    let diamond = r#"<g class="stop"><path d="M0 -6L6 0L0 6L-6 0z"/></g>"#;
    put(stop, diamond, said::sign_stop(lang));
    let foot = |lift: bool| {
        let kind = |kind: LinkKind| (kind == LinkKind::Lift) == lift;
        let here = plan.links.iter().filter(|link| kind(link.kind)).flat_map(|link| &link.feet);
        here.into_iter().any(|foot| foot.level == *level)
    };
    let disc = |body: &str| format!(r#"<g class="link"><circle r="9"/><path d="{body}"/></g>"#);
    put(foot(false), &disc("M-6 4h3v-3h3v-3h3v-3h3"), said::sign_stair(lang));
    put(foot(true), &disc("M-4 -1l4 -4l4 4M-4 2l4 4l4 -4"), said::sign_lift(lang));
    let doors = || plan.openings.iter().filter(|door| door.level == *level);
    let wedge = r#"<path class="exit" d="M-6 -5l12 0l-6 11z"/>"#;
    put(doors().any(|door| door.exit), wedge, said::sign_exit(lang));
    let locked = r#"<path class="leaf locked" d="M-8 4L8 -4"/>"#;
    put(doors().any(|door| door.leaf == Leaf::Locked), locked, said::sign_locked(lang));
    let lost = r#"<path class="floor lost" stroke-width="1" d="M-10 -7h20v14h-20z"/>"#;
    let mut hatched = over.hatched.iter().filter_map(|&room| plan.rooms.get(room));
    put(hatched.any(|room| room.level == *level), lost, said::sign_lost(lang));
}

/// Draws the rows, the last one just above the name.
pub(super) fn put(frame: &Frame, rows: &[Vec<Item>], out: &mut String) {
    for (r, row) in rows.iter().enumerate() {
        let y = frame.height - 66.0 - ROW * (rows.len() - 1 - r) as f64;
        let mut x = MARGIN;
        for item in row {
            let (sign, name) = item;
            let _ = write!(
                out,
                r#"<g transform="translate({:.0} {y:.0})">{sign}</g><text class="who" x="{:.0}" y="{:.0}">{}</text>"#,
                x + 12.0,
                x + text_at(sign),
                y + 5.0,
                escaped(name)
            );
            x += width(item);
        }
    }
}
