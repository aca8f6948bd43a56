//! Rounds written down for the night: stops, walking times and who walks what, as `route --write` leaves them and
//! `replan` reads them. The form is in `docs/planning-rounds.md`.

use anyhow::{Context, ensure};
use planner::gaps::Team;
use planner::{Demands, Plan, Walks};
use serde_json::{Value, json};
use std::path::Path;

/// What a later program may no longer understand.
const VERSION: i64 = 1;

/// One place of a round.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Stop {
    pub(super) id: String,
    pub(super) name: String,
    pub(super) zone: String,
    pub(super) level: String,
}

/// Rounds as they are walked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Rounds {
    pub(super) stops: Vec<Stop>,
    pub(super) demands: Demands,
    pub(super) plan: Plan,
}

impl Rounds {
    pub(super) fn write(&self, file: &Path) -> anyhow::Result<()> {
        let text = format!("{}\n", self.json());
        std::fs::write(file, text).with_context(|| format!("writing {}", file.display()))
    }

    pub(super) fn read(file: &Path) -> anyhow::Result<Rounds> {
        let text =
            std::fs::read_to_string(file).with_context(|| format!("reading {}", file.display()))?;
        let json: Value = serde_json::from_str(&text).with_context(|| {
            format!("{} is no JSON: give a file that `route --write` wrote", file.display())
        })?;
        Rounds::from_json(&json).with_context(|| format!("in {}", file.display()))
    }

    fn json(&self) -> Value {
        let demands = &self.demands;
        let n = self.stops.len();
        let stops = self.stops.iter().enumerate().map(|(s, stop)| {
            json!({
                "id": stop.id, "name": stop.name, "zone": stop.zone, "level": stop.level,
                "stay_ms": demands.stay_ms[s], "gap_ms": demands.gap_ms[s],
            })
        });
        let walks = (0..n).map(|a| (0..n).map(|b| demands.walks.ms(a, b)).collect::<Vec<_>>());
        let teams = self.plan.teams.iter().map(|t| json!({ "guards": t.guards, "round": t.round }));
        json!({
            "rounds": VERSION, "stops": stops.collect::<Vec<_>>(), "walk_ms": walks.collect::<Vec<_>>(),
            "teams": teams.collect::<Vec<_>>(),
        })
    }

    fn from_json(json: &Value) -> anyhow::Result<Rounds> {
        ensure!(
            json["rounds"] == VERSION,
            "these are no rounds of version {VERSION}: write them again with `route --write`"
        );
        let rows = |value: &Value, what: &str| -> anyhow::Result<Vec<Value>> {
            value.as_array().cloned().with_context(|| format!("{what} must be a list"))
        };
        let whole = |value: &Value, what: &str| -> anyhow::Result<i64> {
            let number = value.as_i64().filter(|n| (0..=i64::from(planner::NEVER)).contains(n));
            number.with_context(|| format!("{what} must be a whole number of 0 or more"))
        };
        let (mut stops, mut stay_ms, mut gap_ms) = (Vec::new(), Vec::new(), Vec::new());
        for row in rows(&json["stops"], "stops")? {
            let text = |key: &str| row[key].as_str().unwrap_or_default().to_owned();
            stops.push(Stop {
                id: text("id"),
                name: text("name"),
                zone: text("zone"),
                level: text("level"),
            });
            stay_ms.push(whole(&row["stay_ms"], "stay_ms")?);
            gap_ms.push(whole(&row["gap_ms"], "gap_ms")?);
        }
        let n = stops.len();
        ensure!(n > 0, "there are no stops");
        let mut walks = Vec::with_capacity(n * n);
        for row in rows(&json["walk_ms"], "walk_ms")? {
            for time in rows(&row, "each row of walk_ms")? {
                walks.push(whole(&time, "a walking time")? as i32);
            }
        }
        let mut teams = Vec::new();
        for team in rows(&json["teams"], "teams")? {
            let mut round = Vec::new();
            for stop in rows(&team["round"], "a round")? {
                let stop = whole(&stop, "a stop of a round")? as usize;
                ensure!(stop < n, "a round names stop {stop}, there are {n}");
                round.push(stop);
            }
            let guards = whole(&team["guards"], "guards")? as usize;
            ensure!((1..=1000).contains(&guards), "a team has 1 to 1000 guards");
            teams.push(Team { guards, round });
        }
        let demands = Demands { walks: Walks::new(n, walks)?, stay_ms, gap_ms };
        Ok(Rounds { stops, demands, plan: Plan { teams } })
    }

    /// The stop of this id or name.
    pub(super) fn named(&self, name: &str) -> anyhow::Result<usize> {
        let by = |of: fn(&Stop) -> &str| self.stops.iter().position(|s| of(s) == name);
        by(|s| &s.id).or_else(|| by(|s| &s.name)).with_context(|| {
            let names: Vec<&str> = self.stops.iter().take(12).map(|s| s.name.as_str()).collect();
            format!("no stop is called {name:?}; there are {} …", names.join(", "))
        })
    }

    /// The stops of a zone, or the stop of that name.
    pub(super) fn in_zone(&self, name: &str) -> anyhow::Result<Vec<usize>> {
        let meant: Vec<usize> = (0..self.stops.len())
            .filter(|&s| {
                let stop = &self.stops[s];
                [&stop.id, &stop.name, &stop.zone].into_iter().any(|known| known == name)
            })
            .collect();
        ensure!(!meant.is_empty(), "no zone or stop is called {name:?}");
        Ok(meant)
    }

    /// A stop more, so many milliseconds from a known one, looked at as long and as often as that one.
    pub(super) fn add(&mut self, name: &str, near: usize, apart_ms: i64) {
        let (old, n) = (self.demands.walks.clone(), self.stops.len());
        let way = |a: usize, b: usize| if a == b { 0 } else { old.ms(a, b) };
        self.demands.walks = Walks::from_fn(n + 1, |a, b| match (a == n, b == n) {
            (false, false) => old.ms(a, b),
            (true, true) => 0,
            (true, false) => apart_ms + way(near, b),
            (false, true) => way(a, near) + apart_ms,
        });
        self.demands.stay_ms.push(self.demands.stay_ms[near]);
        self.demands.gap_ms.push(self.demands.gap_ms[near]);
        let near = self.stops[near].clone();
        self.stops.push(Stop { id: name.to_owned(), name: name.to_owned(), ..near });
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// Twelve stops 20 s apart on a ring, two guards with half each; stop 0 to 5 are *North*, the others *South*.
    pub(in super::super) fn ring(gap_s: i64) -> Rounds {
        let stop = |s: usize| Stop {
            id: format!("s{s}"),
            name: format!("Stop {s}"),
            zone: if s < 6 { "North" } else { "South" }.to_owned(),
            level: "0".to_owned(),
        };
        let walks = Walks::from_fn(12, |a, b| {
            let apart = (a as i64 - b as i64).rem_euclid(12);
            apart.min(12 - apart) * 20_000
        });
        let halves = [(0..6).collect::<Vec<_>>(), (6..12).collect()];
        Rounds {
            stops: (0..12).map(stop).collect(),
            demands: Demands { walks, stay_ms: vec![10_000; 12], gap_ms: vec![gap_s * 1000; 12] },
            plan: Plan { teams: halves.map(|round| Team { guards: 1, round }).to_vec() },
        }
    }

    #[test]
    fn what_is_written_is_read_again() {
        let rounds = ring(300);
        assert_eq!(Rounds::from_json(&rounds.json()).unwrap(), rounds);
    }

    #[test]
    fn what_is_no_rounds_is_said_to_be_none() {
        let said = |json: Value| format!("{:#}", Rounds::from_json(&json).unwrap_err());
        assert!(said(json!({})).contains("route --write"));
        let mut short = ring(300).json();
        short["walk_ms"] = json!([[0, 1]]);
        assert!(said(short).contains("144"), "12 stops need 144 times");
        let mut wrong = ring(300).json();
        wrong["teams"][0]["round"][0] = json!(12);
        assert_eq!(said(wrong), "a round names stop 12, there are 12");
    }
}
