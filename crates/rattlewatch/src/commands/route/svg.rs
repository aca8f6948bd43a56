//! The rounds drawn level by level: stops as numbered dots in walking order, legs as lines. A leg to
//! another level ends in an open ring.

use super::places::Places;
use planner::Plan;
use std::collections::BTreeMap;
use std::fmt::Write as _;

const WIDTH: f64 = 800.0;
const EDGE: f64 = 40.0;
/// Dashes tell the rounds apart without colour.
const DASHES: [&str; 6] = ["none", "8 4", "2 4", "12 4 2 4", "4 4", "16 6"];

pub(super) fn drawing(places: &Places, plan: &Plan) -> String {
    let (min_x, max_x) = range(places.list.iter().map(|p| p.at_mm.0));
    let (min_y, max_y) = range(places.list.iter().map(|p| p.at_mm.1));
    let scale = (WIDTH - 2.0 * EDGE) / ((max_x - min_x).max(max_y - min_y).max(1) as f64);
    let height = (max_y - min_y) as f64 * scale + 2.0 * EDGE + 24.0;
    let levels: BTreeMap<&str, usize> = places
        .list
        .iter()
        .map(|place| place.level.as_str())
        .collect::<std::collections::BTreeSet<_>>()
        .into_iter()
        .enumerate()
        .map(|(i, level)| (level, i))
        .collect();
    let on = |stop: usize| {
        let (x, y) = places.list[stop].at_mm;
        let top = levels[places.list[stop].level.as_str()] as f64 * height + 24.0;
        ((x - min_x) as f64 * scale + EDGE, top + (max_y - y) as f64 * scale + EDGE)
    };
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {:.0}\" font-family=\"sans-serif\" font-size=\"12\">\n<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n",
        height * levels.len() as f64
    );
    for (level, i) in &levels {
        let _ = writeln!(
            out,
            "<text x=\"12\" y=\"{:.0}\" font-weight=\"bold\">{}</text>",
            *i as f64 * height + 20.0,
            escaped(level)
        );
    }
    for (t, team) in plan.teams.iter().enumerate() {
        let dash = DASHES[t % DASHES.len()];
        for (i, &stop) in team.round.iter().enumerate() {
            let next = team.round[(i + 1) % team.round.len()];
            let ((x, y), (to_x, to_y)) = (on(stop), on(next));
            if places.list[stop].level == places.list[next].level {
                let _ = writeln!(
                    out,
                    "<path d=\"M{x:.1} {y:.1}L{to_x:.1} {to_y:.1}\" stroke=\"#222\" stroke-dasharray=\"{dash}\" fill=\"none\"/>"
                );
            } else {
                let _ = writeln!(
                    out,
                    "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"10\" fill=\"none\" stroke=\"#222\"/>"
                );
            }
            let _ = writeln!(
                out,
                "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"5\"/><text x=\"{:.1}\" y=\"{:.1}\">{}.{} {}</text>",
                x + 8.0,
                y - 6.0,
                t + 1,
                i + 1,
                escaped(&places.list[stop].name)
            );
        }
    }
    out.push_str("</svg>\n");
    out
}

fn range(values: impl Iterator<Item = i64> + Clone) -> (i64, i64) {
    (values.clone().min().unwrap_or(0), values.max().unwrap_or(0))
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('"', "&quot;")
}
