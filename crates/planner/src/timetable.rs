//! Who ends which look when: a plan written out over a stretch of time.

use crate::gaps::{Demands, Plan};
use crate::share::round_length;

/// The end of one look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    /// The stop looked at.
    pub stop: usize,
    /// When the look ends, in milliseconds after the watch opens.
    pub end_ms: i64,
}

/// The looks of every guard, in the order of the teams, from the opening to `until_ms`.
///
/// Each guard stands at the place of the first look when the watch opens, those of a team spread
/// evenly over its round; a look that began just before the opening counts when it ends after it.
pub fn timetable(demands: &Demands, plan: &Plan, until_ms: i64) -> Vec<Vec<Look>> {
    let mut guards = Vec::with_capacity(plan.guards());
    for (t, team) in plan.teams.iter().enumerate() {
        let period = round_length(&demands.walks, &demands.stay_ms, &team.round).max(1);
        let spacing = plan.spacing_ms(demands, t);
        let mut ends = Vec::with_capacity(team.round.len());
        let mut at = 0;
        for (i, &stop) in team.round.iter().enumerate() {
            at += demands.stay_ms[stop];
            ends.push(Look { stop, end_ms: at });
            at += demands.walks.ms(stop, team.round[(i + 1) % team.round.len()]);
        }
        for g in 0..team.guards as i64 {
            guards.push(looks(&ends, period, g * spacing, until_ms));
        }
    }
    guards
}

fn looks(ends: &[Look], period: i64, ahead: i64, until_ms: i64) -> Vec<Look> {
    let mut out = Vec::new();
    if ends.is_empty() {
        return out;
    }
    let mut round = 0;
    loop {
        for look in ends {
            let end_ms = look.end_ms + round * period - ahead;
            if end_ms > until_ms {
                return out;
            }
            if end_ms > 0 {
                out.push(Look { stop: look.stop, end_ms });
            }
        }
        round += 1;
    }
}
