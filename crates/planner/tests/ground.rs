//! Plans turned into questions: two rooms of 8 m × 6 m and 4 m × 6 m with a door of 1 m between them.

use floorplan::{Floors, Plan, Times};
use planner::answer::{Answer, Conflict, Question, answer};
use planner::ground::{Ground, Kind, Seen, Stations, Wish};
use planner::{Demands, Effort, Go, Team};

const TIMES: Times = Times {
    level_mm_s: 1190,
    stair_mm_s: 918,
    slope_permille: 1863,
    door_s: 3,
    key_s: 12,
    lift_s: 45,
    inspect_s: 30,
};

fn plan(leaf: &str, stops: &str) -> Plan {
    let text = format!(
        r#"{{"version":1,"name":"Gannet Quay","levels":[{{"id":"g","name":"Ground","elevation_mm":0}}],
        "zones":[{{"id":"a","name":"Hall","gap_s":600}},{{"id":"b","name":"Store","gap_s":1800}}],
        "stops":[{stops}],
        "rooms":[{{"id":"ra","name":"Hall","level":"g","zone":"a","shape":[[[0,0],[8000,0],[8000,6000],[0,6000]]]}},
                 {{"id":"rb","name":"Store","level":"g","zone":"b","shape":[[[8000,0],[12000,0],[12000,6000],[8000,6000]]]}}],
        "openings":[{{"id":"d","level":"g","leaf":"{leaf}","line":[[8000,1000],[8000,2000]]}}]}}"#
    );
    Plan::read(text.as_bytes()).expect("a plan")
}

const HALL: &str = r#"{"id":"s1","name":"Hoist","zone":"a","level":"g","at":[4000,1500]}"#;
const BOTH: &str = r#"{"id":"s1","name":"Hoist","zone":"a","level":"g","at":[4000,1500]},
    {"id":"s2","name":"Rack","zone":"b","level":"g","at":[10000,1500],"inspect_s":20}"#;

fn wish(viewpoints: bool) -> Wish<'static> {
    Wish { gap_ms: None, named: &[], viewpoints, look_ms: 5000, sight_mm: 12_000.0 }
}

fn on<T>(plan: &Plan, keys: bool, then: impl FnOnce(&Ground<'_>) -> T) -> T {
    let floors = Floors::new(plan);
    then(&Ground::new(plan, &floors, TIMES, keys))
}

fn stations(ground: &Ground<'_>, viewpoints: bool) -> Stations {
    ground
        .stations(&wish(viewpoints), &mut Effort::new(1, 4000, &mut |_| Go::On))
        .expect("a question")
}

fn asked(demands: &Demands) -> Answer {
    let question =
        Question { demands, from: None, guards: None, share_permille: 850, may: &[], zones: &[] };
    answer(&question, &mut Effort::new(1, 5000, &mut |_| Go::On))
}

fn seen(ground: &Ground<'_>, stations: &Stations, round: &[usize]) -> Seen {
    let spots: Vec<_> = stations.list.iter().map(|s| s.spot.clone()).collect();
    let plan = planner::Plan { teams: vec![Team { guards: 1, round: round.to_vec() }] };
    ground.seen(12_000.0, &ground.legs(&spots, &plan)).expect("there is floor")
}

/// 6 m at 1.19 m/s are 5.0421 s, and 3 s a door, 12 s more with a key: 8.043 s and 20.043 s (worked by hand).
#[test]
fn walks_pay_for_doors_and_keys() {
    for (leaf, ms) in [("gap", 5043), ("door", 8043), ("locked", 20_043)] {
        let plan = plan(leaf, BOTH);
        let walks = on(&plan, true, |ground| stations(ground, false).demands.walks);
        assert_eq!((walks.ms(0, 1), walks.ms(1, 0)), (ms, ms), "{leaf}");
    }
}

#[test]
fn stops_carry_their_zone_gap_and_their_own_look() {
    let plan = plan("door", BOTH);
    let demands = on(&plan, true, |ground| stations(ground, false).demands);
    assert_eq!(demands.gap_ms, [600_000, 1_800_000]);
    assert_eq!(demands.stay_ms, [30_000, 20_000]);
}

#[test]
fn a_locked_door_without_a_key_and_a_door_without_a_way_back_cut_off() {
    for (leaf, keys) in [("locked", false), ("one-way", true)] {
        let plan = plan(leaf, BOTH);
        let demands = on(&plan, keys, |ground| stations(ground, false).demands);
        let cut = Answer::Contradiction(vec![Conflict::Unreachable { stop: 1 }]);
        assert_eq!(asked(&demands), cut, "{leaf}");
    }
}

/// From the middle of the open door both rooms are seen whole: the farthest corner is 9.2 m away.
#[test]
fn a_plan_without_stops_gets_viewpoints_that_see_it_all() {
    let plan = plan("door", "");
    on(&plan, true, |ground| {
        let stations = stations(ground, false);
        assert_eq!(stations.list.len(), 1, "{:?}", stations.list);
        assert_eq!(stations.list[0].kind, Kind::Viewpoint);
        assert_eq!(stations.list[0].name, "Hall / Store");
        // It shows the hall, so it is owed a look as often as the hall.
        assert_eq!(stations.demands.gap_ms, [600_000]);
        assert_eq!(seen(ground, &stations, &[0]).unseen_mm2, 0.0);
    });
}

/// Of 72 m² a stop in the hall shows the hall's 48; the closed door hides the rest, and going through shows it.
#[test]
fn what_a_closed_door_hides_counts_as_unseen() {
    let plan = plan("door", BOTH);
    on(&plan, true, |ground| {
        let stations = stations(ground, false);
        let one = seen(ground, &stations, &[0]);
        assert!(
            (one.floor_mm2 - 72e6).abs() < 1.0 && (one.unseen_mm2 - 24e6).abs() < 1.0,
            "{one:?}"
        );
        assert_eq!(seen(ground, &stations, &[0, 1]).unseen_mm2, 0.0);
    });
}

#[test]
fn viewpoints_are_added_only_for_what_the_stops_do_not_show() {
    let hall_only = plan("door", HALL);
    on(&hall_only, true, |ground| {
        let stations = stations(ground, true);
        assert_eq!(stations.list.len(), 2, "{:?}", stations.list);
        assert_eq!(stations.demands.gap_ms, [600_000, 1_800_000]);
        assert_eq!(seen(ground, &stations, &[0, 1]).unseen_mm2, 0.0);
    });
}

/// The way from room to room leads through the middle of the door and nowhere else through the wall at x = 8 m.
#[test]
fn no_leg_passes_a_wall() {
    let plan = plan("door", BOTH);
    on(&plan, true, |ground| {
        let stations = stations(ground, false);
        let spots: Vec<_> = stations.list.iter().map(|s| s.spot.clone()).collect();
        let trail = ground.trail(&spots, (0, 1)).expect("a way");
        let crossings: Vec<_> = trail
            .steps
            .windows(2)
            .filter(|pair| (pair[0].inside.x < 8000.0) != (pair[1].inside.x < 8000.0))
            .collect();
        assert_eq!(crossings.len(), 1);
        assert!(crossings[0].iter().any(|step| step.door && step.at.y == 1500.0), "{crossings:?}");
    });
}

#[test]
fn faults_say_what_to_do() {
    let plan = plan("door", r#"{"id":"s1","name":"Hoist","zone":"a"}"#);
    let fault = on(&plan, true, |ground| {
        ground.stations(&wish(false), &mut Effort::new(1, 10, &mut |_| Go::On)).unwrap_err()
    });
    assert!(
        fault.to_string().contains("Hoist")
            && fault.to_string().contains("put them on their level")
    );
}
