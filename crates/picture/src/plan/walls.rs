//! Walls as the floor knows them: what stops steps is drawn as a wall, and nothing else is, so that a way over the floor
//! never crosses a line that stands for one.

use floorplan::{Floor, Point, RoomKind};
use geometry::Border;
use std::collections::BTreeMap;

/// Lines of one level.
#[derive(Debug, Default)]
pub struct Walls {
    /// What stops steps and sight.
    pub(super) walls: Vec<Vec<Point>>,
    /// Where an open area ends without a wall.
    pub(super) ends: Vec<Vec<Point>>,
}

/// The walls of a level's floor; none when the level has no floor.
pub(super) fn of(plan: &floorplan::Plan, level: &floorplan::LevelId) -> Option<Walls> {
    let floor = Floor::new(plan, level).ok()?;
    // Each edge once: by its vertices, whether it is a wall, and the kind of floor on each side.
    let mut edges: BTreeMap<(u32, u32), (bool, Vec<RoomKind>)> = BTreeMap::new();
    for h in 0..floor.mesh.borders.len() {
        let (a, b) = floor.mesh.ends(h);
        let edge = edges.entry((a.min(b), a.max(b))).or_default();
        edge.0 |= floor.mesh.borders[h] == Border::Wall;
        edge.1.push(plan.rooms[floor.room(h as u32 / 3)].kind);
    }
    let (mut walls, mut ends) = (Vec::new(), Vec::new());
    for (edge, (wall, kinds)) in edges {
        match kinds[..] {
            [RoomKind::Area] => ends.push(edge),
            [_] => walls.push(edge),
            _ if wall => walls.push(edge),
            _ => {}
        }
    }
    let drawn = |edges: Vec<(u32, u32)>| {
        let points = &floor.mesh.points;
        let line = |line: Vec<u32>| {
            line.into_iter().map(|v| floorplan::floor::whole(points[v as usize])).collect()
        };
        chains(&edges).into_iter().map(line).collect()
    };
    Some(Walls { walls: drawn(walls), ends: drawn(ends) })
}

/// Edges joined to lines, each edge in one of them.
fn chains(edges: &[(u32, u32)]) -> Vec<Vec<u32>> {
    let mut at: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for (e, &(a, b)) in edges.iter().enumerate() {
        at.entry(a).or_default().push(e);
        at.entry(b).or_default().push(e);
    }
    let mut open = vec![true; edges.len()];
    let mut out = Vec::new();
    // Lines begin where they fork or end; what is left after that are rings.
    let forks = at.iter().filter(|(_, on)| on.len() != 2).map(|(v, _)| *v);
    let starts: Vec<u32> = forks.chain(at.keys().copied()).collect();
    for start in starts {
        for &first in &at[&start] {
            if !open[first] {
                continue;
            }
            let (mut line, mut e) = (vec![start], first);
            loop {
                open[e] = false;
                let last = line[line.len() - 1];
                let next = if edges[e].0 == last { edges[e].1 } else { edges[e].0 };
                line.push(next);
                let on = &at[&next];
                match on.iter().find(|&&other| open[other]) {
                    Some(&other) if on.len() == 2 => e = other,
                    _ => break,
                }
            }
            out.push(line);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_become_lines_and_rings() {
        // A square with a tail at its first corner.
        let lines = chains(&[(0, 1), (1, 2), (2, 3), (0, 3), (0, 9)]);
        assert_eq!(lines.iter().map(Vec::len).sum::<usize>(), 5 + 2);
        assert!(lines.contains(&vec![9, 0]) || lines.contains(&vec![0, 9]), "{lines:?}");
        assert_eq!(chains(&[(4, 5), (5, 6), (4, 6)]), [vec![4, 5, 6, 4]]);
    }
}
