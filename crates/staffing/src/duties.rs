//! What must be held: the shifts of each post with their overlaps, and the breaks that somebody else covers.

use crate::facts::Facts;
use crate::rules::Rules;

/// One stretch at one post, to be given to one person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Duty {
    /// The post, by number.
    pub post: usize,
    /// From, in minutes since 1970 UTC.
    pub from_min: i64,
    /// To.
    pub to_min: i64,
    /// The break of the guard who holds the shift, covered by a break duty; none when the shift is short.
    pub pause: Option<(i64, i64)>,
    /// This duty covers somebody's break.
    pub covers_break: bool,
}

impl Duty {
    /// How long it is, in minutes.
    pub fn length(&self) -> i64 {
        self.to_min - self.from_min
    }
}

/// Why a watch cannot be cut into shifts.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DutyFault {
    /// The longest shift leaves nothing beside its overlaps.
    #[error("a shift of {0} min leaves no time beside the overlap: lengthen the shift")]
    TooShort(i64),
    /// The wished shift is longer than the rules allow.
    #[error("a shift of {wished} min is longer than the {longest} min that the rules allow: write shift_h = {}", *longest as f64 / 60.0)]
    TooLong {
        /// Wished.
        wished: i64,
        /// Allowed.
        longest: i64,
    },
}

/// Cuts the watch into shifts of equal length, as few as fit, each but the first beginning `overlap` before the one before
/// it ends; breaks fall one after the other around the middle of the shift.
pub fn duties(
    facts: &Facts,
    rules: &Rules,
    shift_min: Option<i64>,
) -> Result<Vec<Duty>, DutyFault> {
    let longest = rules.shift_longest;
    let shift = shift_min.or(facts.shift_min).unwrap_or(longest);
    if shift > longest {
        return Err(DutyFault::TooLong { wished: shift, longest });
    }
    if shift <= rules.overlap {
        return Err(DutyFault::TooShort(shift));
    }
    let whole = facts.to_min - facts.from_min;
    let beside = shift - rules.overlap;
    let count = if whole <= shift { 1 } else { (whole + beside - 1) / beside };
    let edge = |k: i64| facts.from_min + whole * k / count;
    let mut duties = Vec::new();
    for post in 0..facts.posts.len() {
        for k in 0..count {
            let from_min = edge(k) - if k > 0 { rules.overlap } else { 0 };
            let to_min = edge(k + 1);
            let pause = pause(rules, (from_min, to_min), post, facts.posts.len());
            duties.push(Duty { post, from_min, to_min, pause, covers_break: false });
            if let Some((from_min, to_min)) = pause {
                duties.push(Duty { post, from_min, to_min, pause: None, covers_break: true });
            }
        }
    }
    duties.sort_by_key(|d| (d.from_min, d.post, d.covers_break));
    Ok(duties)
}

/// A shift longer than may be worked without a break has one around its middle; those of the posts follow each other.
fn pause(rules: &Rules, shift: (i64, i64), post: usize, posts: usize) -> Option<(i64, i64)> {
    let length = shift.1 - shift.0;
    if length <= rules.break_after || rules.break_length == 0 {
        return None;
    }
    // As many breaks one after the other as leave no stretch of work too long; further ones begin again.
    let room = (2 * (rules.break_after + rules.break_length) - length).max(0) / rules.break_length;
    let turns = room.clamp(1, posts as i64);
    let turn = post as i64 % turns;
    let from = (shift.0 + shift.1 - turns * rules.break_length) / 2 + turn * rules.break_length;
    Some((from, from + rules.break_length))
}
