//! The plan as a whole, and the smallest one there is.

use crate::equipment::{Equipment, Mark};
use crate::fabric::{Link, Opening, Room, Wall};
use crate::id::{StopId, ZoneId};
use crate::place::{Level, Stop, Zone, ZoneKind};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The version this code writes. Older ones are read and lifted; newer ones are refused.
pub const VERSION: u32 = 1;

/// A site's plan. Only `version`, `name`, `zones` and `stops` are always there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// The version of the written format.
    pub version: u32,
    /// What people call the site.
    pub name: String,
    /// Where the frame lies on Earth.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub anchor: Option<Anchor>,
    /// Storeys, lowest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub levels: Vec<Level>,
    /// Areas whose unseen gap is measured, in the order people walk them.
    pub zones: Vec<Zone>,
    /// Where presence is confirmed.
    pub stops: Vec<Stop>,
    /// Pieces of floor.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub rooms: Vec<Room>,
    /// Walls that are no room's border.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub walls: Vec<Wall>,
    /// Doors, gaps, windows.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub openings: Vec<Opening>,
    /// Stairs, ramps, lifts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub links: Vec<Link>,
    /// Fire equipment and hazards.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub equipment: Vec<Equipment>,
    /// Call spots, assembly and meeting points.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub marks: Vec<Mark>,
}

/// Where the plan's frame lies on Earth: its origin in WGS 84 and the turn of its x axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Anchor {
    /// Latitude of the origin in 10⁻⁷ degrees, north positive.
    pub lat_e7: i64,
    /// Longitude of the origin in 10⁻⁷ degrees, east positive.
    pub lon_e7: i64,
    /// Turn of the x axis from east, counter-clockwise, in thousandths of a degree.
    #[serde(default)]
    pub turn_mdeg: i64,
}

impl Plan {
    /// An empty plan of the present version.
    pub fn new(name: &str) -> Self {
        Self {
            version: VERSION,
            name: name.to_owned(),
            anchor: None,
            levels: Vec::new(),
            zones: Vec::new(),
            stops: Vec::new(),
            rooms: Vec::new(),
            walls: Vec::new(),
            openings: Vec::new(),
            links: Vec::new(),
            equipment: Vec::new(),
            marks: Vec::new(),
        }
    }

    /// The plan one can give over the telephone: each name a zone with one stop, and one longest gap for all.
    /// Names that would share an id are numbered.
    pub fn simple(name: &str, zones: &[&str], gap_s: u32) -> Self {
        let mut plan = Self::new(name);
        let mut taken = BTreeMap::new();
        for zone_name in zones {
            let id = ZoneId::from_name(&unused(&mut taken, zone_name));
            plan.stops.push(Stop {
                id: StopId::from_name(id.as_str()),
                name: (*zone_name).to_owned(),
                zone: id.clone(),
                level: None,
                at: None,
                inspect_s: None,
            });
            plan.zones.push(Zone {
                id,
                name: (*zone_name).to_owned(),
                level: None,
                kind: ZoneKind::General,
                gap_s,
                shape: None,
                sight_mm: None,
            });
        }
        plan
    }

    /// The zone with this id.
    pub fn zone(&self, id: &ZoneId) -> Option<&Zone> {
        self.zones.iter().find(|zone| zone.id == *id)
    }

    /// The stop with this id.
    pub fn stop(&self, id: &StopId) -> Option<&Stop> {
        self.stops.iter().find(|stop| stop.id == *id)
    }

    /// Which zone each stop shows as seen: the map that travels in the record beside the plan's digest.
    pub fn stop_zones(&self) -> BTreeMap<StopId, ZoneId> {
        self.stops.iter().map(|stop| (stop.id.clone(), stop.zone.clone())).collect()
    }
}

/// A slug of `name` not handed out before by the same `taken`.
pub(crate) fn unused(taken: &mut BTreeMap<String, u32>, name: &str) -> String {
    let base = crate::id::slug(name);
    let mut id = base.clone();
    loop {
        let count = taken.entry(id.clone()).or_insert(0);
        *count += 1;
        if *count == 1 {
            return id;
        }
        id = format!("{base}-{count}");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn floors_by_telephone() {
        let plan = Plan::simple("Gannet Quay", &["Floor 1", "Floor 2", "Floor 2"], 1800);
        let ids: Vec<_> = plan.zones.iter().map(|zone| zone.id.as_str()).collect();
        assert_eq!(ids, ["floor-1", "floor-2", "floor-2-2"]);
        assert_eq!(plan.stop_zones().len(), 3);
        assert_eq!(plan.zones[0].gap_s, 1800);
    }
}
