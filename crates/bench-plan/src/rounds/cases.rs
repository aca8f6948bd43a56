//! The cases, with the best values known and where they come from.

/// TSPLIB instances with their optima (G. Reinelt, TSPLIB).
pub(super) const TOURS: &[(&str, i64)] = &[
    ("eil51.tsp", 426),
    ("berlin52.tsp", 7542),
    ("eil76.tsp", 538),
    ("rat99.tsp", 1211),
    ("kroA100.tsp", 21282),
    ("eil101.tsp", 629),
    ("kroA200.tsp", 29368),
    ("pcb442.tsp", 50778),
];

/// Instance, tours, best value known to us: LKH-3 for the TSPLIB files; P. He, J.-K. Hao and J. Xia, Computers and Operations
/// Research 185 (2026), or better, for the mTSP files.
pub(super) const SHARES: &[(&str, usize, f64)] = &[
    ("eil51.tsp", 3, 159.57),
    ("eil51.tsp", 5, 118.13),
    ("berlin52.tsp", 3, 3069.59),
    ("eil76.tsp", 2, 280.85),
    ("eil76.tsp", 3, 195.72),
    ("eil76.tsp", 5, 142.88),
    ("rat99.tsp", 2, 665.99),
    ("rat99.tsp", 5, 450.34),
    ("rat99.tsp", 7, 437.14),
    ("kroA100.tsp", 3, 8040.77),
    ("kroa200_3.txt", 3, 10691.03),
    ("kroa200_5.txt", 5, 7412.12),
];

/// Instance, metres a unit, the two gaps in seconds, guards found by a tour split with a team for each class.
pub(super) const GAPS: &[(&str, f64, i64, i64, usize)] = &[
    ("eil51.tsp", 2.0, 600, 1800, 2),
    ("eil51.tsp", 2.0, 600, 600, 4),
    ("eil51.tsp", 2.0, 1800, 1800, 1),
    ("berlin52.tsp", 0.2, 600, 1800, 4),
    ("berlin52.tsp", 0.2, 600, 600, 5),
    ("berlin52.tsp", 0.2, 1800, 1800, 2),
    ("eil76.tsp", 3.0, 600, 1800, 4),
    ("eil76.tsp", 3.0, 600, 600, 6),
    ("eil76.tsp", 3.0, 1800, 1800, 2),
    ("rat99.tsp", 1.5, 600, 1800, 5),
    ("rat99.tsp", 1.5, 600, 600, 7),
    ("rat99.tsp", 1.5, 1800, 1800, 2),
    ("kroA100.tsp", 0.1, 600, 1800, 5),
    ("kroA100.tsp", 0.1, 600, 600, 8),
    ("kroA100.tsp", 0.1, 1800, 1800, 3),
];
