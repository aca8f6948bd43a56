use super::*;
use crate::check::{Raw, check};
use crate::effort::{Effort, Go};
use crate::random::Random;
use crate::timetable::timetable;
use crate::tour::tests::{BERLIN52, EIL51};

fn plan_of(demands: &Demands, steps: u64) -> Fewest {
    let found =
        fewest(demands, &mut Effort::new(1, steps, &mut |_| Go::On)).expect("it can be kept");
    assert!(found.bound.guards <= found.plan.guards());
    assert_kept(demands, &found.plan);
    found
}

fn assert_kept(demands: &Demands, plan: &Plan) {
    let n = demands.walks.len();
    let walk_ms: Vec<i64> = (0..n * n).map(|e| demands.walks.ms(e / n, e % n)).collect();
    let raw =
        Raw { walk_ms: &walk_ms, stay_ms: &demands.stay_ms, gap_ms: &demands.gap_ms, may: &[] };
    let until = 4 * demands.gap_ms.iter().max().unwrap();
    let looks = timetable(demands, plan, until);
    assert_eq!(looks.len(), plan.guards());
    assert_eq!(check(&raw, &looks, until), []);
}

/// TSPLIB points times a scale in metres, walked straight at 1.2 m/s, 20 s a look; every fifth stop
/// `often_s`, the others `gap_s`.
fn published(points: &[(i32, i32)], scale: f64, often_s: i64, gap_s: i64) -> Demands {
    let n = points.len();
    let walks = Walks::from_fn(n, |a, b| {
        let (dx, dy) = (f64::from(points[a].0 - points[b].0), f64::from(points[a].1 - points[b].1));
        ((dx * dx + dy * dy).sqrt() * scale / 1.2 * 1000.0).ceil() as i64
    });
    let gap_ms = (0..n).map(|i| 1000 * if i % 5 == 0 { often_s } else { gap_s }).collect();
    Demands { walks: walks.closed(), stay_ms: vec![20_000; n], gap_ms }
}

#[test]
fn two_classes_of_gap_on_published_points() {
    // A plain heuristic (tours split, one team for each class) needs 2 and 4 guards here.
    let eil = plan_of(&published(&EIL51, 2.0, 600, 1800), 40_000);
    assert_eq!((eil.plan.guards(), eil.bound.guards), (2, 2));
    let berlin = plan_of(&published(&BERLIN52, 0.2, 600, 1800), 60_000);
    assert!(berlin.plan.guards() <= 3 && berlin.bound.guards >= 2, "{berlin:?}");
}

#[test]
fn laps_keep_what_a_team_for_each_gap_cannot() {
    // A team for each class of gap needs four here: its rounds alone take 1,200 s and more (the case above).
    let demands = published(&BERLIN52, 0.2, 600, 1800);
    let mut on = |_| Go::On;
    let plan = laps::search(&demands, 3, &mut Effort::new(1, 100_000, &mut on)).expect("three do");
    assert_eq!((plan.guards(), plan.class()), (3, Class::NestedRounds));
    assert_kept(&demands, &plan);
    let again = laps::search(&demands, 3, &mut Effort::new(1, 100_000, &mut on));
    assert_eq!(again, Some(plan), "equal steps, equal plan");
}

#[test]
fn laps_take_gaps_that_do_not_divide_each_other_and_of_three_kinds() {
    let mut demands = published(&EIL51, 2.0, 700, 1800);
    (0..51).filter(|i| i % 7 == 3).for_each(|i| demands.gap_ms[i] = 3_600_000);
    let mut on = |_| Go::On;
    let plan = laps::search(&demands, 2, &mut Effort::new(3, 100_000, &mut on)).expect("two do");
    assert_kept(&demands, &plan);
}

#[test]
fn one_gap_is_met_and_proved() {
    let short = plan_of(&published(&BERLIN52, 0.2, 600, 600), 40_000);
    assert_eq!((short.plan.guards(), short.bound.guards), (4, 4));
    let long = plan_of(&published(&BERLIN52, 0.2, 1800, 1800), 40_000);
    assert_eq!((long.plan.guards(), long.bound.guards), (2, 2));
}

/// Stops along one walk through the whole building that ends where it begins.
fn along_one_walk(stops: usize, walking_ms: i64, stay_ms: i64, gap_ms: i64) -> Demands {
    let walks = Walks::from_fn(stops, |a, b| {
        (b as i64 - a as i64).rem_euclid(stops as i64) * walking_ms / stops as i64
    });
    Demands { walks: walks.closed(), stay_ms: vec![stay_ms; stops], gap_ms: vec![gap_ms; stops] }
}

#[test]
fn a_round_that_takes_21_minutes_keeps_30_and_fails_15() {
    // Five floors of 150 m and four storeys walk in 659.9 s; 20 looks of 30 s make 1,259.9 s = 21.0 min
    // (derived from the level and stair speeds of Nelson and Mowrer, SFPE Handbook).
    for (gap_min, guards) in [(30, 1), (60, 1), (15, 2)] {
        let demands = along_one_walk(20, 659_900, 30_000, gap_min * 60_000);
        let found = plan_of(&demands, 20_000);
        assert_eq!((found.plan.guards(), found.bound.guards), (guards, guards), "at {gap_min} min");
        let round = round_length(&demands.walks, &demands.stay_ms, &found.plan.teams[0].round);
        assert_eq!(round, 1_259_900);
    }
}

#[test]
fn a_share_of_85_percent_gives_the_numbers_of_the_usual_sum() {
    // Guards = round time / (gap x 0.85), rounded up (common practice). Twenty floors of 90 m at 1 m/s, 20 s for each
    // flight, four looks of 10 s a floor and 120 s of writing: 52 min, so 5 / 3 / 2 at 15 / 30 / 60 min.
    // Six floors of 120 m with eight looks each: 24 min, so 2 / 1 at 15 / 30 min.
    let twenty = 20 * 90_000 + 19 * 20_000 + 120_000;
    let six = 6 * 120_000 + 5 * 20_000 + 120_000;
    for (stops, walking, gap_min, guards) in [
        (80, twenty, 15, 5),
        (80, twenty, 30, 3),
        (80, twenty, 60, 2),
        (48, six, 15, 2),
        (48, six, 30, 1),
    ] {
        let demands = along_one_walk(stops, walking, 10_000, gap_min * 60_000 * 85 / 100);
        assert_eq!(
            plan_of(&demands, 10_000).plan.guards(),
            guards,
            "{stops} stops at {gap_min} min"
        );
    }
}

#[test]
fn bounds_never_exceed_what_brute_force_finds() {
    // On three stops every closed sequence of up to six looks by one guard is tried.
    let mut random = Random::new(2);
    for _ in 0..60 {
        let walks = Walks::from_fn(3, |a, b| 5 + 7 * (a * b) as i64 + (a + b) as i64).closed();
        let demands = Demands {
            walks,
            stay_ms: (0..3).map(|_| 1 + random.below(8) as i64).collect(),
            gap_ms: (0..3).map(|_| 30 + random.below(60) as i64).collect(),
        };
        if one_guard_can(&demands) {
            assert_eq!(guards_at_least(&demands).guards, 1, "{demands:?}");
        }
    }
}

fn one_guard_can(demands: &Demands) -> bool {
    (3..=6u32).any(|len| {
        (0..3usize.pow(len)).any(|code| {
            let round: Vec<usize> = (0..len).map(|i| code / 3usize.pow(i) % 3).collect();
            let mut ends = Vec::new();
            let mut at = 0;
            for lap in 0..2 {
                for (i, &stop) in round.iter().enumerate() {
                    let before = round[(i + round.len() - 1) % round.len()];
                    if lap > 0 || i > 0 {
                        at += demands.walks.ms(before, stop);
                    }
                    at += demands.stay_ms[stop];
                    ends.push((stop, at));
                }
            }
            (0..3).all(|s| {
                let times: Vec<i64> = ends.iter().filter(|e| e.0 == s).map(|e| e.1).collect();
                times.len() >= 2 && times.windows(2).all(|w| w[1] - w[0] <= demands.gap_ms[s])
            })
        })
    })
}

#[test]
fn a_look_longer_than_its_gap_has_no_plan() {
    let demands =
        Demands { walks: Walks::from_fn(1, |_, _| 0), stay_ms: vec![61_000], gap_ms: vec![60_000] };
    assert_eq!(fewest(&demands, &mut Effort::new(1, 10, &mut |_| Go::On)), None);
}

#[test]
fn far_apart_pairs_need_a_guard_each() {
    let walks = Walks::from_fn(6, |a, b| if a / 2 == b / 2 { 1000 } else { 900_000 });
    let demands = Demands { walks, stay_ms: vec![1000; 6], gap_ms: vec![600_000; 6] };
    let found = plan_of(&demands, 10_000);
    assert_eq!((found.plan.guards(), found.bound.guards), (3, 3));
    assert!(matches!(found.bound.because, Reason::Clique { .. }), "{:?}", found.bound);
}

/// Passing the middle between any two arms keeps it each 350 s; a round that passes it once leaves it 950 s or more
/// (worked by hand).
#[test]
fn a_nested_round_does_with_one_guard_what_plain_rounds_cannot() {
    // An often stop in the middle of three arms of 250 s there and back, each with a stop at its end; 50 s a look.
    let walks = Walks::from_fn(4, |a, b| if a == 0 || b == 0 { 125_000 } else { 250_000 });
    let demands = Demands {
        walks,
        stay_ms: vec![50_000; 4],
        gap_ms: vec![400_000, 1_100_000, 1_100_000, 1_100_000],
    };
    let found = plan_of(&demands, 60_000);
    assert_eq!((found.plan.guards(), found.plan.class()), (1, Class::NestedRounds));
    // Three arms of 250 s, three looks at their ends and three in the middle: 1,050 s, the middle each 350 s.
    assert_eq!(found.plan.spacing_ms(&demands, 0), 1_050_000);
    assert_eq!(found.plan.gaps_ms(&demands, 0)[0], (0, 350_000));
}

#[test]
fn a_standing_watch_takes_a_guard_of_its_own() {
    let mut demands = along_one_walk(20, 659_900, 30_000, 30 * 60_000);
    demands.stay_ms[4] = STANDING_MS;
    demands.gap_ms[4] = STANDING_MS;
    let found = plan_of(&demands, 20_000);
    assert_eq!((found.plan.guards(), found.bound.guards), (2, 2));
    assert!(found.plan.teams.contains(&Team { guards: 1, round: vec![4] }));
    assert_eq!(found.plan.longest_gap_ms(&demands), 1_229_900);
}

#[test]
fn guards_go_only_where_they_may() {
    let demands = along_one_walk(6, 60_000, 10_000, 10 * 60_000);
    let may = vec![vec![true, true, false, false, false, false]];
    let plan = with_guards_who(&demands, 2, &may, &mut Effort::new(1, 20_000, &mut |_| Go::On))
        .expect("the other goes everywhere");
    assert!(plan.teams[0].round.iter().all(|&stop| stop < 2), "{plan:?}");
    let alone = with_guards_who(&demands, 1, &may, &mut Effort::new(1, 2_000, &mut |_| Go::On));
    assert_eq!(alone, None);
}
