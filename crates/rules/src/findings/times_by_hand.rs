//! # What it finds
//! Times written by hand on paper whose digits or spacing are unlike times read from a clock.
//! # Why
//! People who invent numbers prefer some digits, change sides too often, and space things too evenly (Beber and Scacco
//! 2012; Bar-Hillel and Wagenaar 1991). A time that a device stamped says nothing of the kind and is never tested.
//! # Demand
//! None: our own choice of level, `standards/site/records`. All tests of a watch are corrected together (Holm 1979). It
//! selects what to look at and stays in the own house.
//! # Innocent explanation
//! Rounds walked by the clock, times rounded to five minutes, one habit of writing: a rounded time is not a false one.

use super::{Facts, Finding, Judging, Source, Verdict, limits};
use crate::statistics::{
    coefficient_of_variation, holm, last_digits, runs_about_median, zero_or_five,
};
use ledger::PersonId;
use serde::Serialize;
use std::collections::BTreeMap;
use watch::{Look, Via};

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TimesByHand {
    /// Who wrote.
    pub who: PersonId,
    /// What is unusual.
    pub what: Unusual,
    /// How many times, or stretches between two looks, were tested.
    pub n: u32,
    /// Times that end in 0 or 5; changes of side, plus one.
    pub count: Option<u32>,
    /// Spread of the stretches as thousandths of their mean.
    pub spread_permille: Option<u32>,
    /// The chance of such a value among honest times, millionths; none where only a rule of thumb was asked.
    pub p_ppm: Option<u32>,
    /// The chance of any false alarm among all tests of the watch, thousandths.
    pub level_permille: u32,
    /// How many tests this watch was given.
    pub tests: u32,
}

/// What is unusual about times.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Unusual {
    /// Some last digits of minutes are preferred.
    LastDigits,
    /// Too many end in 0 or 5.
    ZeroOrFive,
    /// Short and long stretches take turns too often.
    Alternating,
    /// The stretches hardly differ.
    Even,
}

/// One question to one person's times.
struct Asked<'l> {
    who: &'l PersonId,
    what: Unusual,
    n: u32,
    count: Option<u32>,
    spread_permille: Option<u32>,
    /// None where nothing is tested: a rule of thumb that said yes.
    p: Option<f64>,
    looks: Vec<&'l Look>,
}

pub(crate) fn times_by_hand(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let mut by_person: BTreeMap<&PersonId, Vec<&Look>> = BTreeMap::new();
    let looks = judging.state.zones.iter().flat_map(|zone| &zone.looks);
    for look in looks.filter(|look| look.written.via == Via::Paper) {
        by_person.entry(&look.written.who).or_default().push(look);
    }
    let mut asked: Vec<Asked<'_>> = Vec::new();
    for (who, mut looks) in by_person {
        looks.sort_by_key(|look| (look.written.when.at_ms, look.written.line));
        digits(judging, who, &looks, &mut asked);
        stretches(who, &looks, &mut asked);
    }
    let level_permille = limits::hand_times_level_permille();
    let p: Vec<f64> = asked.iter().filter_map(|asked| asked.p).collect();
    let mut passes = holm(&p, level_permille as f64 / 1000.0).into_iter();
    let tests = p.len() as u32;
    for asked in asked {
        if asked.p.is_none() || passes.next() == Some(true) {
            findings.extend(asked.finding(level_permille as u32, tests));
        }
    }
}

impl Asked<'_> {
    fn finding(self, level_permille: u32, tests: u32) -> Option<Finding> {
        let facts = TimesByHand {
            who: self.who.clone(),
            what: self.what,
            n: self.n,
            count: self.count,
            spread_permille: self.spread_permille,
            p_ppm: self.p.map(|p| libm::round(p * 1e6) as u32),
            level_permille,
            tests,
        };
        let (first, last) = (self.looks.first()?, self.looks.last()?);
        let finding = Finding::new(Verdict::Look, Facts::TimesByHand(facts), Source::Ours)
            .between(first.written.when.at_ms, last.written.when.at_ms)
            .resting_on(self.looks.iter().map(|look| &look.written));
        Some(finding)
    }
}

/// The minutes as they stand on the page, in the site's time.
fn digits<'l>(
    judging: &Judging<'_>,
    who: &'l PersonId,
    looks: &[&'l Look],
    asked: &mut Vec<Asked<'l>>,
) {
    let local_min = |look: &&Look| {
        let tz_min = judging.watch.line(look.written.line).map_or(0, |line| line.clk.tz);
        look.written.when.at_ms.div_euclid(60_000) + tz_min
    };
    let minutes: Vec<i64> = looks.iter().map(local_min).collect();
    let ask = |what, n, count, p| {
        let looks = looks.to_vec();
        Asked { who, what, n, count, spread_permille: None, p: Some(p), looks }
    };
    let digits = last_digits(&minutes);
    asked.extend(digits.map(|test| ask(Unusual::LastDigits, test.n, None, test.p)));
    let fives =
        zero_or_five(&minutes).filter(|test| i64::from(test.n) >= limits::hand_times_fives());
    asked.extend(fives.map(|test| ask(Unusual::ZeroOrFive, test.n, Some(test.count), test.p)));
}

/// The stretches between two looks at the stop that was written down most often.
fn stretches<'l>(who: &'l PersonId, looks: &[&'l Look], asked: &mut Vec<Asked<'l>>) {
    let mut by_stop: BTreeMap<_, Vec<&'l Look>> = BTreeMap::new();
    looks.iter().for_each(|look| by_stop.entry(&look.stop).or_default().push(look));
    let most = by_stop.into_values().max_by_key(Vec::len).unwrap_or_default();
    let minutes: Vec<f64> = (most.windows(2))
        .map(|pair| (pair[1].written.when.at_ms - pair[0].written.when.at_ms) as f64 / 60_000.0)
        .collect();
    let n = minutes.len() as u32;
    let ask = |what, count, spread_permille, p| Asked {
        who,
        what,
        n,
        count,
        spread_permille,
        p,
        looks: most.clone(),
    };
    let enough = |side: u32| i64::from(side) >= limits::hand_times_side();
    let runs = runs_about_median(&minutes).filter(|test| enough(test.above) && enough(test.below));
    // Only too many changes of side speak of invention: who walks slower towards morning makes too few. So the chance is
    // that of this side alone.
    asked.extend(runs.map(|test| {
        let p = if test.z > 0.0 { test.p / 2.0 } else { 1.0 - test.p / 2.0 };
        ask(Unusual::Alternating, Some(test.runs), None, Some(p))
    }));
    let spread = coefficient_of_variation(&minutes)
        .filter(|_| i64::from(n) >= limits::hand_times_even_count())
        .map(|spread| libm::round(spread * 1000.0) as i64)
        .filter(|permille| *permille < limits::hand_times_even_permille());
    asked.extend(spread.map(|permille| ask(Unusual::Even, None, Some(permille as u32), None)));
}
