//! What stands where two floors touch: a way through between corridors, a wall towards an open area.

use super::super::border::{self, Side};
use super::Reading;
use crate::fabric::{Leaf, Opening, Room, RoomKind, Wall};
use crate::id::{LevelId, OpeningId, WallId};
use crate::plan::unused;
use crate::shape::Point;

impl Reading<'_> {
    /// Corridors that touch without a door between them are one way through.
    pub(super) fn gaps_between_corridors(&mut self) {
        let corridors: Vec<(usize, &Room)> = self
            .plan
            .rooms
            .iter()
            .enumerate()
            .filter(|(_, room)| room.kind == RoomKind::Corridor)
            .collect();
        let mut gaps = Vec::new();
        for (i, (a, one)) in corridors.iter().enumerate() {
            for (b, other) in
                corridors[i + 1..].iter().filter(|(_, other)| other.level == one.level)
            {
                let lines = common(one, *a, other, *b);
                let door = lines.iter().any(|line| {
                    self.plan
                        .openings
                        .iter()
                        .any(|o| o.level == one.level && touches(*line, o.line))
                });
                if !door {
                    gaps.extend(
                        lines.into_iter().map(|line| (one.level.clone(), one.id.clone(), line)),
                    );
                }
            }
        }
        for (level, room, line) in gaps {
            let id = OpeningId::from_name(&unused(&mut self.taken, &format!("{level} gap")));
            self.report.guessed(
                "corridors that touch without a door between them are open to each other",
                room.as_str(),
            );
            let leaf = Leaf::Gap;
            self.plan.openings.push(Opening {
                id,
                name: String::new(),
                level,
                leaf,
                line,
                exit: false,
            });
        }
    }

    /// A room has walls of its own, an open area has none: where one lies in or beside the other, the room's stand.
    pub(super) fn walls_towards_areas(&mut self) {
        let areas: Vec<(LevelId, [Point; 2])> = (self.plan.rooms.iter())
            .filter(|room| room.kind == RoomKind::Area)
            .filter_map(|room| Some((room.level.clone(), room.shape.bounds()?.into())))
            .collect();
        let mut walls = Vec::new();
        for room in &self.plan.rooms {
            let walled = matches!(room.kind, RoomKind::Room | RoomKind::Stair);
            let Some((lo, hi)) = room.shape.bounds().filter(|_| walled) else { continue };
            let beside = |(level, [from, to]): &(LevelId, [Point; 2])| {
                *level == room.level
                    && (from.x <= hi.x && lo.x <= to.x)
                    && (from.y <= hi.y && lo.y <= to.y)
            };
            if areas.iter().any(beside) {
                let closed = |ring: &Vec<Point>| ring.iter().chain(ring.first()).copied().collect();
                let lines = room.shape.rings.iter().map(closed);
                walls.extend(lines.map(|line: Vec<Point>| (room.level.clone(), line)));
                self.report.understood("room with walls towards an open area", room.id.as_str());
            }
        }
        for (level, line) in walls {
            let id = WallId::from_name(&unused(&mut self.taken, &format!("{level} wall")));
            self.plan.walls.push(Wall { id, level, line });
        }
    }
}

fn common(one: &Room, a: usize, other: &Room, b: usize) -> Vec<[Point; 2]> {
    let (left, right) = (
        border::sides(std::iter::once((a, &one.shape))),
        border::sides(std::iter::once((b, &other.shape))),
    );
    left.iter()
        .flat_map(|&l| right.iter().filter_map(move |&r| border::shared(l, r, 300)))
        .collect()
}

fn touches(line: [Point; 2], door: [Point; 2]) -> bool {
    let side = Side { a: line[0], b: line[1], of: 0 };
    let middle = Point::new((door[0].x + door[1].x) / 2, (door[0].y + door[1].y) / 2);
    border::distance(side, middle) < 60.0
}
