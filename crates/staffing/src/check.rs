//! Re-verifies a roster from the facts and the rules. It shares no code with what made it.

use crate::assign::Roster;
use crate::facts::Facts;
use crate::rules::Rules;
use std::collections::BTreeMap;

/// What is wrong with a roster.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Broken {
    /// A post is without a guard.
    Uncovered {
        /// The post, by number.
        post: usize,
        /// From when, in minutes since 1970 UTC.
        from_min: i64,
        /// To when.
        to_min: i64,
    },
    /// Guards change without being there together.
    NoOverlap {
        /// The post.
        post: usize,
        /// When.
        at_min: i64,
    },
    /// Somebody is in two places.
    Twice {
        /// Who, by number.
        person: usize,
        /// When.
        at_min: i64,
    },
    /// A stretch on duty is too long.
    Stretch {
        /// Who.
        person: usize,
        /// From when.
        from_min: i64,
        /// How long.
        lasts_min: i64,
    },
    /// A rest is too short.
    Rest {
        /// Who.
        person: usize,
        /// From when.
        from_min: i64,
        /// How long.
        lasts_min: i64,
    },
    /// Seven days hold too much work.
    Week {
        /// Who.
        person: usize,
        /// From when.
        from_min: i64,
        /// How much.
        worked_min: i64,
    },
    /// Work without a break for too long.
    NoBreak {
        /// Who.
        person: usize,
        /// From when.
        from_min: i64,
    },
    /// Somebody works who cannot come.
    Away {
        /// Who.
        person: usize,
        /// When.
        at_min: i64,
    },
}

/// Everything wrong with a roster; empty when it holds.
pub fn check(facts: &Facts, rules: &Rules, roster: &Roster) -> Vec<Broken> {
    let mut broken = Vec::new();
    covered(facts, rules, roster, &mut broken);
    for person in 0..roster.people.len() {
        of_person(rules, roster, person, &mut broken);
    }
    broken
}

/// Goes through every minute of every post.
fn covered(facts: &Facts, rules: &Rules, roster: &Roster, broken: &mut Vec<Broken>) {
    for post in 0..facts.posts.len() {
        let own = || roster.duties.iter().filter(move |d| d.post == post);
        let there = |minute: i64| {
            own()
                .filter(|d| d.from_min <= minute && minute < d.to_min)
                .filter(|d| d.pause.is_none_or(|p| !(p.0 <= minute && minute < p.1)))
                .count()
        };
        let mut empty_since = None;
        for minute in facts.from_min..=facts.to_min {
            let empty = minute < facts.to_min && there(minute) == 0;
            match (empty, empty_since) {
                (true, None) => empty_since = Some(minute),
                (false, Some(from_min)) => {
                    broken.push(Broken::Uncovered { post, from_min, to_min: minute });
                    empty_since = None;
                }
                _ => {}
            }
        }
        for shift in own().filter(|d| !d.covers_break && d.to_min < facts.to_min) {
            let relieved = (shift.to_min - rules.overlap..shift.to_min).all(|m| there(m) >= 2);
            if !relieved {
                broken.push(Broken::NoOverlap { post, at_min: shift.to_min });
            }
        }
    }
}

fn of_person(rules: &Rules, roster: &Roster, person: usize, broken: &mut Vec<Broken>) {
    // Minute by minute, so that nothing is shared with how the roster was reasoned about.
    let mut busy: BTreeMap<i64, bool> = BTreeMap::new();
    let mine: Vec<_> = (0..roster.duties.len()).filter(|&d| roster.who[d] == person).collect();
    for &d in &mine {
        let duty = &roster.duties[d];
        for minute in duty.from_min..duty.to_min {
            let resting = duty.pause.is_some_and(|p| p.0 <= minute && minute < p.1);
            if busy.insert(minute, !resting).is_some() {
                broken.push(Broken::Twice { person, at_min: minute });
                return;
            }
            let away = roster.people[person].away.iter();
            if away.clone().any(|(from, to)| *from <= minute && minute < *to) {
                broken.push(Broken::Away { person, at_min: minute });
                return;
            }
        }
    }
    let minutes: Vec<(i64, bool)> = busy.into_iter().collect();
    let (mut begun, mut worked_since, mut last) = (None, None, None);
    for &(minute, working) in &minutes {
        let idle = last.map_or(i64::MAX, |l: i64| minute - l - 1);
        if idle >= rules.rest_shortest {
            begun = Some(minute);
        } else if idle > 0 && begun.is_some_and(|b: i64| minute - b >= rules.shift_longest) {
            broken.push(Broken::Rest { person, from_min: minute - idle, lasts_min: idle });
        }
        if idle >= rules.break_length || !working {
            worked_since = None;
        }
        if working {
            let since = *worked_since.get_or_insert(minute);
            if minute - since + 1 == rules.break_after + 1 {
                broken.push(Broken::NoBreak { person, from_min: since });
            }
        }
        if let Some(from_min) = begun.filter(|b| minute - b + 1 == rules.shift_longest + 1) {
            let lasts_min = minute - from_min + 1;
            broken.push(Broken::Stretch { person, from_min, lasts_min });
        }
        last = Some(minute);
    }
    for &d in &mine {
        let from_min = roster.duties[d].from_min;
        let worked_min =
            minutes.iter().filter(|m| (from_min..from_min + 7 * 1440).contains(&m.0)).count()
                as i64;
        if worked_min > rules.week_longest {
            broken.push(Broken::Week { person, from_min, worked_min });
        }
    }
}
