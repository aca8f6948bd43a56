//! A plan turned into a question: where somebody must look and how often, how long the walks are, and what is seen on
//! the way.
//!
//! Where a plan has stops they are kept. [`Wish::viewpoints`] adds places from which the rest of the floor is seen; a
//! plan without stops gets them in any case.

mod coverage;
mod greedy;
mod lookouts;

use crate::effort::Effort;
use crate::gaps::Demands;
use crate::walks::{NEVER, Walks};
use floorplan::{Floors, LevelId, Network, Plan, Point, Spot, StopId, Times};

pub use coverage::{Piece, Seen};

/// A plan with its floors, and the network that its guards can walk.
pub struct Ground<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) floors: &'a Floors,
    pub(crate) network: Network<'a>,
    times: Times,
}

/// What is wished of a plan.
#[derive(Clone, Copy, Debug)]
pub struct Wish<'a> {
    /// One gap for everything instead of the zones' own, in milliseconds.
    pub gap_ms: Option<i64>,
    /// Gaps of single zones, rooms or stops, by name or id, in milliseconds; later ones win.
    pub named: &'a [(String, i64)],
    /// Add viewpoints until all floor that can be walked to is seen.
    pub viewpoints: bool,
    /// How long a look from a viewpoint takes, in milliseconds.
    pub look_ms: i64,
    /// How far one sees where the zone does not say, in millimetres.
    pub sight_mm: f64,
}

/// What a station is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A stop of the plan.
    Stop(StopId),
    /// A place that the planner chose.
    Viewpoint,
}

/// A place of the round.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Station {
    /// What it is.
    pub kind: Kind,
    /// What people call it: the stop's name, or the names of the rooms seen from a viewpoint.
    pub name: String,
    /// Name of its zone, empty when it has none.
    pub zone: String,
    /// Level and place.
    pub spot: Spot,
}

/// The stations of a plan and what is demanded of each.
#[derive(Clone, Debug)]
pub struct Stations {
    /// Where to look.
    pub list: Vec<Station>,
    /// Walks, looks and gaps, in the same order.
    pub demands: Demands,
}

/// Why a plan makes no question.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    /// Stops that have no place on the drawing.
    NotDrawn(Vec<String>),
    /// Neither stops nor floor.
    Nothing,
    /// No zone, room or stop has this name.
    Unknown(String),
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Fault::NotDrawn(names) => write!(
                f,
                "{} stops have no place on the drawing ({}): put them on their level first, or give a list with walking times",
                names.len(),
                names.iter().take(5).cloned().collect::<Vec<_>>().join(", ")
            ),
            Fault::Nothing => {
                write!(f, "the plan has neither stops nor floor: draw rooms or add stops first")
            }
            Fault::Unknown(name) => write!(f, "no zone, room or stop is called {name:?}"),
        }
    }
}

impl std::error::Error for Fault {}

impl<'a> Ground<'a> {
    /// The ground of a plan. Without `keys` locked doors stay shut.
    pub fn new(plan: &'a Plan, floors: &'a Floors, times: Times, keys: bool) -> Ground<'a> {
        use floorplan::{Leaf, Passage};
        let network = Network::new(plan, floors, |passage| match passage {
            Passage::Door(Leaf::Locked) if !keys => None,
            passage => times.worth_mm(passage),
        });
        Ground { plan, floors, network, times }
    }

    /// The stations, the walks between them and their gaps.
    pub fn stations(&self, wish: &Wish<'_>, effort: &mut Effort<'_>) -> Result<Stations, Fault> {
        self.known_names(wish)?;
        let undrawn = self.plan.stops.iter().filter(|s| s.at.is_none() || s.level.is_none());
        let undrawn: Vec<String> = undrawn.map(|s| s.name.clone()).collect();
        if !undrawn.is_empty() {
            return Err(Fault::NotDrawn(undrawn));
        }
        let room_gap: Vec<i64> =
            (0..self.plan.rooms.len()).map(|room| self.room_gap(wish, room)).collect();
        let mut list = Vec::new();
        let (mut stay_ms, mut gap_ms) = (Vec::new(), Vec::new());
        for stop in &self.plan.stops {
            let (Some(level), Some(at)) = (stop.level.clone(), stop.at) else { continue };
            let zone = self.plan.zone(&stop.zone);
            let spot = Spot { level, at };
            let rooms = self.rooms_at(&spot);
            let base = wish.gap_ms.or_else(|| zone.map(|z| i64::from(z.gap_s) * 1000));
            let named = |name: &str| {
                name == stop.name
                    || name == stop.id.as_str()
                    || zone.is_some_and(|z| z.name == name || z.id.as_str() == name)
                    || rooms.iter().any(|&r| self.room_is(r, name))
            };
            let own = wish.named.iter().rev().find(|(name, _)| named(name)).map(|n| n.1);
            gap_ms.push(own.or(base).unwrap_or_else(|| self.usual_gap(wish)));
            stay_ms.push(stop.inspect_s.map_or(self.times.inspect_s, i64::from) * 1000);
            list.push(Station {
                kind: Kind::Stop(stop.id.clone()),
                name: stop.name.clone(),
                zone: zone.map(|z| z.name.clone()).unwrap_or_default(),
                spot,
            });
        }
        if wish.viewpoints || list.is_empty() {
            let added = lookouts::lookouts(self, wish, &room_gap, &list, &gap_ms, effort);
            for (station, gap) in added {
                list.push(station);
                gap_ms.push(gap);
                stay_ms.push(wish.look_ms);
            }
        }
        if list.is_empty() {
            return Err(Fault::Nothing);
        }
        let spots: Vec<Spot> = list.iter().map(|s| s.spot.clone()).collect();
        Ok(Stations { list, demands: Demands { walks: self.walks(&spots), stay_ms, gap_ms } })
    }

    /// Walking times between spots, doors, keys and stairs included.
    pub fn walks(&self, spots: &[Spot]) -> Walks {
        let n = spots.len();
        let lengths = self.network.matrix(spots);
        let ms = |a: usize, b: usize| {
            let length = lengths[a * n + b];
            let s = self.times.level_s(length) * 1000.0;
            if length.is_finite() { libm::ceil(s) as i64 } else { i64::from(NEVER) }
        };
        // There and back may differ by rounding alone; the longer is then true for both.
        Walks::from_fn(n, |a, b| {
            let (there, back) = (ms(a, b), ms(b, a));
            if there.abs_diff(back) <= 1 { there.max(back) } else { there }
        })
        .closed()
    }

    /// The rooms of the plan that a spot touches: both sides of a door it stands in.
    fn rooms_at(&self, spot: &Spot) -> Vec<usize> {
        let Some(f) = self.floors.of(&spot.level) else { return Vec::new() };
        let floor = &self.floors.floors[f];
        let at = floorplan::floor::place(spot.at);
        let mut rooms = match floor.mesh.locate(at) {
            geometry::Location::Vertex(v) => floor.rooms_around(v),
            _ => floor.room_at(spot.at).into_iter().collect(),
        };
        rooms.sort_unstable();
        rooms.dedup();
        rooms
    }

    fn room_is(&self, room: usize, name: &str) -> bool {
        self.plan.rooms[room].name == name || self.plan.rooms[room].id.as_str() == name
    }

    fn room_gap(&self, wish: &Wish<'_>, room: usize) -> i64 {
        let zone = self.plan.rooms[room].zone.as_ref().and_then(|zone| self.plan.zone(zone));
        let named = |name: &str| {
            self.room_is(room, name)
                || zone.is_some_and(|z| z.name == name || z.id.as_str() == name)
        };
        let own = wish.named.iter().rev().find(|(name, _)| named(name)).map(|n| n.1);
        own.or(wish.gap_ms)
            .or_else(|| zone.map(|z| i64::from(z.gap_s) * 1000))
            .unwrap_or_else(|| self.usual_gap(wish))
    }

    /// The strictest of the plan's gaps, for floor that belongs to no zone.
    fn usual_gap(&self, wish: &Wish<'_>) -> i64 {
        let strictest = self.plan.zones.iter().map(|z| i64::from(z.gap_s) * 1000).min();
        wish.gap_ms.or(strictest).unwrap_or(1_800_000)
    }

    fn known_names(&self, wish: &Wish<'_>) -> Result<(), Fault> {
        for (name, _) in wish.named {
            let zone = self.plan.zones.iter().any(|z| z.name == *name || z.id.as_str() == name);
            let stop = self.plan.stops.iter().any(|s| s.name == *name || s.id.as_str() == name);
            let room = (0..self.plan.rooms.len()).any(|r| self.room_is(r, name));
            if !(zone || stop || room) {
                return Err(Fault::Unknown(name.clone()));
            }
        }
        Ok(())
    }

    /// The level of a floor, by the floor's index.
    pub fn level(&self, floor: usize) -> &LevelId {
        &self.floors.floors[floor].level
    }

    pub(crate) fn spot(&self, floor: usize, at: geometry::Point) -> Spot {
        let at: Point = floorplan::floor::whole(at);
        Spot { level: self.level(floor).clone(), at }
    }
}
