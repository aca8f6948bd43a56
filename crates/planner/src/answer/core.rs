//! The smallest set of stops whose demands alone contradict the guards given.

use crate::gaps::{Demands, guards_at_least};

/// Proofs tried at most.
const PROOFS_MAX: usize = 120;
/// Above this many stops a proof takes too long to be tried again and again.
const STOPS_MAX: usize = 250;

/// Stops that need more than `guards` guards by proof, none of which could be left out; all that are left when the
/// proofs allowed are used up, none when nothing is proved.
pub(super) fn core(demands: &Demands, guards: usize) -> Vec<usize> {
    let n = demands.walks.len();
    let mut left = PROOFS_MAX;
    let mut proved = |stops: &[usize]| {
        if left == 0 {
            return false;
        }
        left -= 1;
        guards_at_least(&only(demands, stops)).guards > guards
    };
    let mut kept: Vec<usize> = (0..n).collect();
    if n > STOPS_MAX || !proved(&kept) {
        return Vec::new();
    }
    // Pieces of the set are left out, larger ones first (A. Zeller and R. Hildebrandt, 2002).
    let mut piece = n.div_ceil(2);
    loop {
        let mut from = 0;
        while from < kept.len() {
            let to = (from + piece).min(kept.len());
            let fewer: Vec<usize> = kept[..from].iter().chain(&kept[to..]).copied().collect();
            if !fewer.is_empty() && proved(&fewer) {
                kept = fewer;
            } else {
                from = to;
            }
        }
        if piece == 1 {
            return kept;
        }
        piece = piece.div_ceil(2);
    }
}

/// The demands of some of the stops.
pub fn only(demands: &Demands, stops: &[usize]) -> Demands {
    Demands {
        walks: demands.walks.only(stops),
        stay_ms: stops.iter().map(|&s| demands.stay_ms[s]).collect(),
        gap_ms: stops.iter().map(|&s| demands.gap_ms[s]).collect(),
    }
}
