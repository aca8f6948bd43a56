//! Names of rooms, each where nothing else stands.

use super::{Frame, Over, escaped};
use floorplan::{LevelId, Plan, Point, Room, RoomKind};
use std::fmt::Write;

/// Middle and half of width and height of something drawn.
type Taken = [f64; 4];

/// Height of the names, in units of the picture.
const LETTERS: f64 = 11.0;

/// A line is kept free at places so far apart.
const LINE_STEP: f64 = 8.0;

/// What the names of a level must leave free: stops, ways, viewpoints, stairs, signs.
pub(super) fn taken(plan: &Plan, level: &LevelId, frame: &Frame, over: &Over) -> Vec<Taken> {
    let mut out = Vec::new();
    let mut put = |at: Point, (dx, dy): (f64, f64), (wide, high): (f64, f64)| {
        let (x, y) = frame.at(at);
        out.push([x + dx, y + dy, wide, high]);
    };
    let stops = over.rounds.iter().flat_map(|round| &round.stops);
    stops.for_each(|(at, _)| put(*at, (0.0, 0.0), (7.0, 7.0)));
    let lines = over.rounds.iter().flat_map(|round| &round.lines).chain(&over.walks);
    for leg in lines.flat_map(|line| line.windows(2)) {
        let count = (leg[0].distance_mm(leg[1]) as f64 * frame.scale / LINE_STEP) as i64 + 1;
        for k in 0..=count {
            let along = |a: i64, b: i64| a + (b - a) * k / count;
            let at = Point::new(along(leg[0].x, leg[1].x), along(leg[0].y, leg[1].y));
            put(at, (0.0, 0.0), (3.0, 3.0));
        }
    }
    over.viewpoints.iter().for_each(|at| put(*at, (0.0, 0.0), (7.0, 7.0)));
    let feet = plan.links.iter().flat_map(|link| &link.feet).filter(|foot| foot.level == *level);
    feet.for_each(|foot| put(foot.at, (0.0, 0.0), (13.0, 13.0)));
    let on = |its: &LevelId| its == level;
    plan.equipment
        .iter()
        .filter(|it| on(&it.level))
        .for_each(|it| put(it.at, (0.0, 0.0), (10.0, 10.0)));
    plan.marks
        .iter()
        .filter(|it| on(&it.level))
        .for_each(|it| put(it.at, (0.0, 0.0), (10.0, 10.0)));
    for stop in plan.stops.iter().filter(|stop| stop.level.as_ref().is_some_and(on)) {
        stop.at.iter().for_each(|at| put(*at, (11.0, 11.0), (7.0, 7.0)));
    }
    out
}

/// Puts the name of a room where it fits: in the roomiest place, or as near to it as nothing else stands.
/// What lies inside it has its own name.
pub(super) fn put(
    room: &Room,
    others: &[(usize, &Room)],
    frame: &Frame,
    letters: f64,
    taken: &mut Vec<Taken>,
    out: &mut String,
) {
    // The picture's own letters are 11 units high; a small screen wants larger ones.
    let scale = letters / LETTERS;
    let count = room.name.chars().count() as f64;
    let nameless = room.kind == RoomKind::Doorway
        || room.name.chars().all(|c| c.is_ascii_digit() || c == '-') && count > 5.0;
    let Some((lo, hi)) = room.shape.bounds().filter(|_| !nameless) else { return };
    let (half, high) = ((count * 3.2 + 2.0) * scale, 6.0 * scale);
    let size = |from: i64, to: i64| (to - from) as f64 * frame.scale;
    if size(lo.y, hi.y) < 14.0 * scale || size(lo.x, hi.x) < 2.0 * half {
        return;
    }
    let Some(at) = floorplan::import::border::inside(&room.shape) else { return };
    let (x, y) = frame.at(at);
    let within = |other: &&Room| {
        let bounds = other.shape.bounds();
        let own = other.id == room.id;
        !own && bounds
            .is_some_and(|(l, h)| lo.x <= l.x && lo.y <= l.y && h.x <= hi.x && h.y <= hi.y)
    };
    let inside: Vec<&Room> = others.iter().map(|(_, other)| *other).filter(within).collect();
    let free = |&[x, y]: &[f64; 2]| {
        let corners = [(-half, -high), (half, -high), (-half, high), (half, high), (0.0, 0.0)];
        let own = |at: Point| {
            room.shape.contains(at) && !inside.iter().any(|other: &&Room| other.shape.contains(at))
        };
        corners.iter().all(|(dx, dy)| own(frame.back(x + dx, y + dy)))
            && taken.iter().all(|[tx, ty, wide, tall]| {
                (x - tx).abs() >= half + wide || (y - ty).abs() >= high + tall
            })
    };
    let step = half + 8.0 * scale;
    let places = (0..5).flat_map(|k| {
        let away = 15.0 * scale * f64::from(k);
        [[x, y - away], [x, y + away], [x - step, y - away], [x + step, y + away]]
    });
    let Some([x, y]) = places.into_iter().find(|place| free(place)) else { return };
    taken.push([x, y, half, high]);
    let size = match letters > LETTERS {
        true => format!(r#" style="font-size:{letters:.1}px""#),
        false => String::new(),
    };
    let _ = write!(
        out,
        r#"<text class="name" x="{x:.1}" y="{:.1}"{size}>{}</text>"#,
        y + 4.0 * scale,
        escaped(&room.name)
    );
}
