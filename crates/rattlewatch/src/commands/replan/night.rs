//! The night as it is now: what the options say of guards, zones and stops, and what is assumed where they are silent.

use super::Args;
use crate::commands::rounds::Rounds;
use anyhow::{Context, bail, ensure};
use planner::Effort;
use planner::gaps::STANDING_MS;
use planner::replan::{At, Change, Tonight, replan, replan_standing};

/// Rounds with everything that has changed.
pub(super) struct Night {
    pub(super) rounds: Rounds,
    pub(super) at: Vec<Option<At>>,
    open: Vec<bool>,
    seen_ago_ms: Vec<i64>,
    stand: Option<usize>,
}

/// What is done from now on.
pub(super) struct GoingOn {
    pub(super) change: Change,
    /// Who goes to the hot work and stays.
    pub(super) stands: Option<usize>,
}

/// What a guard does from now on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Doing {
    Gone,
    Stands,
    AsBefore,
    Changed,
}

impl Night {
    pub(super) fn new(mut rounds: Rounds, args: &Args) -> anyhow::Result<Night> {
        for given in &args.add {
            let (name, near) = given.rsplit_once('=').context("--add wants NEW=STOP+TIME")?;
            let (near, apart) = near.rsplit_once('+').context(
                "--add wants the walk from a known stop, such as \"Pump room=Hall+45s\"",
            )?;
            ensure!(rounds.named(name).is_err(), "--add {given}: {name:?} is there already");
            let near = rounds.named(near)?;
            rounds.add(name, near, time_ms(apart)?);
        }
        for (name, gap) in named(&args.zone_gap, "--zone-gap")? {
            rounds.in_zone(&name)?.into_iter().for_each(|s| rounds.demands.gap_ms[s] = gap);
        }
        let mut open = vec![true; rounds.stops.len()];
        for name in &args.close {
            rounds.in_zone(name)?.into_iter().for_each(|s| open[s] = false);
        }
        let (at, last) = guards(&rounds, args)?;
        let mut seen_ago_ms = as_planned(&rounds, &last);
        for (name, ago) in named(&args.seen, "--seen")? {
            rounds.in_zone(&name)?.into_iter().for_each(|s| seen_ago_ms[s] = ago);
        }
        let stand = args.stand.as_deref().map(|name| rounds.named(name)).transpose()?;
        if let Some(stop) = stand {
            ensure!(open[stop], "--stand {}: this stop is closed", rounds.stops[stop].name);
            rounds.demands.gap_ms[stop] = STANDING_MS;
            rounds.demands.stay_ms[stop] = STANDING_MS;
        }
        Ok(Night { rounds, at, open, seen_ago_ms, stand })
    }

    pub(super) fn go_on(&self, effort: &mut Effort<'_>) -> anyhow::Result<GoingOn> {
        let tonight = Tonight {
            demands: &self.rounds.demands,
            plan: &self.rounds.plan,
            open: &self.open,
            at: &self.at,
            seen_ago_ms: &self.seen_ago_ms,
        };
        if let Some(stand) = self.stand {
            let (guard, change) = replan_standing(&tonight, stand, effort)
                .context("nobody is left who can get to the hot work: stop it, or send somebody")?;
            return Ok(GoingOn { change, stands: Some(guard) });
        }
        let change = replan(&tonight, effort)
            .context("nobody is left: send somebody, or clear the building")?;
        Ok(GoingOn { change, stands: None })
    }

    pub(super) fn doing(&self, going_on: &GoingOn, guard: usize) -> Doing {
        if self.at[guard].is_none() {
            return Doing::Gone;
        }
        if going_on.stands == Some(guard) {
            return Doing::Stands;
        }
        let before: Vec<usize> = self.before(guard).into_iter().filter(|&s| self.open[s]).collect();
        let now = &going_on.change.rounds[guard];
        let at = self.at[guard].map(|at| at.stop);
        let next = before.iter().position(|&s| Some(s) == at).map_or(0, |i| i + 1);
        let mut turned = before.clone();
        turned.rotate_left(next % before.len().max(1));
        let whole = before.len() == self.before(guard).len();
        if whole && turned == *now { Doing::AsBefore } else { Doing::Changed }
    }

    fn before(&self, guard: usize) -> Vec<usize> {
        let teams = self.rounds.plan.teams.iter();
        let mut rounds = teams.flat_map(|team| std::iter::repeat_n(&team.round, team.guards));
        rounds.nth(guard).cloned().unwrap_or_default()
    }
}

type Places = Vec<Option<At>>;

/// Where each guard is, and where each was last: the same, but for those who are gone.
fn guards(rounds: &Rounds, args: &Args) -> anyhow::Result<(Places, Places)> {
    let all = rounds.plan.guards();
    let number = |text: &str| -> anyhow::Result<usize> {
        let guard = text.trim().parse::<usize>().ok().filter(|n| (1..=all).contains(n));
        Ok(guard.with_context(|| format!("there is no guard {text:?}: give 1 to {all}"))? - 1)
    };
    let mut at: Vec<Option<At>> = vec![None; all];
    let (mut last, mut told) = (at.clone(), vec![false; all]);
    for given in &args.at {
        let (guard, place) = given.split_once('=').context("--at wants GUARD=STOP")?;
        let guard = number(guard)?;
        ensure!(!told[guard], "guard {} is named twice", guard + 1);
        at[guard] = Some(place_of(rounds, place)?);
        (last[guard], told[guard]) = (at[guard], true);
    }
    for given in &args.lost {
        let (guard, place) = match given.split_once('=') {
            Some((guard, place)) => (number(guard)?, Some(place_of(rounds, place)?)),
            None => (number(given)?, None),
        };
        ensure!(!told[guard], "guard {} is named twice", guard + 1);
        (last[guard], told[guard]) = (place, true);
    }
    if let Some(silent) = told.iter().position(|told| !told) {
        let n = silent + 1;
        bail!("where is guard {n}? Write --at {n}=STOP, or --lost {n}");
    }
    Ok((at, last))
}

/// `HALL` or `HALL+40s`; a stop whose name ends like that is found first.
fn place_of(rounds: &Rounds, text: &str) -> anyhow::Result<At> {
    match (rounds.named(text), text.rsplit_once('+')) {
        (Ok(stop), _) => Ok(At { stop, free_in_ms: 0 }),
        (Err(_), Some((stop, time))) => {
            Ok(At { stop: rounds.named(stop)?, free_in_ms: time_ms(time)? })
        }
        (Err(unknown), None) => Err(unknown),
    }
}

/// How long ago each stop was seen when the rounds were walked as planned: back along each guard's round from where that
/// guard was last. Where that is not known, as long ago as its gap, so that it is due now.
fn as_planned(rounds: &Rounds, last: &[Option<At>]) -> Vec<i64> {
    let demands = &rounds.demands;
    let teams = rounds.plan.teams.iter();
    let walked = teams.flat_map(|team| std::iter::repeat_n(&team.round, team.guards));
    let mut ago: Vec<Option<i64>> = vec![None; rounds.stops.len()];
    // What is added is owed from now on.
    let planned: Vec<bool> = (0..ago.len())
        .map(|s| rounds.plan.teams.iter().any(|team| team.round.contains(&s)))
        .collect();
    for (round, at) in walked.zip(last) {
        let (n, Some(at)) = (round.len(), at) else { continue };
        let Some(here) = round.iter().position(|&s| s == at.stop) else { continue };
        // Still busy at the last stop: that look has not ended yet.
        let mut back_ms = -at.free_in_ms;
        for k in 0..=n {
            let stop = round[(here + 2 * n - k) % n];
            if back_ms >= 0 {
                ago[stop] = Some(ago[stop].map_or(back_ms, |known| known.min(back_ms)));
            }
            let before = round[(here + 2 * n - k - 1) % n];
            back_ms += demands.stay_ms[stop] + demands.walks.ms(before, stop);
        }
    }
    (ago.iter().enumerate())
        .map(|(s, ago)| ago.unwrap_or(if planned[s] { demands.gap_ms[s] } else { 0 }))
        .collect()
}

fn named(given: &[String], option: &str) -> anyhow::Result<Vec<(String, i64)>> {
    given
        .iter()
        .map(|given| {
            let (name, time) =
                given.rsplit_once('=').with_context(|| format!("{option} wants NAME=TIME"))?;
            Ok((name.to_owned(), time_ms(time)?))
        })
        .collect()
}

fn time_ms(text: &str) -> anyhow::Result<i64> {
    crate::commands::route::time_ms(text).map_err(anyhow::Error::msg)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::commands::rounds::tests::ring;
    use clap::Parser;
    use planner::Go;

    #[derive(Parser)]
    struct Asked {
        #[command(flatten)]
        args: Args,
    }

    fn night(gap_s: i64, options: &[&str]) -> anyhow::Result<Night> {
        let words = ["replan", "rounds.json"].iter().chain(options);
        Night::new(ring(gap_s), &Asked::parse_from(words).args)
    }

    fn go_on(night: &Night) -> GoingOn {
        night.go_on(&mut Effort::new(1, 20_000, &mut |_| Go::On)).unwrap()
    }

    #[test]
    fn rounds_walked_as_planned_are_counted_back_from_where_the_guards_are() {
        let night = night(300, &["--at", "1=Stop 2", "--at", "2=Stop 6"]).unwrap();
        // 30 s a stop back to 0; 5 lies behind it over the end of the round, a look of 10 s and five times 20 s more.
        assert_eq!(night.seen_ago_ms[..6], [60_000, 30_000, 0, 230_000, 200_000, 170_000]);
        let going_on = go_on(&night);
        assert_eq!(going_on.change.late, []);
        assert_eq!(night.doing(&going_on, 0), Doing::AsBefore);
        assert_eq!(night.doing(&going_on, 1), Doing::AsBefore);
    }

    #[test]
    fn a_guard_lost_hands_over_and_what_was_last_seen_is_due() {
        let night = night(900, &["--at", "1=Stop 0", "--lost", "2"]).unwrap();
        assert_eq!(night.seen_ago_ms[6..], [900_000; 6]);
        let going_on = go_on(&night);
        assert_eq!(going_on.change.moved, [6, 7, 8, 9, 10, 11]);
        assert_eq!(night.doing(&going_on, 1), Doing::Gone);
        assert!(!going_on.change.late.is_empty(), "due now is late on arrival");
    }

    #[test]
    fn a_zone_closed_a_stop_added_and_hot_work() {
        let both = ["--at", "1=Stop 0", "--at", "2=Stop 6"];
        let closed = night(300, &[&both[..], &["--close", "North"]].concat()).unwrap();
        assert!(go_on(&closed).change.rounds[0].iter().all(|&s| s >= 6));
        let added = night(400, &[&both[..], &["--add", "Pump=Stop 3+5s"]].concat()).unwrap();
        let going_on = go_on(&added);
        assert!(going_on.change.rounds[0].contains(&12) && going_on.change.late.is_empty());
        let hot = night(600, &[&both[..], &["--stand", "Stop 8"]].concat()).unwrap();
        let going_on = go_on(&hot);
        assert_eq!((going_on.stands, going_on.change.late.len()), (Some(1), 0));
    }

    #[test]
    fn what_is_missing_or_wrong_is_asked_for() {
        let said = |options: &[&str]| match night(300, options) {
            Ok(_) => panic!("it was accepted"),
            Err(error) => format!("{error:#}"),
        };
        assert_eq!(said(&["--at", "1=Stop 0"]), "where is guard 2? Write --at 2=STOP, or --lost 2");
        assert!(said(&["--at", "3=Stop 0"]).contains("give 1 to 2"));
        assert!(said(&["--at", "1=Roof"]).contains("no stop is called"));
        let both = ["--at", "1=Stop 0", "--at", "2=Stop 6"];
        assert!(said(&[&both[..], &["--add", "Pump=Stop 3"]].concat()).contains("45s"));
        assert!(said(&[&both[..], &["--seen", "North=5"]].concat()).contains("unit"));
    }
}
