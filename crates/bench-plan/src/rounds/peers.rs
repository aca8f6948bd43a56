//! The peers: Python packages, asked one question a process.

use crate::python::Python;
use crate::tsplib::Instance;
use anyhow::{Context, Result, bail};
use planner::Demands;
use serde_json::{Value, json};

const PACKAGES: &[&str] = &["ortools==9.15.6755", "pyvrp==0.14.1", "elkai==2.0.1"];
const PROGRAM: &str = include_str!("peers.py");

pub(super) struct Peers {
    python: Python,
    pub(super) versions: String,
}

/// What a peer is asked: closed tours from node 0 through all nodes.
pub(super) struct Question {
    pub(super) peer: &'static str,
    pub(super) points: Vec<(f64, f64)>,
    pub(super) table: Vec<Vec<i64>>,
    pub(super) guards: usize,
    pub(super) seconds: f64,
    pub(super) seed: u64,
    /// Between these the longest tour is sought by bisection.
    pub(super) least: i64,
    pub(super) most: i64,
    /// No tour longer than this, as few tours as possible.
    pub(super) cap: Option<i64>,
}

impl Question {
    pub(super) fn new(instance: &Instance, guards: usize, parts: f64) -> Question {
        let n = instance.points.len();
        let between = |a: usize, b: usize| (instance.distance(a, b) * parts + 0.5).floor() as i64;
        Question {
            peer: "elkai",
            points: instance.points.clone(),
            table: (0..n).map(|a| (0..n).map(|b| between(a, b)).collect()).collect(),
            guards,
            seconds: 1.0,
            seed: 1,
            least: 0,
            most: 0,
            cap: None,
        }
    }

    fn json(&self) -> Value {
        json!({
            "peer": self.peer, "points": self.points, "table": self.table, "guards": self.guards,
            "seconds": self.seconds, "seed": self.seed, "least": self.least, "most": self.most,
            "cap": self.cap, "runs": 1,
        })
    }
}

impl Peers {
    /// Makes the environment where it is missing; an error names what could not be had.
    pub(super) fn ready() -> Result<Peers> {
        let python = Python::with(PACKAGES)?;
        let versions = PACKAGES.join(", ").replace("==", " ");
        Ok(Peers { python, versions })
    }

    /// The peer's tours, checked to pass every node once, and its seconds; no tours when it found none.
    pub(super) fn ask(&self, question: &Question) -> Result<(Option<Vec<Vec<usize>>>, f64)> {
        let peer = question.peer;
        let answer = self.python.ask(peer, PROGRAM, &question.json())?;
        let seconds = answer["seconds"].as_f64().context("seconds")?;
        if answer["tours"].is_null() {
            return Ok((None, seconds));
        }
        let rounds: Vec<Vec<usize>> = (answer["tours"].as_array().context("tours")?.iter())
            .map(|tour| {
                let nodes = tour.as_array().into_iter().flatten();
                nodes.filter_map(Value::as_u64).map(|node| node as usize).collect()
            })
            .collect();
        let mut seen: Vec<usize> =
            rounds.iter().flatten().copied().filter(|&node| node != 0).collect();
        seen.sort_unstable();
        if seen != (1..question.points.len()).collect::<Vec<_>>() {
            bail!("{peer} left out a node, or passed one twice");
        }
        Ok((Some(rounds), seconds))
    }

    /// The fewest guards a peer finds: the classes apart, or all at the shortest gap.
    pub(super) fn fewest(
        &self,
        peer: &'static str,
        demands: &Demands,
        points: &[(f64, f64)],
        seconds: f64,
        seed: u64,
    ) -> Result<Option<usize>> {
        let mut gaps = demands.gap_ms.clone();
        gaps.sort_unstable();
        gaps.dedup();
        let all: Vec<usize> = (0..points.len()).collect();
        let of = |gap: i64| all.iter().copied().filter(move |&s| demands.gap_ms[s] == gap);
        let mut apart = Some(0);
        for &gap in &gaps {
            let stops: Vec<usize> = of(gap).collect();
            let guards = self.of_class(peer, demands, points, &stops, gap, seconds, seed)?;
            apart = apart.zip(guards).map(|(a, b)| a + b);
        }
        if gaps.len() == 1 {
            return Ok(apart);
        }
        let together = self.of_class(peer, demands, points, &all, gaps[0], seconds, seed)?;
        Ok(apart.into_iter().chain(together).min())
    }

    #[expect(clippy::too_many_arguments, reason = "one question in full")]
    fn of_class(
        &self,
        peer: &'static str,
        demands: &Demands,
        points: &[(f64, f64)],
        stops: &[usize],
        gap: i64,
        seconds: f64,
        seed: u64,
    ) -> Result<Option<usize>> {
        // Each leg carries the look at its end.
        let leg = |a: usize, b: usize| {
            if a == b { 0 } else { demands.walks.ms(a, b) + demands.stay_ms[b] }
        };
        let question = Question {
            peer,
            points: stops.iter().map(|&s| points[s]).collect(),
            table: stops.iter().map(|&a| stops.iter().map(|&b| leg(a, b)).collect()).collect(),
            guards: 12,
            seconds,
            seed,
            least: 0,
            most: 0,
            cap: Some(gap),
        };
        let rounds = self.ask(&question)?.0;
        Ok(rounds.map(|rounds| rounds.iter().filter(|round| round.len() > 1).count().max(1)))
    }
}
