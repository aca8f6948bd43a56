//! Everything that can be walked on a plan as one network: corners of the floors, door middles, and the stairs, ramps
//! and lifts between levels. Lengths are in millimetres; what passing a door or a link costs, the caller says.

use crate::fabric::{Leaf, Link, LinkKind};
use crate::floor::{Floors, place, whole};
use crate::id::LevelId;
use crate::plan::Plan;
use crate::shape::Point;
use geometry::sweep::Scratch;
use geometry::{Graph, Location, Placed, Straight, Tree, Ways};

/// A place on a level.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spot {
    /// The level.
    pub level: LevelId,
    /// Where.
    pub at: Point,
}

/// What is passed between two pieces of floor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Passage {
    /// A door, by what closes it.
    Door(Leaf),
    /// A stair, ramp or lift from one level to the next, by its rise in millimetres (negative: down).
    Link {
        /// What it is.
        kind: LinkKind,
        /// How far up; down when negative.
        rise_mm: i64,
        /// Whether a lift may be used on rounds.
        rounds: bool,
    },
}

/// The walkable whole of a plan.
pub struct Network<'a> {
    /// The floors it runs over.
    pub floors: &'a Floors,
    ways: Vec<Ways>,
    offsets: Vec<u32>,
    graph: Graph,
    at: Vec<(usize, geometry::Point)>,
    /// Nodes outside every door that leads out.
    exits: Vec<u32>,
    /// Openings that join nothing, by index: no floor on one side, or in no wall.
    pub loose_doors: Vec<usize>,
    /// Feet of links that stand on no floor, as (link, foot).
    pub loose_feet: Vec<(usize, usize)>,
}

/// Spots found on the network.
pub struct Standing {
    reach: Vec<Option<(usize, Straight)>>,
}

impl<'a> Network<'a> {
    /// Builds the network. `cost` gives the length in millimetres that passing something is worth, or none when it
    /// may not be passed.
    pub fn new(plan: &Plan, floors: &'a Floors, cost: impl Fn(Passage) -> Option<f64>) -> Self {
        let mut network = Self {
            floors,
            ways: Vec::new(),
            offsets: Vec::new(),
            graph: Graph::default(),
            at: Vec::new(),
            exits: Vec::new(),
            loose_doors: Vec::new(),
            loose_feet: Vec::new(),
        };
        for (f, floor) in floors.floors.iter().enumerate() {
            let middles: Vec<u32> = floor.doors.iter().filter_map(|door| door.1).collect();
            let ways = Ways::new(&floor.mesh, &middles);
            network.offsets.push(network.graph.append(&ways.graph));
            network.at.extend(ways.nodes.iter().map(|node| (f, node.at)));
            network.ways.push(ways);
        }
        network.doors(plan, &cost);
        network.links(plan, &cost);
        network
    }

    fn doors(&mut self, plan: &Plan, cost: &impl Fn(Passage) -> Option<f64>) {
        for f in 0..self.floors.floors.len() {
            let floor = &self.floors.floors[f];
            for &(i, vertex) in &floor.doors {
                let opening = &plan.openings[i];
                let sides =
                    vertex.map(|v| self.ways[f].nodes_at(&floor.mesh, v)).unwrap_or_default();
                let nodes: Vec<u32> = sides.iter().map(|n| n + self.offsets[f]).collect();
                if nodes.is_empty()
                    || (nodes.len() < 2 && !opening.exit && opening.leaf != Leaf::Gap)
                {
                    self.loose_doors.push(i);
                }
                if opening.exit {
                    self.exits.extend(nodes.iter().copied());
                }
                let Some(length) = cost(Passage::Door(opening.leaf)) else { continue };
                if opening.leaf == Leaf::Window {
                    continue;
                }
                for &one in &nodes {
                    for &other in nodes.iter().filter(|&&other| other != one) {
                        if opening.leaf != Leaf::OneWay || self.on_left(opening.line, f, one) {
                            self.graph.join(one, other, length);
                        }
                    }
                }
            }
        }
    }

    /// Whether the floor around a door's node lies on the left of the door's line.
    fn on_left(&self, line: [Point; 2], f: usize, node: u32) -> bool {
        let middle = self.ways[f].floor_side(&self.floors.floors[f].mesh, node - self.offsets[f]);
        geometry::turn(place(line[0]), place(line[1]), middle) == geometry::Turn::Left
    }

    fn links(&mut self, plan: &Plan, cost: &impl Fn(Passage) -> Option<f64>) {
        let mut feet: Vec<(usize, usize, Spot)> = Vec::new();
        for (l, link) in plan.links.iter().enumerate() {
            for (k, foot) in link.feet.iter().enumerate() {
                feet.push((l, k, Spot { level: foot.level.clone(), at: foot.at }));
            }
        }
        let spots: Vec<Spot> = feet.iter().map(|(_, _, spot)| spot.clone()).collect();
        let standing = self.stand(&spots, &spots);
        let nodes: Vec<u32> = spots.iter().map(|spot| self.add(spot)).collect();
        for (i, reach) in standing.reach.iter().enumerate() {
            let Some((f, straight)) = reach else {
                self.loose_feet.push((feet[i].0, feet[i].1));
                continue;
            };
            for &(n, length) in &straight.nodes {
                self.graph.join(nodes[i], n + self.offsets[*f], length);
                self.graph.join(n + self.offsets[*f], nodes[i], length);
            }
            for &(j, length) in &straight.points {
                self.graph.join(nodes[i], nodes[j as usize], length);
            }
        }
        for pair in 0..feet.len().saturating_sub(1) {
            let ((l, k, _), (m, n, _)) = (&feet[pair], &feet[pair + 1]);
            if l == m {
                self.rise(plan, &plan.links[*l], (*k, *n), (nodes[pair], nodes[pair + 1]), cost);
            }
        }
    }

    fn rise(
        &mut self,
        plan: &Plan,
        link: &Link,
        feet: (usize, usize),
        nodes: (u32, u32),
        cost: &impl Fn(Passage) -> Option<f64>,
    ) {
        let height = |k: usize| {
            let level = plan.levels.iter().find(|level| level.id == link.feet[k].level);
            level.map_or(0, |level| level.elevation_mm)
        };
        let rise_mm = height(feet.1) - height(feet.0);
        let passage = |rise_mm| Passage::Link { kind: link.kind, rise_mm, rounds: link.rounds };
        if let Some(length) = cost(passage(rise_mm)) {
            self.graph.join(nodes.0, nodes.1, length);
        }
        if let Some(length) = cost(passage(-rise_mm)) {
            self.graph.join(nodes.1, nodes.0, length);
        }
    }

    fn add(&mut self, spot: &Spot) -> u32 {
        self.at.push((self.floors.of(&spot.level).unwrap_or(usize::MAX), place(spot.at)));
        self.graph.add()
    }

    /// Finds spots on the floors, and which of the `others` each sees straight; a spot that stands in a wall or outside
    /// reaches nothing.
    pub fn stand(&self, spots: &[Spot], others: &[Spot]) -> Standing {
        let mut reach = vec![None; spots.len()];
        let mut scratch = Scratch::default();
        for (f, floor) in self.floors.floors.iter().enumerate() {
            let there: Vec<usize> =
                (0..others.len()).filter(|&j| others[j].level == floor.level).collect();
            let points: Vec<geometry::Point> = there.iter().map(|&j| place(others[j].at)).collect();
            let placed = Placed::new(&floor.mesh, &points);
            for (i, spot) in spots.iter().enumerate().filter(|(_, spot)| spot.level == floor.level)
            {
                let at = place(spot.at);
                let location = floor.mesh.locate(at);
                if location == Location::Outside {
                    continue;
                }
                let straight =
                    self.ways[f].straight(&floor.mesh, at, location, &placed, &mut scratch);
                reach[i] = straight.map(|mut straight| {
                    straight.points.iter_mut().for_each(|(j, _)| *j = there[*j as usize] as u32);
                    (f, straight)
                });
            }
        }
        Standing { reach }
    }

    /// Lengths in millimetres from one of the spots to all of them; infinite where there is no way.
    pub fn from(&self, standing: &Standing, i: usize, tree: &mut Tree) -> Vec<f64> {
        let mut out = vec![f64::INFINITY; standing.reach.len()];
        self.graph.search(&self.sources(standing, i), tree);
        for (j, reach) in standing.reach.iter().enumerate() {
            let Some((f, straight)) = reach else { continue };
            for &(n, length) in &straight.nodes {
                out[j] = out[j].min(tree.length(n + self.offsets[*f]) + length);
            }
        }
        if let Some((_, straight)) = &standing.reach[i] {
            straight
                .points
                .iter()
                .for_each(|&(j, length)| out[j as usize] = out[j as usize].min(length));
            out[i] = 0.0;
        }
        out
    }

    /// Lengths between all pairs of spots, row by row.
    pub fn matrix(&self, spots: &[Spot]) -> Vec<f64> {
        let standing = self.stand(spots, spots);
        let mut tree = Tree::default();
        (0..spots.len()).flat_map(|i| self.from(&standing, i, &mut tree)).collect()
    }

    /// Lengths in millimetres from each spot to the nearest way out; infinite where there is none.
    pub fn to_exit(&self, spots: &[Spot]) -> Vec<f64> {
        let sources: Vec<(u32, f64)> = self.exits.iter().map(|&n| (n, 0.0)).collect();
        let mut tree = Tree::default();
        self.graph.search(&sources, &mut tree);
        self.stand(spots, &[]).reach.iter().map(|reach| self.around(reach, &tree)).collect()
    }

    /// Lengths in millimetres from each spot to the nearest of the sources; infinite where there is no way.
    pub fn nearest(&self, sources: &[Spot], spots: &[Spot]) -> Vec<f64> {
        let starts = self.stand(sources, &[]);
        let nodes: Vec<(u32, f64)> =
            (0..sources.len()).flat_map(|i| self.sources(&starts, i)).collect();
        let mut tree = Tree::default();
        self.graph.search(&nodes, &mut tree);
        let standing = self.stand(spots, sources);
        let direct = |reach: &Option<(usize, Straight)>| {
            let straight = reach
                .iter()
                .flat_map(|(_, straight)| straight.points.iter().map(|&(_, length)| length));
            straight.fold(self.around(reach, &tree), f64::min)
        };
        standing.reach.iter().map(direct).collect()
    }

    fn around(&self, reach: &Option<(usize, Straight)>, tree: &Tree) -> f64 {
        let Some((f, straight)) = reach else { return f64::INFINITY };
        let around =
            straight.nodes.iter().map(|&(n, length)| tree.length(n + self.offsets[*f]) + length);
        around.fold(f64::INFINITY, f64::min)
    }

    /// Whether there is any way out at all.
    pub fn has_exit(&self) -> bool {
        !self.exits.is_empty()
    }

    /// The shortest way between two spots as places, level by level, with its length in millimetres.
    pub fn trail(&self, from: &Spot, to: &Spot) -> Option<(f64, Vec<Spot>)> {
        let both = [from.clone(), to.clone()];
        let standing = self.stand(&both, &both);
        let (f, start) = standing.reach[0].as_ref()?;
        if let Some(&(_, length)) = start.points.iter().find(|(j, _)| *j == 1) {
            return Some((length, vec![from.clone(), to.clone()]));
        }
        let mut tree = Tree::default();
        let sources: Vec<_> =
            start.nodes.iter().map(|&(n, length)| (n + self.offsets[*f], length)).collect();
        self.graph.search(&sources, &mut tree);
        let (g, end) = standing.reach[1].as_ref()?;
        let total = |&(n, length): &(u32, f64)| tree.length(n + self.offsets[*g]) + length;
        let last = end.nodes.iter().min_by(|a, b| total(a).total_cmp(&total(b)))?;
        if total(last).is_infinite() {
            return None;
        }
        let mut spots = vec![to.clone()];
        for node in tree.back_from(last.0 + self.offsets[*g]) {
            let (f, at) = self.at[node as usize];
            let Some(floor) = self.floors.floors.get(f) else { continue };
            let spot = Spot { level: floor.level.clone(), at: whole(at) };
            if spots.last() != Some(&spot) {
                spots.push(spot);
            }
        }
        spots.push(from.clone());
        spots.reverse();
        Some((total(last), spots))
    }

    /// Which of these spots can be walked to from where people come in: the exits, or without any the spot from which
    /// most of the others can be reached.
    pub fn reached(&self, spots: &[Option<Spot>]) -> Vec<bool> {
        let known: Vec<Spot> = spots.iter().flatten().cloned().collect();
        let mut best: Vec<f64> = vec![f64::INFINITY; known.len()];
        let count = |lengths: &[f64]| lengths.iter().filter(|length| length.is_finite()).count();
        if self.has_exit() {
            best = self.to_exit(&known);
        } else {
            let mut tried = vec![false; known.len()];
            for i in 0..known.len() {
                if tried[i] {
                    continue;
                }
                let lengths = self.nearest(&known[i..=i], &known);
                lengths
                    .iter()
                    .zip(&mut tried)
                    .for_each(|(length, tried)| *tried |= length.is_finite());
                if count(&lengths) > count(&best) {
                    best = lengths;
                }
            }
        }
        let mut lengths = best.into_iter();
        spots
            .iter()
            .map(|spot| spot.is_some() && lengths.next().is_some_and(f64::is_finite))
            .collect()
    }

    /// The ways of each floor, the number of each floor's first node, and the whole graph.
    pub fn parts(&self) -> (&[Ways], &[u32], &Graph) {
        (&self.ways, &self.offsets, &self.graph)
    }

    /// Floor and place of every node.
    pub fn node_places(&self) -> &[(usize, geometry::Point)] {
        &self.at
    }

    fn sources(&self, standing: &Standing, i: usize) -> Vec<(u32, f64)> {
        let Some((f, straight)) = &standing.reach[i] else { return Vec::new() };
        straight.nodes.iter().map(|&(n, length)| (n + self.offsets[*f], length)).collect()
    }
}

/// Plain walking length: doors cost nothing, stairs their slope length, locked doors are passed, lifts are not used.
pub fn walked(passage: Passage, slope_per_rise: f64) -> Option<f64> {
    match passage {
        Passage::Door(Leaf::Window) => None,
        Passage::Door(_) => Some(0.0),
        Passage::Link { kind: LinkKind::Lift, .. } => None,
        Passage::Link { rise_mm, .. } => Some(rise_mm.unsigned_abs() as f64 * slope_per_rise),
    }
}
