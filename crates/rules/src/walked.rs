//! Which recorded legs say something about the walks of a plan, and what they say: legs of a plan on which the same stops
//! stood at the same places with the same walks between, and none so quick that nobody walked it.

use crate::findings::faster_than_anybody;
use crate::standards::site_limits;
use floorplan::{Floors, Plan, Stop, Times};
use ledger::Digest;
use planner::ground::{Ground, Wish};
use planner::learned::{Leg, Lessons};
use planner::{Demands, Effort, Go, NEVER};
use std::collections::BTreeMap;
use watch::Legs;

/// Walks over two plans are the same within so much, ms.
const SAME_WALK_MS: u64 = 1_000;

/// The legs of one watch and the plans that were in force on it, as far as they are held.
#[derive(Debug, Clone, Copy)]
pub struct Night<'a> {
    /// Its legs.
    pub legs: &'a Legs,
    /// Its plans by digest.
    pub plans: &'a BTreeMap<Digest, Plan>,
}

/// What recorded legs say about the walks of a plan.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Walked {
    /// What they teach.
    pub lessons: Lessons,
    /// Pairs of looks that were no plain walk.
    pub no_walk: u64,
    /// Legs of another plan: a stop was moved or is gone, or the way between is another.
    pub other_plan: u64,
    /// Legs that nobody walks so fast.
    pub too_quick: u64,
}

/// The question whose times are to be learned.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// Its plan.
    pub plan: &'a Plan,
    /// The ids of its places by their number; places that are no stops have ids that no record names.
    pub stops: &'a [&'a str],
    /// Its times.
    pub demands: &'a Demands,
    /// The plan's stops with the walks between them, every key at hand ([`demands_of`]); none where walks are a guess, for
    /// which no leg is too quick.
    pub drawn: Option<&'a Demands>,
}

impl Walked {
    /// Compares the legs of watches with what a question says of them.
    pub fn over(asked: Asked<'_>, nights: &[Night<'_>]) -> Walked {
        let mut walked = Walked::default();
        let now = On::plan(asked.plan, asked.drawn.cloned());
        let other = other_plans(asked.plan, nights);
        let number: BTreeMap<&str, usize> =
            asked.stops.iter().enumerate().map(|(i, id)| (*id, i)).collect();
        let mut legs = Vec::new();
        for night in nights {
            walked.no_walk += night.legs.left_out.values().sum::<u64>();
            for leg in &night.legs.walked {
                let pair = (leg.from.as_str(), leg.to.as_str());
                let plan = leg.plan.as_ref().and_then(|digest| night.plans.get(digest));
                let ends = number.get(pair.0).zip(number.get(pair.1));
                let stands = |then: &Plan| match other.iter().find(|(known, _)| *known == then) {
                    Some((_, then)) => now.is_same(then, pair),
                    None => true,
                };
                let Some((&from, &to)) = ends.filter(|_| plan.is_some_and(stands)) else {
                    walked.other_plan += 1;
                    continue;
                };
                let drawn_ms = now.walk_ms(pair);
                let asked_ms = asked.demands.walks.ms(from, to);
                if drawn_ms.is_some_and(|ms| ms.abs_diff(asked_ms) > SAME_WALK_MS) {
                    walked.other_plan += 1;
                } else if drawn_ms.is_some_and(|ms| faster_than_anybody(ms / 1000, leg.took_ms)) {
                    walked.too_quick += 1;
                } else {
                    legs.push(Leg { from, to, took_ms: leg.took_ms });
                }
            }
        }
        walked.lessons = Lessons::of(asked.demands, &legs);
        walked
    }
}

/// Every plan that legs were walked on and that is not the one asked about, once.
fn other_plans<'p>(asked: &Plan, nights: &[Night<'p>]) -> Vec<(&'p Plan, On<'p>)> {
    let mut other: Vec<(&Plan, On<'_>)> = Vec::new();
    for plan in nights.iter().flat_map(|night| night.plans.values()) {
        if plan != asked && !other.iter().any(|(known, _)| *known == plan) {
            other.push((plan, On::plan(plan, demands_of(plan))));
        }
    }
    other
}

/// A plan with the walks between its stops, where all of them are drawn.
struct On<'p> {
    stops: BTreeMap<&'p str, (usize, &'p Stop)>,
    demands: Option<Demands>,
}

impl<'p> On<'p> {
    fn plan(plan: &'p Plan, demands: Option<Demands>) -> On<'p> {
        let numbered = plan.stops.iter().enumerate();
        let stops = numbered.map(|(i, stop)| (stop.id.as_str(), (i, stop))).collect();
        On { stops, demands }
    }

    /// Whether the two stops stood there where they stand here, with the same walk between. What was not drawn then may
    /// well have stood there.
    fn is_same(&self, then: &On<'_>, (from, to): (&str, &str)) -> bool {
        let stays = |id: &str| {
            let places = self.stops.get(id).zip(then.stops.get(id));
            places.is_some_and(|((_, here), (_, there))| {
                there.at.is_none() || (&there.level, there.at) == (&here.level, here.at)
            })
        };
        let walks = self.walk_ms((from, to)).zip(then.walk_ms((from, to)));
        stays(from)
            && stays(to)
            && walks.is_none_or(|(here, there)| here.abs_diff(there) <= SAME_WALK_MS)
    }

    fn walk_ms(&self, (from, to): (&str, &str)) -> Option<i64> {
        let ((from, _), (to, _)) = self.stops.get(from).zip(self.stops.get(to))?;
        let walk_ms = self.demands.as_ref()?.walks.ms(*from, *to);
        (walk_ms < i64::from(NEVER)).then_some(walk_ms)
    }
}

/// The stops of a plan in their order, the walks between them measured over its floors with every key at hand; none
/// where one of them is not drawn.
pub fn demands_of(plan: &Plan) -> Option<Demands> {
    if plan.stops.is_empty() {
        return None;
    }
    let times = Times::usual(site_limits()).ok()?;
    let floors = Floors::new(plan);
    let ground = Ground::new(plan, &floors, times, true);
    let wish = Wish { gap_ms: None, named: &[], viewpoints: false, look_ms: 0, sight_mm: 0.0 };
    let stations = ground.stations(&wish, &mut Effort::new(1, 0, &mut |_| Go::On)).ok()?;
    Some(stations.demands)
}

#[cfg(test)]
mod tests {
    use super::*;
    use floorplan::{
        Leaf, Level, LevelId, Opening, OpeningId, Point, Room, RoomId, RoomKind, Shape,
    };

    /// A corridor of 60 m with a stop at each end and one in the middle, which a wall with a door may part.
    fn plan(far_x: i64, parted: bool) -> Plan {
        let mut plan = Plan::simple("Gannet Hotel", &["Hall", "Kitchen", "Cellar"], 1800);
        let level = LevelId::from_name("ground");
        plan.levels.push(Level { id: level.clone(), name: "Ground".to_owned(), elevation_mm: 0 });
        let room = |name: &str, from: i64, to: i64| Room {
            id: RoomId::from_name(name),
            name: name.to_owned(),
            level: level.clone(),
            kind: RoomKind::Corridor,
            zone: None,
            shape: Shape::ring(&[(from, 0), (to, 0), (to, 2_000), (from, 2_000)]),
        };
        if parted {
            plan.rooms = vec![room("west", 0, 20_000), room("east", 20_000, 60_000)];
            plan.openings.push(Opening {
                id: OpeningId::from_name("door"),
                name: String::new(),
                level: level.clone(),
                line: [Point::new(20_000, 500), Point::new(20_000, 1_500)],
                leaf: Leaf::Door,
                exit: false,
            });
        } else {
            plan.rooms = vec![room("corridor", 0, 60_000)];
        }
        for (stop, x) in plan.stops.iter_mut().zip([1_000, 31_000, far_x]) {
            (stop.level, stop.at) = (Some(level.clone()), Some(Point::new(x, 1_000)));
            stop.inspect_s = Some(30);
        }
        plan
    }

    /// Nine rounds: hall to kitchen in 120 s, kitchen to cellar in 90 s, cellar to hall in 10 s, which is too quick.
    fn night() -> night::Record {
        let mut text =
            "watch: 20:00 to 23:00\ngap hall: 30 min\ngap kitchen: 30 min\ngap cellar: 30 min\n\
             stop hall: hall\nstop kitchen: kitchen\nstop cellar: cellar\nout: fire-alarm\n\n\
             20:00 Ines begins until 23:00\n"
                .to_owned();
        for round in 0..9 {
            let minute = 4 * round;
            text += &format!("20:{minute:02} Ines begins a round\n");
            text += &format!("20:{minute:02}:10 Ines sees hall\n");
            text += &format!("20:{:02}:10 Ines sees kitchen\n", minute + 2);
            text += &format!("20:{:02}:40 Ines sees cellar\n", minute + 3);
            text += &format!("20:{:02}:50 Ines sees hall\n", minute + 3);
            text += &format!("20:{:02}:55 Ines ends the round\n", minute + 3);
        }
        night::tell(&text).unwrap_or_else(|fault| panic!("{fault}"))
    }

    fn walked(asked: &Plan, then: &Plan) -> (Walked, Demands) {
        let record = night();
        let watch = record.folded();
        let legs = watch.legs(&watch.about(record.end_ms));
        let digest = legs.walked[0].plan.expect("a night has a plan");
        let plans = BTreeMap::from([(digest, then.clone())]);
        let demands = demands_of(asked).expect("drawn");
        let stops: Vec<&str> = asked.stops.iter().map(|stop| stop.id.as_str()).collect();
        let asked = Asked { plan: asked, stops: &stops, demands: &demands, drawn: Some(&demands) };
        (Walked::over(asked, &[Night { legs: &legs, plans: &plans }]), demands)
    }

    #[test]
    fn legs_of_a_told_night_set_the_times_right() {
        let plan = plan(51_000, false);
        let (walked, demands) = walked(&plan, &plan);
        assert_eq!((walked.too_quick, walked.other_plan, walked.no_walk), (9, 0, 8));
        assert_eq!((walked.lessons.legs(), walked.lessons.counts[&(0, 1)]), (18, 9));
        // Computed: 30 s of looking and 30 m at 1.19 m/s (SFPE Handbook, Nelson and Mowrer; from memory).
        assert!(demands.walks.ms(0, 1).abs_diff(25_200) < 300, "{}", demands.walks.ms(0, 1));
        let learned = walked.lessons.applied(&demands);
        let near = |ms: i64, expect: i64| (0..=150).contains(&(ms - expect));
        assert!(near(learned.walks.ms(0, 1) + 150, 90_000), "{}", learned.walks.ms(0, 1));
        assert!(near(learned.walks.ms(1, 2) + 150, 60_000), "{}", learned.walks.ms(1, 2));
    }

    #[test]
    fn a_stop_that_was_moved_makes_its_old_legs_void() {
        let (walked, _) = walked(&plan(51_000, false), &plan(50_000, false));
        // What leads to the cellar and from it.
        assert_eq!((walked.other_plan, walked.lessons.legs()), (18, 9));
        assert!(walked.lessons.pairs.contains_key(&(0, 1)));
    }

    #[test]
    fn a_way_that_was_changed_makes_its_old_legs_void() {
        let (walked, _) = walked(&plan(51_000, false), &plan(51_000, true));
        // The door lies between hall and the other two; those are still on one side of it.
        assert_eq!((walked.other_plan, walked.lessons.legs()), (18, 9));
        assert!(walked.lessons.pairs.contains_key(&(1, 2)));
    }

    #[test]
    fn a_plan_that_was_a_list_then_had_its_stops_at_the_same_places() {
        let list = Plan::simple("Gannet Hotel", &["Hall", "Kitchen", "Cellar"], 1800);
        let (walked, _) = walked(&plan(51_000, false), &list);
        assert_eq!((walked.other_plan, walked.lessons.legs()), (0, 18));
    }

    /// The demo's building site told as a night: its route reckons 120 s from the quay side to the hoist hall, 260 s on to
    /// the roof and 240 s back; looks are reckoned at 30 s. From the quay side to the hoist hall Ana took 180 s each time.
    /// Twice she rested for 25 minutes without ending the round, which moves the last tenth and nothing else.
    #[test]
    fn predicted_and_recorded_legs_of_the_demo_s_building_site() {
        let night = include_str!("../../../fixtures/nights/gannet-quay.night");
        let record = night::tell(night).unwrap_or_else(|fault| panic!("{fault}"));
        let watch = record.folded();
        let state = watch.about(record.end_ms);
        let (legs, route) = (watch.legs(&state), &state.routes[0].set);
        let stops: Vec<&str> = route.stops.iter().map(|stop| stop.as_str()).collect();
        let n = stops.len();
        let walks = planner::Walks::from_fn(n, |a, b| {
            let leg_ms = |to: usize| i64::from(route.legs_s[to]) * 1000;
            if (a + 1) % n == b { leg_ms(b) } else { leg_ms(a) }
        });
        let demands = Demands { walks, stay_ms: vec![30_000; n], gap_ms: vec![1_800_000; n] };
        let taken: Vec<Leg> = (legs.walked.iter())
            .map(|leg| {
                let number = |stop: &str| stops.iter().position(|known| *known == stop).unwrap();
                Leg {
                    from: number(leg.from.as_str()),
                    to: number(leg.to.as_str()),
                    took_ms: leg.took_ms,
                }
            })
            .collect();
        let lessons = Lessons::of(&demands, &taken);
        let (quay, hoist) = (0, 1);
        assert_eq!(lessons.applied(&demands).walks.ms(quay, hoist), 150_000, "180 s less the look");
        let site = lessons.site.expect("a night has enough legs");
        let ours = (site.legs, site.early_permille, site.median_permille, site.late_permille);
        assert_eq!(ours, (15, 1200, 1200, 10_000), "{:?} {:?}", lessons.counts, legs.left_out);
    }

    #[test]
    fn legs_of_a_plan_that_is_not_held_do_not_count() {
        let record = night();
        let watch = record.folded();
        let legs = watch.legs(&watch.about(record.end_ms));
        let (plan, plans) = (plan(51_000, false), BTreeMap::new());
        let demands = demands_of(&plan).expect("drawn");
        let stops = ["hall", "kitchen", "cellar"];
        let asked = Asked { plan: &plan, stops: &stops, demands: &demands, drawn: Some(&demands) };
        let walked = Walked::over(asked, &[Night { legs: &legs, plans: &plans }]);
        assert_eq!((walked.other_plan, walked.lessons), (27, Lessons::default()));
    }
}
