use super::*;
use crate::effort::Go;

/// eil51 of TSPLIB (Christofides and Eilon; Reinelt, ORSA Journal on Computing 3, 1991), optimum 426.
pub(crate) const EIL51: [(i32, i32); 51] = [
    (37, 52),
    (49, 49),
    (52, 64),
    (20, 26),
    (40, 30),
    (21, 47),
    (17, 63),
    (31, 62),
    (52, 33),
    (51, 21),
    (42, 41),
    (31, 32),
    (5, 25),
    (12, 42),
    (36, 16),
    (52, 41),
    (27, 23),
    (17, 33),
    (13, 13),
    (57, 58),
    (62, 42),
    (42, 57),
    (16, 57),
    (8, 52),
    (7, 38),
    (27, 68),
    (30, 48),
    (43, 67),
    (58, 48),
    (58, 27),
    (37, 69),
    (38, 46),
    (46, 10),
    (61, 33),
    (62, 63),
    (63, 69),
    (32, 22),
    (45, 35),
    (59, 15),
    (5, 6),
    (10, 17),
    (21, 10),
    (5, 64),
    (30, 15),
    (39, 10),
    (32, 39),
    (25, 32),
    (25, 55),
    (48, 28),
    (56, 37),
    (30, 40),
];

/// berlin52 of TSPLIB (Groetschel), optimum 7542.
pub(crate) const BERLIN52: [(i32, i32); 52] = [
    (565, 575),
    (25, 185),
    (345, 750),
    (945, 685),
    (845, 655),
    (880, 660),
    (25, 230),
    (525, 1000),
    (580, 1175),
    (650, 1130),
    (1605, 620),
    (1220, 580),
    (1465, 200),
    (1530, 5),
    (845, 680),
    (725, 370),
    (145, 665),
    (415, 635),
    (510, 875),
    (560, 365),
    (300, 465),
    (520, 585),
    (480, 415),
    (835, 625),
    (975, 580),
    (1215, 245),
    (1320, 315),
    (1250, 400),
    (660, 180),
    (410, 250),
    (420, 555),
    (575, 665),
    (1150, 1160),
    (700, 580),
    (685, 595),
    (685, 610),
    (770, 610),
    (795, 645),
    (720, 635),
    (760, 650),
    (475, 960),
    (95, 260),
    (875, 920),
    (700, 500),
    (555, 815),
    (830, 485),
    (1170, 65),
    (830, 610),
    (605, 625),
    (595, 360),
    (1340, 725),
    (1740, 245),
];

/// EUC_2D of TSPLIB: the nearest whole number.
pub(crate) fn euc_2d(points: &[(i32, i32)]) -> Walks {
    Walks::from_fn(points.len(), |a, b| {
        let (dx, dy) = (f64::from(points[a].0 - points[b].0), f64::from(points[a].1 - points[b].1));
        ((dx * dx + dy * dy).sqrt() + 0.5).floor() as i64
    })
}

fn within(walks: &Walks, seed: u64, steps: u64) -> Tour {
    tour(walks, &mut Effort::new(seed, steps, &mut |_| Go::On))
}

#[test]
fn published_optima_are_reached() {
    for (points, optimum) in [(&EIL51[..], 426), (&BERLIN52[..], 7542)] {
        let walks = euc_2d(points);
        let found = within(&walks, 1, 20_000);
        assert_eq!(found.length, optimum);
        let mut sorted = found.order.clone();
        sorted.sort_unstable();
        assert_eq!(sorted, (0..points.len()).collect::<Vec<_>>());
        let bound = tour_bound(&walks, found.length, 300);
        assert!(bound <= optimum && bound * 100 >= optimum * 98, "{bound} of {optimum}");
    }
}

#[test]
fn berlin52_is_proved_optimal_by_its_bound() {
    // The Held-Karp gap of berlin52 is known to be zero.
    assert_eq!(tour_bound(&euc_2d(&BERLIN52), 7542, 2000), 7542);
}

#[test]
fn equal_steps_give_equal_tours() {
    let walks = euc_2d(&EIL51);
    assert_eq!(within(&walks, 9, 500), within(&walks, 9, 500));
}

#[test]
fn brute_force_agrees_on_small_tables_with_ways_back_that_differ() {
    let mut random = Random::new(3);
    for n in 3..=7 {
        for _ in 0..20 {
            let walks = Walks::from_fn(n, |_, _| random.below(100) as i64 + 1);
            let found = tour(&walks, &mut Effort::new(1, 10, &mut |_| Go::On));
            assert_eq!(found.length, brute(&walks));
            assert!(tour_bound(&walks, found.length, 50) <= found.length);
        }
    }
}

#[test]
fn one_way_tours_match_the_exact_table() {
    // The search for larger directed tables, held against the exact one on tables that both can do.
    let mut random = Random::new(5);
    for _ in 0..10 {
        let walks = Walks::from_fn(10, |_, _| random.below(1000) as i64 + 1);
        let exact = closed_length(&walks, &exact::shortest(&walks));
        let searched =
            closed_length(&walks, &directed(&walks, &mut Effort::new(1, 3000, &mut |_| Go::On)));
        assert_eq!(searched, exact);
    }
}

#[test]
fn a_watcher_can_stop_the_search() {
    let walks = euc_2d(&EIL51);
    let mut looks = 0;
    let mut watcher = |_| {
        looks += 1;
        Go::Stop
    };
    let found = tour(&walks, &mut Effort::new(1, u64::MAX, &mut watcher));
    assert_eq!(looks, 1);
    assert_eq!(found.order.len(), 51);
}

fn brute(walks: &Walks) -> i64 {
    fn go(walks: &Walks, path: &mut Vec<usize>, best: &mut i64) {
        if path.len() == walks.len() {
            *best = (*best).min(length(walks, path));
            return;
        }
        for b in 1..walks.len() {
            if !path.contains(&b) {
                path.push(b);
                go(walks, path, best);
                path.pop();
            }
        }
    }
    let mut best = i64::MAX;
    go(walks, &mut vec![0], &mut best);
    best
}
