//! The stops of a question, with what it takes to name and draw them.

use anyhow::{Context, ensure};
use floorplan::{Floors, Plan, Times, Trail};
use planner::ground::{Ground, Kind, Seen, Stations, Wish};
use planner::{Demands, Effort};
use std::path::Path;
use words::{Lang, route as said};

/// One place of a round.
pub(super) struct Place {
    pub(super) id: String,
    pub(super) name: String,
    pub(super) zone: String,
    pub(super) level: String,
    pub(super) at_mm: (i64, i64),
}

/// The places of a question and what is demanded of them.
pub(super) struct Places {
    pub(super) list: Vec<Place>,
    pub(super) demands: Demands,
}

impl Places {
    pub(super) fn named(&self, name: &str) -> anyhow::Result<usize> {
        let found = self
            .list
            .iter()
            .position(|p| p.id == name)
            .or_else(|| self.list.iter().position(|p| p.name == name));
        found.with_context(|| {
            let names: Vec<&str> = self.list.iter().take(12).map(|p| p.name.as_str()).collect();
            format!("no stop is called {name:?}; there are {} …", names.join(", "))
        })
    }

    /// Sets the gap of a zone or of a stop.
    pub(super) fn set_gap(&mut self, name: &str, gap_ms: i64) -> anyhow::Result<()> {
        let meant: Vec<usize> = self.in_zone(name)?;
        meant.into_iter().for_each(|s| self.demands.gap_ms[s] = gap_ms);
        Ok(())
    }

    /// The places of a zone, or the stop of that name.
    pub(super) fn in_zone(&self, name: &str) -> anyhow::Result<Vec<usize>> {
        let meant: Vec<usize> = (0..self.list.len())
            .filter(|&s| {
                [&self.list[s].id, &self.list[s].name, &self.list[s].zone]
                    .contains(&&name.to_owned())
            })
            .collect();
        ensure!(!meant.is_empty(), "no zone or stop is called {name:?}");
        Ok(meant)
    }

    /// Leaves out some of the places; hands back what they are called.
    pub(super) fn leave_out(&mut self, cut: &[usize], stations: &mut Stations) -> Vec<String> {
        let kept: Vec<usize> = (0..self.list.len()).filter(|s| !cut.contains(s)).collect();
        let demands = planner::answer::only(&self.demands, &kept);
        let mut names = Vec::new();
        for &s in cut.iter().rev() {
            names.push(self.list.remove(s).name);
            stations.list.remove(s);
        }
        names.reverse();
        self.demands = demands.clone();
        stations.demands = demands;
        names
    }

    /// Somebody stands at this places all the time: their look lasts as long as their gap.
    pub(super) fn stand(&mut self, name: &str) -> anyhow::Result<()> {
        let stop = self.named(name)?;
        self.demands.gap_ms[stop] = planner::gaps::STANDING_MS;
        self.demands.stay_ms[stop] = planner::gaps::STANDING_MS;
        Ok(())
    }
}

/// A plan with the floors laid out; everything that belongs to drawing and seeing.
pub(super) struct Site {
    pub(super) plan: Plan,
    floors: Floors,
    times: Times,
    look_ms: i64,
    sight_mm: f64,
}

impl Site {
    pub(super) fn read(file: &Path) -> anyhow::Result<Site> {
        let bytes = std::fs::read(file).with_context(|| format!("reading {}", file.display()))?;
        let plan = Plan::read(&bytes).with_context(|| format!("in {}", file.display()))?;
        let limits = rules::site_limits();
        Ok(Site {
            floors: Floors::new(&plan),
            times: Times::usual(limits)?,
            look_ms: limits.usual("look")? * 1000,
            sight_mm: limits.usual("sight-range")? as f64,
            plan,
        })
    }

    pub(super) fn ground(&self, keys: bool) -> Ground<'_> {
        Ground::new(&self.plan, &self.floors, self.times, keys)
    }

    /// The places of a round over the ground.
    pub(super) fn places(
        &self,
        ground: &Ground<'_>,
        gap_ms: Option<i64>,
        named: &[(String, i64)],
        viewpoints: bool,
        lang: Lang,
        effort: &mut Effort<'_>,
    ) -> anyhow::Result<(Places, Stations)> {
        let (look_ms, sight_mm) = (self.look_ms, self.sight_mm);
        let wish = Wish { gap_ms, named, viewpoints, look_ms, sight_mm };
        let stations = ground.stations(&wish, effort)?;
        let mut list = Vec::with_capacity(stations.list.len());
        for station in &stations.list {
            let number = list.len() + 1;
            let (id, name) = match &station.kind {
                Kind::Stop(id) if station.name.is_empty() => (id.to_string(), id.to_string()),
                Kind::Stop(id) => (id.to_string(), station.name.clone()),
                Kind::Viewpoint => (
                    format!("viewpoint-{number}"),
                    said::viewpoint(lang, number as i64, &station.name),
                ),
            };
            list.push(Place {
                id,
                name,
                zone: station.zone.clone(),
                level: station.spot.level.to_string(),
                at_mm: (station.spot.at.x, station.spot.at.y),
            });
        }
        Ok((Places { list, demands: stations.demands.clone() }, stations))
    }

    /// The id of a level by the number of its floor.
    pub(super) fn level(&self, floor: usize) -> &str {
        self.floors.floors[floor].level.as_str()
    }

    /// What the times rest on, in words.
    pub(super) fn assumed(&self, lang: Lang) -> String {
        let speed = format!("{:.2}", self.times.level_mm_s as f64 / 1000.0);
        let (door, key) = (self.times.door_s, self.times.key_s);
        let sight = format!("{:.0}", self.sight_mm / 1000.0);
        said::assumed(lang, door, key, self.look_ms / 1000, sight, speed)
    }

    pub(super) fn seen(&self, ground: &Ground<'_>, legs: &[Vec<Option<Trail>>]) -> Option<Seen> {
        ground.seen(self.sight_mm, legs)
    }
}
