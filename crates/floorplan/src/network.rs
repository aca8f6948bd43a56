//! Everything that can be walked on a plan as one network: corners of the floors, door middles, and the stairs, ramps
//! and lifts between levels. Lengths are in millimetres; what passing a door or a link costs, the caller says.

use crate::fabric::{Leaf, Link, LinkKind, Opening};
use crate::floor::{Floors, place};
use crate::id::LevelId;
use crate::plan::Plan;
use crate::shape::Point;
use geometry::sweep::Scratch;
use geometry::{Graph, Location, Placed, Tree, Ways};
use std::collections::BTreeMap;

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
    /// The graph with every way turned round: from it come the ways *to* something.
    back: Graph,
    /// Nodes at doors by which people leave.
    ways_out: Vec<u32>,
    /// Nodes at doors by which people come in.
    ways_in: Vec<u32>,
    /// For each floor and vertex in the middle of a closed door: what standing in it takes.
    doorsteps: Vec<BTreeMap<u32, Doorstep>>,
    /// Openings that join nothing, by index: no floor on one side, or in no wall.
    pub loose_doors: Vec<usize>,
    /// Feet of links that stand on no floor, as (link, foot).
    pub loose_feet: Vec<(usize, usize)>,
}

/// The nodes on both sides of a closed door. Half of what the door costs is charged for stepping into it and half for
/// stepping out, so that whoever looks through it and goes on pays once.
#[derive(Clone)]
struct Doorstep {
    in_from: Vec<(u32, f64)>,
    out_to: Vec<(u32, f64)>,
}

/// Spots found on the network.
pub struct Standing {
    spots: Vec<Spot>,
    reach: Vec<Option<Reach>>,
}

/// How a spot is left and reached: nodes by their number in the whole, and other spots straight.
#[derive(Clone)]
struct Reach {
    leave: Vec<(u32, f64)>,
    arrive: Vec<(u32, f64)>,
    points: Vec<(u32, f64)>,
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
            back: Graph::default(),
            ways_out: Vec::new(),
            ways_in: Vec::new(),
            doorsteps: vec![BTreeMap::new(); floors.floors.len()],
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
        network.back = network.graph.reversed();
        network
    }

    fn doors(&mut self, plan: &Plan, cost: &impl Fn(Passage) -> Option<f64>) {
        for f in 0..self.floors.floors.len() {
            let floor = &self.floors.floors[f];
            let parts = floor.mesh.parts();
            for &(i, vertex) in &floor.doors {
                let opening = &plan.openings[i];
                // Around a door in the middle of a room one walks: it lies in no wall.
                let one_room = |v: u32| {
                    let mut around =
                        floor.mesh.triangles_at(v).map(|t| (parts[t as usize], floor.room(t)));
                    let first = around.next();
                    first.is_some_and(|first| around.all(|other| other == first))
                };
                let sides =
                    vertex.map(|v| self.ways[f].nodes_at(&floor.mesh, v)).unwrap_or_default();
                let nodes: Vec<u32> = sides.iter().map(|n| n + self.offsets[f]).collect();
                if nodes.is_empty()
                    || (!opening.exit && vertex.is_some_and(one_room))
                    || (nodes.len() < 2 && !opening.exit && opening.leaf != Leaf::Gap)
                {
                    self.loose_doors.push(i);
                }
                if opening.exit {
                    self.exit(opening, f, &nodes);
                }
                let Some(length) = cost(Passage::Door(opening.leaf)) else { continue };
                if opening.leaf == Leaf::Window {
                    continue;
                }
                let opens: Vec<u32> = (nodes.iter().copied())
                    .filter(|&one| {
                        opening.leaf != Leaf::OneWay || self.on_left(opening.line, f, one)
                    })
                    .collect();
                for &one in &opens {
                    for &other in nodes.iter().filter(|&&other| other != one) {
                        self.graph.join(one, other, length);
                    }
                }
                if let (Some(v), true) = (vertex, opening.leaf != Leaf::Gap) {
                    let half = |nodes: &[u32]| nodes.iter().map(|&n| (n, length / 2.0)).collect();
                    let step = Doorstep { in_from: half(&opens), out_to: half(&nodes) };
                    self.doorsteps[f].insert(v, step);
                }
            }
        }
    }

    /// Notes the nodes at a door that leads out. One that opens from one side only lets people out when the floor lies
    /// on the left of its line, in when on the right.
    fn exit(&mut self, opening: &Opening, f: usize, nodes: &[u32]) {
        let one_way = opening.leaf == Leaf::OneWay;
        let (left, right): (Vec<u32>, Vec<u32>) =
            nodes.iter().partition(|&&node| self.on_left(opening.line, f, node));
        if !one_way || !left.is_empty() {
            self.ways_out.extend(nodes);
        }
        self.ways_in.extend(if one_way { right } else { nodes.to_vec() });
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
            let Some(reach) = reach else {
                self.loose_feet.push((feet[i].0, feet[i].1));
                continue;
            };
            for &(n, length) in &reach.leave {
                self.graph.join(nodes[i], n, length);
            }
            for &(n, length) in &reach.arrive {
                self.graph.join(n, nodes[i], length);
            }
            for &(j, length) in &reach.points {
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
                if let Some(step) = self.doorstep(f, location) {
                    let (leave, arrive) = (step.out_to.clone(), step.in_from.clone());
                    reach[i] = Some(Reach { leave, arrive, points: Vec::new() });
                    continue;
                }
                let straight =
                    self.ways[f].straight(&floor.mesh, at, location, &placed, &mut scratch);
                reach[i] = straight.map(|straight| {
                    let node = |&(n, length): &(u32, f64)| (n + self.offsets[f], length);
                    let nodes: Vec<(u32, f64)> = straight.nodes.iter().map(node).collect();
                    let free = |j: u32| self.doorstep(f, placed.locations[j as usize]).is_none();
                    let points = straight.points.iter().filter(|(j, _)| free(*j));
                    Reach {
                        leave: nodes.clone(),
                        arrive: nodes,
                        points: points.map(|&(j, l)| (there[j as usize] as u32, l)).collect(),
                    }
                });
            }
        }
        Standing { spots: spots.to_vec(), reach }
    }

    fn doorstep(&self, f: usize, location: Location) -> Option<&Doorstep> {
        match location {
            Location::Vertex(v) => self.doorsteps[f].get(&v),
            _ => None,
        }
    }

    /// Lengths in millimetres from one of the spots to all of them; infinite where there is no way.
    pub fn from(&self, standing: &Standing, i: usize, tree: &mut Tree) -> Vec<f64> {
        let mut out = vec![f64::INFINITY; standing.reach.len()];
        self.graph.search(&self.sources(standing, i), tree);
        for (j, reach) in standing.reach.iter().enumerate() {
            out[j] = around(reach, tree);
        }
        if let Some(reach) = &standing.reach[i] {
            reach
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
    pub fn to_exit(&self, standing: &Standing) -> Vec<f64> {
        let mut tree = Tree::default();
        self.back.search(&started(&self.ways_out), &mut tree);
        standing.reach.iter().map(|reach| leaving(reach, &tree)).collect()
    }

    /// Lengths in millimetres to each spot from the nearest way in; infinite where there is none.
    pub fn from_exit(&self, standing: &Standing) -> Vec<f64> {
        let mut tree = Tree::default();
        self.graph.search(&started(&self.ways_in), &mut tree);
        standing.reach.iter().map(|reach| around(reach, &tree)).collect()
    }

    /// Lengths in millimetres from each spot to the nearest of the goals; infinite where there is no way.
    pub fn nearest(&self, goals: &[Spot], standing: &Standing) -> Vec<f64> {
        let ends = self.stand(goals, &standing.spots);
        let nodes: Vec<(u32, f64)> =
            ends.reach.iter().flatten().flat_map(|reach| reach.arrive.iter().copied()).collect();
        let mut tree = Tree::default();
        self.back.search(&nodes, &mut tree);
        straight(&ends, standing.reach.iter().map(|reach| leaving(reach, &tree)).collect())
    }

    /// Lengths in millimetres to each spot from the nearest of the sources; infinite where there is no way.
    pub fn spread(&self, sources: &[Spot], standing: &Standing) -> Vec<f64> {
        let starts = self.stand(sources, &standing.spots);
        let nodes: Vec<(u32, f64)> =
            (0..sources.len()).flat_map(|i| self.sources(&starts, i)).collect();
        let mut tree = Tree::default();
        self.graph.search(&nodes, &mut tree);
        straight(&starts, standing.reach.iter().map(|reach| around(reach, &tree)).collect())
    }

    /// Whether there is any way out at all.
    pub fn has_exit(&self) -> bool {
        !(self.ways_out.is_empty() && self.ways_in.is_empty())
    }

    /// Which of these spots can be walked to from where people come in: the exits, or without any the spot from which
    /// most of the others can be reached.
    pub fn reached(&self, spots: &[Option<Spot>]) -> Vec<bool> {
        let known: Vec<Spot> = spots.iter().flatten().cloned().collect();
        let standing = self.stand(&known, &[]);
        let mut lengths = self.entered(&standing).into_iter();
        spots
            .iter()
            .map(|spot| spot.is_some() && lengths.next().is_some_and(f64::is_finite))
            .collect()
    }

    /// Lengths in millimetres to each spot from where people come in: the nearest way in, or without any the spot from
    /// which most of the others can be reached.
    pub fn entered(&self, standing: &Standing) -> Vec<f64> {
        if self.has_exit() {
            return self.from_exit(standing);
        }
        let count = standing.spots.len();
        let (mut most, mut best) = (0, vec![f64::INFINITY; count]);
        let mut tried = vec![false; count];
        for i in 0..count {
            if tried[i] || most * 2 > count {
                continue;
            }
            let lengths = self.spread(&standing.spots[i..=i], standing);
            let finite = lengths.iter().filter(|length| length.is_finite()).count();
            lengths.iter().zip(&mut tried).for_each(|(length, tried)| *tried |= length.is_finite());
            tried[i] = true;
            if finite > most {
                (most, best) = (finite, lengths);
            }
        }
        best
    }

    /// Which spots lie on one closed walk with the spot `i`: they can be reached from it, and it from them.
    pub fn walked_with(&self, standing: &Standing, i: usize) -> Vec<bool> {
        let from = self.spread(&standing.spots[i..=i], standing);
        let to = self.nearest(&standing.spots[i..=i], standing);
        let both =
            |(k, (from, to)): (usize, (&f64, &f64))| k == i || (from.is_finite() && to.is_finite());
        from.iter().zip(&to).enumerate().map(both).collect()
    }

    /// The ways of each floor, the number of each floor's first node, and the whole graph.
    pub fn parts(&self) -> (&[Ways], &[u32], &Graph) {
        (&self.ways, &self.offsets, &self.graph)
    }

    /// Floor and place of every node.
    pub fn node_places(&self) -> &[(usize, geometry::Point)] {
        &self.at
    }

    /// Whether a place is the middle of a closed door that may be opened.
    pub fn in_door(&self, f: usize, at: geometry::Point) -> bool {
        self.doorstep(f, self.floors.floors[f].mesh.locate(at)).is_some()
    }

    /// Searches from a spot on, for [`Network::way`].
    pub(crate) fn search_from(&self, standing: &Standing, a: usize, tree: &mut Tree) {
        self.graph.search(&self.sources(standing, a), tree);
    }

    /// The nodes of the shortest way between two spots, and its length, after a search from the first.
    pub(crate) fn way(
        &self,
        standing: &Standing,
        (a, b): (usize, usize),
        tree: &Tree,
    ) -> Option<(f64, Vec<u32>)> {
        let (from, to) = (standing.reach[a].as_ref()?, standing.reach[b].as_ref()?);
        let straight = from.points.iter().find(|(j, _)| *j as usize == b).map(|p| p.1);
        let straight = if a == b { Some(0.0) } else { straight };
        let total = |&(n, length): &(u32, f64)| tree.length(n) + length;
        let last = to.arrive.iter().min_by(|a, b| total(a).total_cmp(&total(b)));
        let length = last.map_or(f64::INFINITY, total);
        if let Some(straight) = straight.filter(|&straight| straight <= length) {
            return Some((straight, Vec::new()));
        }
        let (node, _) = *last.filter(|_| length.is_finite())?;
        let mut nodes = tree.back_from(node);
        nodes.reverse();
        Some((length, nodes))
    }

    fn sources(&self, standing: &Standing, i: usize) -> Vec<(u32, f64)> {
        standing.reach[i].as_ref().map(|reach| reach.leave.clone()).unwrap_or_default()
    }
}

fn started(nodes: &[u32]) -> Vec<(u32, f64)> {
    nodes.iter().map(|&node| (node, 0.0)).collect()
}

/// Lengths made shorter where one of the ends is reached straight.
fn straight(ends: &Standing, mut lengths: Vec<f64>) -> Vec<f64> {
    for reach in ends.reach.iter().flatten() {
        for &(j, length) in &reach.points {
            lengths[j as usize] = lengths[j as usize].min(length);
        }
    }
    lengths
}

fn leaving(reach: &Option<Reach>, tree: &Tree) -> f64 {
    let leave = reach.iter().flat_map(|reach| &reach.leave);
    leave.map(|&(n, length)| tree.length(n) + length).fold(f64::INFINITY, f64::min)
}

fn around(reach: &Option<Reach>, tree: &Tree) -> f64 {
    let arrive = reach.iter().flat_map(|reach| &reach.arrive);
    arrive.map(|&(n, length)| tree.length(n) + length).fold(f64::INFINITY, f64::min)
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
