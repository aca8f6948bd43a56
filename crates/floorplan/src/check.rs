//! What is wrong inside a plan, each as a named finding with its place and what to do. All of them, not the first.

use crate::plan::Plan;
use crate::shape::{COORDINATE_MAX_MM, Point, Shape};
use std::collections::BTreeSet;
use std::fmt;

/// What can be wrong with a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fault {
    /// No zone: nothing would be watched.
    NoZone,
    /// A zone without a stop: nothing could show it as seen.
    ZoneWithoutStop,
    /// A longest gap of zero seconds.
    NoGap,
    /// The same id twice in one list.
    SameId,
    /// A name without a character.
    NoName,
    /// A level, zone or room that is named but not there.
    Unknown,
    /// A ring with fewer than three corners or no area.
    Empty,
    /// A ring that crosses or touches itself.
    Crossing,
    /// A coordinate farther out than any site.
    Far,
    /// A link that meets fewer than two levels.
    LooseLink,
    /// A sight range that is not above zero.
    NoSight,
}

impl Fault {
    /// The name under which it is documented.
    pub fn name(self) -> &'static str {
        match self {
            Fault::NoZone => "no-zone",
            Fault::ZoneWithoutStop => "zone-without-stop",
            Fault::NoGap => "no-gap",
            Fault::SameId => "same-id",
            Fault::NoName => "no-name",
            Fault::Unknown => "unknown-id",
            Fault::Empty => "empty-shape",
            Fault::Crossing => "crossing-shape",
            Fault::Far => "far-away",
            Fault::LooseLink => "loose-link",
            Fault::NoSight => "no-sight",
        }
    }

    /// What to do about it.
    pub fn advice(self) -> &'static str {
        match self {
            Fault::NoZone => "add at least one zone",
            Fault::ZoneWithoutStop => "add a stop that names this zone",
            Fault::NoGap => "give the longest gap in seconds",
            Fault::SameId => "give each its own id",
            Fault::NoName => "give it the name people use",
            Fault::Unknown => "correct the id or add what it names",
            Fault::Empty => "draw at least three corners that enclose an area",
            Fault::Crossing => "draw the ring so that it does not cross or touch itself",
            Fault::Far => "check the unit (millimetres) and the origin",
            Fault::LooseLink => "give a foot on each level it joins",
            Fault::NoSight => "give the sight range in millimetres, above zero",
        }
    }
}

/// One thing that is wrong, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// What.
    pub fault: Fault,
    /// The part of the plan, as `zones/floor-1`.
    pub part: String,
    /// The place, when it has one.
    pub at: Option<Point>,
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.part, self.fault.name())?;
        if let Some(at) = self.at {
            write!(f, " at x {} mm, y {} mm", at.x, at.y)?;
        }
        write!(f, " ({})", self.fault.advice())
    }
}

impl Plan {
    /// Everything that is wrong inside this plan; empty when it can be used.
    pub fn check(&self) -> Vec<Finding> {
        let mut checking = Checking { found: Vec::new() };
        checking.zones(self);
        checking.ids(self);
        checking.references(self);
        checking.shapes(self);
        checking.found
    }
}

struct Checking {
    found: Vec<Finding>,
}

impl Checking {
    fn add(&mut self, fault: Fault, part: String, at: Option<Point>) {
        self.found.push(Finding { fault, part, at });
    }

    fn zones(&mut self, plan: &Plan) {
        if plan.zones.is_empty() {
            self.add(Fault::NoZone, "zones".to_owned(), None);
        }
        for zone in &plan.zones {
            let part = format!("zones/{}", zone.id);
            if zone.gap_s == 0 {
                self.add(Fault::NoGap, part.clone(), None);
            }
            if zone.sight_mm.is_some_and(|sight| sight <= 0) {
                self.add(Fault::NoSight, part.clone(), None);
            }
            if !plan.stops.iter().any(|stop| stop.zone == zone.id) {
                self.add(Fault::ZoneWithoutStop, part, None);
            }
        }
    }

    fn ids(&mut self, plan: &Plan) {
        self.list("levels", plan.levels.iter().map(|x| (x.id.as_str(), Some(x.name.as_str()))));
        self.list("zones", plan.zones.iter().map(|x| (x.id.as_str(), Some(x.name.as_str()))));
        self.list("stops", plan.stops.iter().map(|x| (x.id.as_str(), Some(x.name.as_str()))));
        self.list("rooms", plan.rooms.iter().map(|x| (x.id.as_str(), Some(x.name.as_str()))));
        self.list("walls", plan.walls.iter().map(|x| (x.id.as_str(), None)));
        self.list("openings", plan.openings.iter().map(|x| (x.id.as_str(), None)));
        self.list("links", plan.links.iter().map(|x| (x.id.as_str(), Some(x.name.as_str()))));
        self.list("equipment", plan.equipment.iter().map(|x| (x.id.as_str(), None)));
        self.list("marks", plan.marks.iter().map(|x| (x.id.as_str(), Some(x.name.as_str()))));
    }

    fn list<'a>(&mut self, list: &str, parts: impl Iterator<Item = (&'a str, Option<&'a str>)>) {
        let mut seen = BTreeSet::new();
        for (id, name) in parts {
            if !seen.insert(id) {
                self.add(Fault::SameId, format!("{list}/{id}"), None);
            }
            if name.is_some_and(|name| name.trim().is_empty()) {
                self.add(Fault::NoName, format!("{list}/{id}"), None);
            }
        }
    }

    fn references(&mut self, plan: &Plan) {
        let levels: BTreeSet<&str> = plan.levels.iter().map(|level| level.id.as_str()).collect();
        let zones: BTreeSet<&str> = plan.zones.iter().map(|zone| zone.id.as_str()).collect();
        let mut named: Vec<(String, Option<&str>, Option<&str>)> = Vec::new();
        for x in &plan.zones {
            named.push((format!("zones/{}", x.id), x.level.as_ref().map(|l| l.as_str()), None));
        }
        for x in &plan.stops {
            named.push((
                format!("stops/{}", x.id),
                x.level.as_ref().map(|l| l.as_str()),
                Some(x.zone.as_str()),
            ));
        }
        for x in &plan.rooms {
            named.push((
                format!("rooms/{}", x.id),
                Some(x.level.as_str()),
                x.zone.as_ref().map(|z| z.as_str()),
            ));
        }
        for x in &plan.walls {
            named.push((format!("walls/{}", x.id), Some(x.level.as_str()), None));
        }
        for x in &plan.openings {
            named.push((format!("openings/{}", x.id), Some(x.level.as_str()), None));
        }
        for x in &plan.equipment {
            named.push((format!("equipment/{}", x.id), Some(x.level.as_str()), None));
        }
        for x in &plan.marks {
            named.push((format!("marks/{}", x.id), Some(x.level.as_str()), None));
        }
        for link in &plan.links {
            for foot in &link.feet {
                named.push((format!("links/{}", link.id), Some(foot.level.as_str()), None));
            }
            if link.feet.len() < 2 {
                self.add(
                    Fault::LooseLink,
                    format!("links/{}", link.id),
                    link.feet.first().map(|foot| foot.at),
                );
            }
        }
        for (part, level, zone) in named {
            if level.is_some_and(|level| !levels.contains(level))
                || zone.is_some_and(|zone| !zones.contains(zone))
            {
                self.add(Fault::Unknown, part, None);
            }
        }
    }

    fn shapes(&mut self, plan: &Plan) {
        for room in &plan.rooms {
            self.shape(&format!("rooms/{}", room.id), &room.shape);
        }
        for zone in &plan.zones {
            if let Some(shape) = &zone.shape {
                self.shape(&format!("zones/{}", zone.id), shape);
            }
        }
        let points = (plan.stops.iter().filter_map(|x| Some((format!("stops/{}", x.id), x.at?))))
            .chain(plan.equipment.iter().map(|x| (format!("equipment/{}", x.id), x.at)))
            .chain(plan.marks.iter().map(|x| (format!("marks/{}", x.id), x.at)))
            .chain(
                plan.openings
                    .iter()
                    .flat_map(|x| x.line.map(|at| (format!("openings/{}", x.id), at))),
            )
            .chain(
                plan.walls
                    .iter()
                    .flat_map(|x| x.line.iter().map(|&at| (format!("walls/{}", x.id), at))),
            )
            .chain(
                plan.links
                    .iter()
                    .flat_map(|x| x.feet.iter().map(|foot| (format!("links/{}", x.id), foot.at))),
            );
        let far: Vec<_> = points.filter(|(_, at)| is_far(*at)).collect();
        for (part, at) in far {
            self.add(Fault::Far, part, Some(at));
        }
    }

    fn shape(&mut self, part: &str, shape: &Shape) {
        if let Some(&at) = shape.rings.iter().flatten().find(|at| is_far(**at)) {
            self.add(Fault::Far, part.to_owned(), Some(at));
            return;
        }
        if shape.rings.first().is_none_or(|ring| ring.len() < 3) || shape.double_area_mm2() <= 0 {
            let at = shape.rings.first().and_then(|ring| ring.first()).copied();
            self.add(Fault::Empty, part.to_owned(), at);
        } else if let Some(at) = crate::simple::first_meeting(&shape.rings) {
            self.add(Fault::Crossing, part.to_owned(), Some(at));
        }
    }
}

fn is_far(at: Point) -> bool {
    !(-COORDINATE_MAX_MM..=COORDINATE_MAX_MM).contains(&at.x)
        || !(-COORDINATE_MAX_MM..=COORDINATE_MAX_MM).contains(&at.y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::{LevelId, RoomId};
    use crate::{Room, RoomKind};

    fn found(plan: &Plan) -> String {
        plan.check().iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn a_plan_by_telephone_is_in_order() {
        assert_eq!(found(&Plan::simple("Gannet Quay", &["Floor 1"], 1800)), "");
    }

    #[test]
    fn every_fault_is_said_with_its_place() {
        let mut plan = Plan::simple("Gannet Quay", &["Floor 1", "Floor 2"], 1800);
        plan.zones[0].gap_s = 0;
        plan.stops.remove(1);
        plan.rooms.push(Room {
            id: RoomId::from_name("a"),
            name: " ".to_owned(),
            level: LevelId::from_name("attic"),
            kind: RoomKind::Room,
            zone: None,
            shape: Shape::ring(&[(5, 5), (9, 9)]),
        });
        assert_eq!(
            found(&plan),
            "zones/floor-1: no-gap (give the longest gap in seconds)\n\
             zones/floor-2: zone-without-stop (add a stop that names this zone)\n\
             rooms/a: no-name (give it the name people use)\n\
             rooms/a: unknown-id (correct the id or add what it names)\n\
             rooms/a: empty-shape at x 5 mm, y 5 mm (draw at least three corners that enclose an area)"
        );
    }

    #[test]
    fn rings_that_meet_themselves_are_named_with_the_place() {
        let mut plan = Plan::simple("Gannet Quay", &["Floor 1"], 1800);
        let bow = Shape::ring(&[(0, 0), (4000, 4000), (4000, 0), (0, 3000)]);
        plan.zones[0].shape = Some(bow);
        assert_eq!(
            found(&plan),
            "zones/floor-1: crossing-shape at x 1714 mm, y 1714 mm (draw the ring so that it does not cross or touch itself)"
        );
    }

    #[test]
    fn nothing_to_watch() {
        assert_eq!(found(&Plan::new("Gannet Quay")), "zones: no-zone (add at least one zone)");
    }
}
