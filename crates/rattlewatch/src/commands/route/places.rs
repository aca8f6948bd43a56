//! Stops, gaps and walks, from a plan or from a plain list.

use anyhow::{Context, bail, ensure};
use floorplan::{Floors, Limits, Network, Plan, Spot, Times};
use planner::{Demands, NEVER, Walks};
use std::path::Path;

/// Time for one flight of stairs on a plain list, in ms (common practice).
const FLIGHT_MS: f64 = 20_000.0;

const WALKING: &[(&str, &str)] = &[
    ("door", include_str!("../../../../../standards/site/walking/door.toml")),
    ("inspect", include_str!("../../../../../standards/site/walking/inspect.toml")),
    ("key", include_str!("../../../../../standards/site/walking/key.toml")),
    ("level", include_str!("../../../../../standards/site/walking/level.toml")),
    ("lift", include_str!("../../../../../standards/site/walking/lift.toml")),
    ("slope", include_str!("../../../../../standards/site/walking/slope.toml")),
    ("stair", include_str!("../../../../../standards/site/walking/stair.toml")),
];

/// The stops of a question, with what it takes to draw and name them.
pub(super) struct Places {
    pub(super) names: Vec<String>,
    pub(super) zones: Vec<String>,
    pub(super) levels: Vec<String>,
    /// In millimetres.
    pub(super) at: Vec<(i64, i64)>,
    pub(super) demands: Demands,
}

impl Places {
    pub(super) fn named(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|n| n == name)
    }

    /// Sets the gap of a zone or of a stop.
    pub(super) fn tighten(&mut self, name: &str, gap_ms: i64) -> anyhow::Result<()> {
        let mut found = false;
        for s in 0..self.names.len() {
            if self.names[s] == name || self.zones[s] == name {
                self.demands.gap_ms[s] = gap_ms;
                found = true;
            }
        }
        ensure!(found, "no zone or stop is called {name:?}");
        Ok(())
    }
}

/// Reads `name,x_m,y_m,level,stay_s,gap_s`, walked straight at `speed` m/s, levels being numbers.
pub(super) fn list(file: &Path, speed: f64, gap: Option<i64>) -> anyhow::Result<Places> {
    ensure!(
        speed > 0.0 && speed <= 3.5,
        "--speed {speed} is no walking speed: give 0.1 to 3.5 m/s"
    );
    let text =
        std::fs::read_to_string(file).with_context(|| format!("reading {}", file.display()))?;
    parse(&text, speed, gap).with_context(|| format!("in {}", file.display()))
}

fn parse(text: &str, speed: f64, gap: Option<i64>) -> anyhow::Result<Places> {
    let (mut names, mut levels, mut at, mut stay_ms, mut gap_ms) =
        (vec![], vec![], vec![], vec![], vec![]);
    for (number, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') || (number == 0 && line.starts_with("name,")) {
            continue;
        }
        let row = || format!("line {}: {line:?}", number + 1);
        let fields: Vec<&str> = line.split(',').map(str::trim).collect();
        let [name, x, y, level, stay, own_gap] = fields[..] else {
            bail!("{}: write name,x_m,y_m,level,stay_s,gap_s", row());
        };
        ensure!(!names.contains(&name.to_owned()), "{}: this name stands there twice", row());
        let metres = |t: &str| -> anyhow::Result<i64> {
            let m: f64 = t.parse().with_context(row)?;
            ensure!(m.abs() <= 100_000.0, "{}: farther than 100 km", row());
            Ok((m * 1000.0).round() as i64)
        };
        let seconds = |t: &str| -> anyhow::Result<i64> {
            let s: f64 = t.parse().with_context(row)?;
            ensure!((0.0..=1e6).contains(&s), "{}: a time must be 0 to 1000000 s", row());
            Ok((s * 1000.0).round() as i64)
        };
        let level_number: i32 =
            level.parse().with_context(|| format!("{}: the level must be a number", row()))?;
        at.push((metres(x)?, metres(y)?));
        stay_ms.push(seconds(stay)?);
        gap_ms.push(match (own_gap, gap) {
            ("", Some(gap)) => gap,
            ("", None) => bail!("{}: no gap; write gap_s, or give --gap", row()),
            (own, _) => seconds(own)?.max(1),
        });
        names.push(name.to_owned());
        levels.push(level_number);
    }
    let walks = Walks::from_fn(names.len(), |a, b| {
        let (dx, dy) = ((at[a].0 - at[b].0) as f64, (at[a].1 - at[b].1) as f64);
        let flights = f64::from(levels[a].abs_diff(levels[b]));
        ((dx * dx + dy * dy).sqrt() / speed + flights * FLIGHT_MS).ceil() as i64
    });
    Ok(Places {
        zones: names.clone(),
        levels: levels.iter().map(ToString::to_string).collect(),
        at,
        demands: Demands { walks: walks.closed(), stay_ms, gap_ms },
        names,
    })
}

/// The stops of a plan, walked over its floors, doors and stairs with the usual times.
pub(super) fn plan(file: &Path) -> anyhow::Result<Places> {
    let bytes = std::fs::read(file).with_context(|| format!("reading {}", file.display()))?;
    let plan = Plan::read(&bytes).with_context(|| format!("in {}", file.display()))?;
    let times = Times::usual(&Limits::read(WALKING.iter().copied())?)?;
    let drawn: Vec<_> = plan.stops.iter().filter(|s| s.at.is_some() && s.level.is_some()).collect();
    ensure!(
        drawn.len() == plan.stops.len() && !drawn.is_empty(),
        "{} of {} stops are drawn: put every stop on its level first, or give a list with --stops",
        drawn.len(),
        plan.stops.len()
    );
    let spots: Vec<Spot> =
        drawn.iter().filter_map(|s| Some(Spot { level: s.level.clone()?, at: s.at? })).collect();
    let floors = Floors::new(&plan);
    let network = Network::new(&plan, &floors, |passage| times.worth_mm(passage));
    let lengths = network.matrix(&spots);
    let n = spots.len();
    let walks = Walks::from_fn(n, |a, b| {
        let length = lengths[a * n + b];
        if length.is_finite() {
            (times.level_s(length) * 1000.0).ceil() as i64
        } else {
            i64::from(NEVER)
        }
    });
    let zone =
        |s: &floorplan::Stop| plan.zone(&s.zone).context("a stop names a zone that is not there");
    let mut gap_ms = Vec::with_capacity(n);
    let mut zones = Vec::with_capacity(n);
    for stop in &drawn {
        let zone = zone(stop)?;
        gap_ms.push(i64::from(zone.gap_s) * 1000);
        zones.push(zone.name.clone());
    }
    let stay = |s: &floorplan::Stop| s.inspect_s.map_or(times.inspect_s, i64::from) * 1000;
    Ok(Places {
        names: drawn.iter().map(|s| s.name.clone()).collect(),
        zones,
        levels: spots.iter().map(|s| s.level.as_str().to_owned()).collect(),
        at: spots.iter().map(|s| (s.at.x, s.at.y)).collect(),
        demands: Demands {
            walks: walks.closed(),
            stay_ms: drawn.iter().map(|s| stay(s)).collect(),
            gap_ms,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_is_read_with_levels_and_flights() {
        let places = parse(
            "name,x_m,y_m,level,stay_s,gap_s\nHall,0,0,0,20,1800\nAttic,3,4,2,30,",
            1.0,
            Some(900_000),
        )
        .unwrap();
        assert_eq!(places.demands.walks.ms(0, 1), 5000 + 40_000);
        assert_eq!(places.demands.gap_ms, [1_800_000, 900_000]);
    }

    #[test]
    fn bad_rows_say_what_to_write() {
        let said = |text: &str| format!("{:#}", parse(text, 1.0, None).map(|_| ()).unwrap_err());
        assert_eq!(said("Hall,0,0"), "line 1: \"Hall,0,0\": write name,x_m,y_m,level,stay_s,gap_s");
        assert_eq!(
            said("Hall,0,0,0,20,"),
            "line 1: \"Hall,0,0,0,20,\": no gap; write gap_s, or give --gap"
        );
    }
}
