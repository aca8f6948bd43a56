//! What the plan drawn so far takes: guards, rounds, what is seen, what cannot be reached. Asked anew after each change,
//! first with few steps, then with more; equal steps give equal answers.

use floorplan::survey::What;
use floorplan::{
    Circumstances, Fault, Floors, LevelId, Limits, Plan, Point, RoomId, Spot, Times, Trail, survey,
};
use planner::answer::{Conflict, MOST_STOPS, cut_off, only};
use planner::ground::{Ground, Stations, Wish};
use planner::share::round_length;
use planner::{Answer, Effort, Go, Progress, Question, answer};
use serde::{Deserialize, Serialize};

/// Steps of the search in each pass; the first is over before anybody notices.
pub const PASSES: [u64; 4] = [100, 4_000, 40_000, 250_000];
/// Unseen pieces smaller than this are not drawn, in m².
const PIECE_MIN_M2: f64 = 0.2;

/// Walking times and ranges with which the server was built; each has its source in `standards/site/walking`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Measures {
    /// Speed on level floor, in mm/s.
    pub level_mm_s: i64,
    /// Speed along the slope of a stair, in mm/s.
    pub stair_mm_s: i64,
    /// Slope length for each metre of rise, in thousandths.
    pub slope_permille: i64,
    /// Opening a door, in seconds.
    pub door_s: i64,
    /// Unlocking and locking, in seconds.
    pub key_s: i64,
    /// A ride in a lift, in seconds.
    pub lift_s: i64,
    /// Looking and writing at a stop, in seconds.
    pub inspect_s: i64,
    /// A look in passing, in seconds.
    pub look_s: i64,
    /// How far one sees, in millimetres.
    pub sight_mm: i64,
    /// The share of each gap that the rounds may use, in thousandths.
    pub share_permille: i64,
}

impl Measures {
    fn times(&self) -> Times {
        Times {
            level_mm_s: self.level_mm_s,
            stair_mm_s: self.stair_mm_s,
            slope_permille: self.slope_permille,
            door_s: self.door_s,
            key_s: self.key_s,
            lift_s: self.lift_s,
            inspect_s: self.inspect_s,
        }
    }
}

/// What was found out about a plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, Default)]
pub struct Thought {
    /// The pass that found it, from 0.
    pub pass: usize,
    /// Faults by their documented name, with the part they are in.
    pub faults: Vec<(String, String)>,
    /// Rooms that nobody can walk to, with the code of what is missing.
    pub lost: Vec<(RoomId, String)>,
    /// Doors in no wall, by id.
    pub loose_doors: Vec<String>,
    /// Links with a foot on no floor, by id.
    pub loose_links: Vec<String>,
    /// The plan has floor but no way in.
    pub no_exit: bool,
    /// Can the gaps be kept, and by how many.
    pub verdict: Verdict,
    /// Stops that no way leads to; they are left out of the verdict.
    pub cut: Vec<String>,
    /// The rounds as they lie on the levels.
    pub rounds: Vec<Round>,
    /// What is seen on the way.
    pub seen: Option<SeenShare>,
    /// Floor that is not seen, by level.
    pub unseen: Vec<(LevelId, Vec<Point>)>,
}

impl Thought {
    /// What the first pass leaves out, taken from the thought before.
    pub fn after(self, before: &Thought) -> Thought {
        if self.pass > 0 {
            return self;
        }
        let before = before.clone();
        Thought {
            lost: before.lost,
            loose_doors: before.loose_doors,
            loose_links: before.loose_links,
            no_exit: before.no_exit,
            seen: before.seen,
            unseen: before.unseen,
            ..self
        }
    }
}

/// Whether the gaps can be kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, Default)]
pub enum Verdict {
    /// Too little is drawn to say anything.
    #[default]
    Nothing,
    /// They can be kept.
    Kept {
        /// By so many guards.
        guards: usize,
        /// Fewer than this many cannot.
        least: usize,
        /// With the margin in every gap.
        with_margin: bool,
        /// What each round takes, in seconds.
        round_s: Vec<i64>,
        /// The longest that any stop stays unseen, in seconds.
        longest_s: i64,
        /// One guard may be held up this long, in seconds.
        delay_s: i64,
    },
    /// No number of guards found so far keeps them.
    TooFew {
        /// Fewer than this many cannot.
        least: usize,
    },
    /// Looking alone takes longer than the gap at these stops.
    TooLong(Vec<String>),
    /// More stops than are planned here.
    TooMany(usize),
}

/// One round.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Round {
    /// The first and last guard who walk it.
    pub guards: (usize, usize),
    /// Its lines on the levels.
    pub lines: Vec<(LevelId, Vec<Point>)>,
    /// Its stops with their number in walking order.
    pub stops: Vec<(LevelId, Point, usize)>,
}

/// The share of the floor that is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct SeenShare {
    /// In thousandths, rounded down.
    pub permille: i64,
    /// Floor not seen, in m².
    pub unseen_m2: i64,
}

/// Finds out what a plan takes, with the steps of a pass. The first pass leaves out what takes longest and changes
/// least: what cannot be reached and what is seen, see [`Thought::after`].
pub fn think(plan: &Plan, measures: &Measures, pass: usize) -> Thought {
    let found = plan.check();
    let mut thought = Thought { pass, ..Thought::default() };
    thought.faults = found.iter().map(|it| (it.fault.name().to_owned(), it.part.clone())).collect();
    let unsound = [Fault::Empty, Fault::Crossing, Fault::Far, Fault::Unknown, Fault::SameId];
    if plan.rooms.is_empty() || found.iter().any(|it| unsound.contains(&it.fault)) {
        return thought;
    }
    if pass > 0 {
        look_over(plan, &mut thought);
    }
    let floors = Floors::new(plan);
    let ground = Ground::new(plan, &floors, measures.times(), true);
    let mut go_on = |_: Progress| Go::On;
    let steps = PASSES[pass.min(PASSES.len() - 1)];
    let mut effort = Effort::new(1, steps, &mut go_on);
    if plan.stops.is_empty() || floors.floors.is_empty() {
        return thought;
    }
    let wish = Wish {
        gap_ms: None,
        named: &[],
        viewpoints: false,
        look_ms: measures.look_s * 1000,
        sight_mm: measures.sight_mm as f64,
    };
    // A stop without a place is no fault of the drawing: it waits in the list.
    let Ok(stations) = ground.stations(&wish, &mut effort) else { return thought };
    verdict(&ground, stations, measures, &mut effort, &mut thought);
    thought
}

/// What cannot be reached, and what hangs loose.
fn look_over(plan: &Plan, thought: &mut Thought) {
    let found = survey(plan, &Limits::default(), &Circumstances::default());
    let lost = found.unreachable.iter();
    thought.lost = lost.map(|it| (it.room.clone(), it.missing.code().to_owned())).collect();
    thought.loose_doors = found.loose_doors.iter().map(ToString::to_string).collect();
    thought.loose_links = found.loose_links.iter().map(ToString::to_string).collect();
    thought.no_exit = found.checks.iter().any(|check| check.what == What::NoExit);
}

fn verdict(
    ground: &Ground<'_>,
    mut stations: Stations,
    measures: &Measures,
    effort: &mut Effort<'_>,
    thought: &mut Thought,
) {
    let cut = cut_off(&stations.demands.walks, None);
    let kept: Vec<usize> = (0..stations.list.len()).filter(|s| !cut.contains(s)).collect();
    thought.cut = cut.iter().map(|&s| stations.list[s].name.clone()).collect();
    if !cut.is_empty() {
        stations.demands = only(&stations.demands, &kept);
        stations.list = kept.iter().map(|&s| stations.list[s].clone()).collect();
    }
    if stations.list.is_empty() {
        return;
    }
    let question = Question {
        demands: &stations.demands,
        from: None,
        guards: None,
        share_permille: measures.share_permille,
        may: &[],
        zones: &[],
    };
    thought.verdict = match answer(&question, effort) {
        Answer::Kept(kept) => {
            let demands = &stations.demands;
            let spots: Vec<Spot> = stations.list.iter().map(|s| s.spot.clone()).collect();
            let legs = ground.legs(&spots, &kept.plan);
            draw(&stations, &kept.plan, &legs, ground, thought);
            if thought.pass > 0 {
                see(ground, measures, &legs, thought);
            }
            let round = |team: &planner::Team| {
                round_length(&demands.walks, &demands.stay_ms, &team.round) / 1000
            };
            Verdict::Kept {
                guards: kept.plan.guards(),
                least: kept.least.guards,
                with_margin: kept.with_margin,
                round_s: kept.plan.teams.iter().map(round).collect(),
                longest_s: kept.longest_gap_ms / 1000,
                delay_s: kept.survives_delay_ms / 1000,
            }
        }
        Answer::TooFew { least, .. } => Verdict::TooFew { least: least.guards },
        Answer::Contradiction(conflicts) => contradiction(&conflicts, &stations),
    };
}

fn contradiction(conflicts: &[Conflict], stations: &Stations) -> Verdict {
    if stations.list.len() > MOST_STOPS {
        return Verdict::TooMany(stations.list.len());
    }
    let stops = conflicts.iter().filter_map(|conflict| match conflict {
        Conflict::LookTooLong { stop } | Conflict::Unreachable { stop } => {
            Some(stations.list[*stop].name.clone())
        }
        _ => None,
    });
    Verdict::TooLong(stops.collect())
}

fn draw(
    stations: &Stations,
    plan: &planner::Plan,
    legs: &[Vec<Option<Trail>>],
    ground: &Ground<'_>,
    thought: &mut Thought,
) {
    let mut next = 1;
    for (team, legs) in plan.teams.iter().zip(legs) {
        let guards = (next, next + team.guards - 1);
        next += team.guards;
        let stops = team.round.iter().enumerate().map(|(i, &stop)| {
            let spot = &stations.list[stop].spot;
            (spot.level.clone(), spot.at, i + 1)
        });
        let lines = legs.iter().flatten().flat_map(|trail| pieces(ground, trail)).collect();
        thought.rounds.push(Round { guards, lines, stops: stops.collect() });
    }
}

/// The parts of a way, each on its level.
fn pieces(ground: &Ground<'_>, trail: &Trail) -> Vec<(LevelId, Vec<Point>)> {
    let mut out: Vec<(LevelId, Vec<Point>)> = Vec::new();
    for pair in trail.steps.windows(2).filter(|pair| pair[0].floor == pair[1].floor) {
        let level = ground.level(pair[0].floor);
        let ends = [pair[0], pair[1]].map(|step| floorplan::floor::whole(step.inside));
        match out.last_mut() {
            Some((on, line)) if on == level && line.last() == Some(&ends[0]) => line.push(ends[1]),
            _ => out.push((level.clone(), ends.to_vec())),
        }
    }
    out
}

fn see(
    ground: &Ground<'_>,
    measures: &Measures,
    legs: &[Vec<Option<Trail>>],
    thought: &mut Thought,
) {
    let Some((seen, pieces)) = ground.seen_and_left(measures.sight_mm as f64, legs) else { return };
    thought.seen = Some(SeenShare {
        permille: libm::floor(seen.share() * 1000.0) as i64,
        unseen_m2: libm::round(seen.unseen_mm2 / 1e6) as i64,
    });
    let large = |piece: &[Point]| {
        floorplan::shape::ring_double_area(piece).abs() as f64 / 2e6 >= PIECE_MIN_M2
    };
    thought.unseen = pieces.into_iter().filter(|(_, piece)| large(piece)).collect();
}

#[cfg(test)]
mod tests;
