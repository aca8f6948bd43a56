//! One level of a mapped plan: its shapes laid over each other, and what each piece of it is.

use super::Part;
use crate::floor::whole;
use crate::shape::{Point, Shape, ring_double_area};
use geometry::Arrangement;
use geometry::arrangement::NONE;

/// One level's shapes laid over each other.
pub(super) struct Laid {
    pub(super) arrangement: Arrangement,
    pub(super) parts: Vec<Part>,
    pub(super) names: Vec<String>,
    pub(super) outlined: bool,
}

impl Laid {
    fn parts_of(&self, component: u32) -> impl Iterator<Item = (Part, u32)> {
        self.arrangement.inside[component as usize].iter().map(|&s| (self.parts[s as usize], s))
    }

    /// Which part of the floor a component is, and the shape that says so; none when it is none.
    pub(super) fn floor(&self, component: u32) -> Option<(Part, Option<u32>)> {
        if let Some((part, s)) = self.parts_of(component).find(|(part, _)| *part == Part::Door) {
            return Some((part, Some(s)));
        }
        if self.walled(component) {
            return None;
        }
        let floor = self.parts_of(component).filter(|(part, _)| *part >= Part::Lift).min();
        floor
            .map(|(part, s)| (part, Some(s)))
            .or((self.outlined && self.indoors(component)).then_some((Part::Outline, None)))
    }

    /// Whether a component is the body of a wall, or closed off.
    pub(super) fn walled(&self, component: u32) -> bool {
        let mut parts = self.parts_of(component);
        parts.any(|(part, _)| matches!(part, Part::Wall | Part::Blocked)) && !self.doored(component)
    }

    /// Whether a component is a door.
    pub(super) fn doored(&self, component: u32) -> bool {
        self.parts_of(component).any(|(part, _)| part == Part::Door)
    }

    /// Whether anything is drawn over a component.
    pub(super) fn indoors(&self, component: u32) -> bool {
        self.parts_of(component).next().is_some()
    }

    /// What lies on the other side of a half-edge; none beyond everything drawn.
    pub(super) fn beyond(&self, h: u32) -> Option<u32> {
        let twin = self.arrangement.twins[h as usize];
        (twin != NONE).then(|| self.arrangement.component[twin as usize / 3])
    }

    /// Whether nothing divides floor within these borders from the outdoors.
    pub(super) fn open_air(&self, rings: &[Vec<u32>]) -> bool {
        let outdoors = |h: &u32| self.beyond(*h).is_none_or(|c| !self.indoors(c));
        self.outlined && rings.iter().flatten().any(outdoors)
    }

    /// Whether a door lies along these borders.
    pub(super) fn has_door(&self, rings: &[Vec<u32>]) -> bool {
        rings.iter().flatten().any(|&h| self.beyond(h).is_some_and(|c| self.doored(c)))
    }

    /// How much of these borders runs along other floor, doors left aside, with no wall between, in millimetres.
    pub(super) fn open_length(&self, rings: &[Vec<u32>]) -> f64 {
        let floor = |h: &u32| {
            let beyond = self.beyond(*h).and_then(|c| self.floor(c));
            beyond.is_some_and(|(part, _)| {
                matches!(part, Part::Room | Part::Corridor | Part::Outline)
            })
        };
        rings.iter().flatten().copied().filter(floor).map(|h| side(self, h)).sum()
    }

    /// The floor within these borders, the outer ring first.
    pub(super) fn shape(&self, rings: &[Vec<u32>]) -> Shape {
        let points = |ring: &Vec<u32>| {
            ring.iter().map(|&h| whole(self.arrangement.origin(h))).collect::<Vec<_>>()
        };
        let mut rings: Vec<Vec<Point>> = rings.iter().map(points).collect();
        rings.sort_by_key(|ring| std::cmp::Reverse(ring_double_area(ring).abs()));
        Shape { rings }
    }
}

fn side(laid: &Laid, h: u32) -> f64 {
    laid.arrangement.origin(h).distance(laid.arrangement.origin(next(h)))
}

/// How long borders are, in millimetres.
pub(super) fn length(laid: &Laid, rings: &[Vec<u32>]) -> f64 {
    rings.iter().flatten().map(|&h| side(laid, h)).sum()
}

/// The next half-edge of the same triangle.
pub(super) fn next(h: u32) -> u32 {
    if h % 3 == 2 { h - 2 } else { h + 1 }
}
