//! Triangular expansion: from a place through every edge that does not stop sight, carrying the two vertices that
//! bound the view (F. Bungiu et al., *Efficient computation of visibility polygons*, EuroCG 2014). O(n h) at worst for
//! h holes, and in practice as long as what is seen. Every turn is decided exactly, on input vertices only.

use crate::locate::Location;
use crate::mesh::{Enter, Mesh, WALL, next, previous};
use crate::point::{Point, cross_from, segment_distance2};

/// A view bounded by the rays through two vertices, counter-clockwise from right to left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wedge {
    /// The ray on the right passes through this.
    pub right: Point,
    /// The ray on the left passes through this.
    pub left: Point,
}

impl Wedge {
    /// Whether `q`, in front of `p`, lies in the closed wedge seen from `p`; exact.
    #[inline]
    pub fn holds(self, p: Point, q: Point) -> bool {
        cross_from(p, self.right, q) >= 0.0 && cross_from(p, self.left, q) <= 0.0
    }
}

/// What a sweep tells, in counter-clockwise order of its walls.
pub trait Visitor {
    /// A triangle that holds the place itself: all of it is seen (within the range).
    fn start(&mut self, _triangle: u32) {}
    /// A triangle of which the part inside the wedge is seen (within the range).
    fn enter(&mut self, _triangle: u32, _wedge: Wedge) {}
    /// A corner of the floor that is seen; `h` leaves it in the triangle through which it was seen.
    fn corner(&mut self, _vertex: u32, _h: u32) {}
    /// An edge `h` that stops the view, from `right` to `left`, bounded by the wedge.
    fn wall(&mut self, _h: u32, _right: Point, _left: Point, _wedge: Wedge) {}
    /// An open edge beyond the range.
    fn beyond(&mut self, _wedge: Wedge) {}
    /// The view begins anew: what comes next does not join what came before.
    fn gap(&mut self) {}
}

/// What the sweep passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Through {
    /// What sight passes.
    Sight,
    /// What steps pass.
    Steps,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Wall,
    Beyond,
    Enter,
}

/// An edge from `right` to `left` and the view that reaches it.
#[derive(Clone, Copy)]
struct Task {
    kind: Kind,
    h: u32,
    right: Point,
    left: Point,
    wedge: Wedge,
}

/// Room to work in, kept between sweeps.
#[derive(Default)]
pub struct Scratch {
    tasks: Vec<Task>,
}

impl Mesh {
    /// Sweeps from `p` as far as `range` (infinite for unlimited); false when `p` is not on the floor.
    pub fn sweep<V: Visitor>(
        &self,
        p: Point,
        range: f64,
        through: Through,
        scratch: &mut Scratch,
        to: &mut V,
    ) -> bool {
        self.sweep_from(p, self.locate(p), range, through, scratch, to)
    }

    /// The same when the location is known.
    pub fn sweep_from<V: Visitor>(
        &self,
        p: Point,
        location: Location,
        range: f64,
        through: Through,
        scratch: &mut Scratch,
        to: &mut V,
    ) -> bool {
        let (enter, twins) = match through {
            Through::Sight => (&self.sight, &self.sight_twins),
            Through::Steps => (&self.steps, &self.step_twins),
        };
        let sweeping = Sweeping { mesh: self, enter, twins, p, range2: range * range };
        match location {
            Location::Outside => return false,
            Location::Inside(t) => {
                to.start(t);
                for h in 3 * t..3 * t + 3 {
                    to.corner(self.ends(h as usize).0, h);
                    sweeping.edge(h, scratch, to);
                }
            }
            Location::Edge(h) => {
                sweeping.on_edge(h, scratch, to);
                let other = self.twins[h as usize];
                if other != WALL {
                    if twins[h as usize] == WALL {
                        to.gap();
                    }
                    sweeping.on_edge(other, scratch, to);
                }
                if other == WALL || twins[h as usize] == WALL {
                    to.gap();
                }
            }
            Location::Vertex(v) => {
                for fan in self.fans(v, twins) {
                    sweeping.fan(&fan.edges, scratch, to);
                    if !fan.round {
                        to.gap();
                    }
                }
            }
        }
        true
    }

    /// Sweeps from a vertex through one of its fans only.
    pub(crate) fn sweep_fan<V: Visitor>(
        &self,
        v: u32,
        edges: &[u32],
        range: f64,
        through: Through,
        scratch: &mut Scratch,
        to: &mut V,
    ) {
        let (enter, twins) = match through {
            Through::Sight => (&self.sight, &self.sight_twins),
            Through::Steps => (&self.steps, &self.step_twins),
        };
        let p = self.points[v as usize];
        Sweeping { mesh: self, enter, twins, p, range2: range * range }.fan(edges, scratch, to);
    }
}

struct Sweeping<'a> {
    mesh: &'a Mesh,
    enter: &'a [Enter],
    twins: &'a [u32],
    p: Point,
    range2: f64,
}

impl Sweeping<'_> {
    fn fan<V: Visitor>(&self, edges: &[u32], scratch: &mut Scratch, to: &mut V) {
        for (i, &h) in edges.iter().enumerate() {
            to.start(h / 3);
            if i == 0 {
                to.corner(self.mesh.ends(h as usize).1, next(h));
            }
            to.corner(self.mesh.ends(previous(h) as usize).0, previous(h));
            self.edge(next(h), scratch, to);
        }
    }

    /// From a place on half-edge `h`, into its triangle.
    fn on_edge<V: Visitor>(&self, h: u32, scratch: &mut Scratch, to: &mut V) {
        to.start(h / 3);
        for g in [h, next(h), previous(h)] {
            to.corner(self.mesh.ends(g as usize).0, g);
        }
        self.edge(next(h), scratch, to);
        self.edge(previous(h), scratch, to);
    }

    /// What is seen through half-edge `h` of a triangle that holds the place.
    fn edge<V: Visitor>(&self, h: u32, scratch: &mut Scratch, to: &mut V) {
        let (right, left) = self.mesh.ends(h as usize);
        let (right, left) = (self.mesh.points[right as usize], self.mesh.points[left as usize]);
        let task = self.task(h, self.twins[h as usize], right, left, Wedge { right, left });
        match task.kind {
            Kind::Wall => to.wall(h, right, left, task.wedge),
            Kind::Beyond => to.beyond(task.wedge),
            Kind::Enter => self.expand(task, &mut scratch.tasks, to),
        }
    }

    /// What to do at the edge `h` from `right` to `left`, whose other side is `twin`.
    #[inline]
    fn task(&self, h: u32, twin: u32, right: Point, left: Point, wedge: Wedge) -> Task {
        if twin == WALL {
            Task { kind: Kind::Wall, h, right, left, wedge }
        } else if segment_distance2(self.p, right, left) >= self.range2 {
            Task { kind: Kind::Beyond, h, right, left, wedge }
        } else {
            Task { kind: Kind::Enter, h: twin, right, left, wedge }
        }
    }

    /// Enters triangle after triangle. What lies on the left waits on the stack until all on the right is told.
    fn expand<V: Visitor>(&self, first: Task, waiting: &mut Vec<Task>, to: &mut V) {
        waiting.clear();
        let p = self.p;
        let mut task = first;
        loop {
            let Task { h, right, left, wedge, .. } = task;
            to.enter(h / 3, wedge);
            let enter = self.enter[h as usize];
            let (to_right, to_left) =
                (cross_from(p, wedge.right, enter.apex), cross_from(p, wedge.left, enter.apex));
            let (sees_right, sees_left) = (to_right > 0.0, to_left < 0.0);
            let (mut on_right, mut on_left) = (wedge, wedge);
            // A corner right behind the one that bounds the view is seen past it: along a wall, or through a row of jambs.
            if to_right >= 0.0 && to_left <= 0.0 {
                to.corner(enter.apex_index, previous(h));
            }
            if sees_right && sees_left {
                on_right.left = enter.apex;
                on_left.right = enter.apex;
            }
            if sees_left {
                let task = self.task(previous(h), enter.left, enter.apex, left, on_left);
                waiting.push(task);
            }
            if sees_right {
                waiting.push(self.task(next(h), enter.right, right, enter.apex, on_right));
            }
            loop {
                let Some(next) = waiting.pop() else { return };
                match next.kind {
                    Kind::Wall => to.wall(next.h, next.right, next.left, next.wedge),
                    Kind::Beyond => to.beyond(next.wedge),
                    Kind::Enter => {
                        task = next;
                        break;
                    }
                }
            }
        }
    }
}
