//! `nights [--count N] [--seed S]`: for each way in which a night can be dishonest, how often each rule
//! says something, beside how often it says so about honest nights.
//!
//! Every night is a story with its parameters stated in [`Way`]; seeds begin where the caller says, so
//! that they can be ones that nobody looked at while writing the rules.

use anyhow::{Result, anyhow, ensure};
use bench_plan::options::Options;
use bench_plan::random::Random;
use rules::findings::{Judging, Verdict, judge};
use serde_json::json;
use std::collections::BTreeMap;
use std::fmt::Write as _;

const ZONES: [&str; 6] = ["hall", "kitchen", "cellar", "stair-a", "stair-b", "roof"];
/// Walking time to each stop from the one before, s.
const LEGS_S: [i64; 6] = [150, 90, 120, 140, 60, 180];
const ROUNDS: i64 = 12;
/// A round begins so long after the one before, s: well inside the half hour that is allowed.
const EVERY_S: i64 = 25 * 60;

/// How a night was lived and written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Way {
    /// In signal, every stop pressed when it was reached, up to 90 s of pause at each.
    Honest,
    /// The same, without signal for five of six hours, the clock up to a minute wrong.
    HonestOffline,
    /// The same, but one look in forty is entered afterwards with its right time.
    HonestForgetful,
    /// All stops of a round pressed from a chair, 5 to 15 s apart.
    Sofa,
    /// All looks of three rounds in a row written at once, with invented times.
    Batch,
    /// One zone left out in three rounds in a row.
    SkippedZone,
    /// A round half an hour late, its looks then given the time at which they were due.
    Tidied,
    /// A round half an hour late, without signal, the clock set back by as much.
    ClockSetBack,
    /// Rounds ended with a statement and no look in them.
    EmptyRounds,
    /// Two lines of the night never handed in.
    Withheld,
    /// Every look written on paper to the minute in which it was made, typed in the morning.
    PaperHonest,
    /// The same, but each time is the five minutes nearest to it with a chance of two in five.
    PaperFives,
}

const WAYS: [Way; 12] = [
    Way::Honest,
    Way::HonestOffline,
    Way::HonestForgetful,
    Way::Sofa,
    Way::Batch,
    Way::SkippedZone,
    Way::Tidied,
    Way::ClockSetBack,
    Way::EmptyRounds,
    Way::Withheld,
    Way::PaperHonest,
    Way::PaperFives,
];

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["count", "seed"])?;
    let (count, seed): (u64, u64) = (options.get("count", 60)?, options.get("seed", 1_000)?);
    let mut honest: BTreeMap<String, u64> = BTreeMap::new();
    for way in WAYS {
        let said = judge_all(way, count, seed)?;
        if way == Way::Honest {
            honest = said.clone();
        }
        let rate = |n: u64| n as f64 / count as f64;
        let rules: BTreeMap<&String, _> = said
            .iter()
            .map(|(rule, n)| {
                let alarms = rate(honest.get(rule).copied().unwrap_or(0));
                (rule, json!({"said": rate(*n), "on_honest": alarms}))
            })
            .collect();
        println!(
            "{}",
            json!({"bench": "nights", "way": format!("{way:?}"), "nights": count, "rules": rules})
        );
        if matches!(way, Way::Honest | Way::HonestOffline) {
            let wrong: Vec<&String> = said
                .keys()
                .filter(|rule| rule.ends_with("broken") || rule.ends_with("unclear"))
                .collect();
            ensure!(wrong.is_empty(), "honest nights were found {wrong:?}");
        }
    }
    Ok(())
}

/// How many nights each rule said something about, by rule and verdict.
fn judge_all(way: Way, count: u64, seed: u64) -> Result<BTreeMap<String, u64>> {
    let mut said = BTreeMap::new();
    for n in 0..count {
        let mut random = Random(seed + n + 7919 * way as u64);
        let mut record =
            night::tell(&story(way, &mut random)).map_err(|fault| anyhow!("{fault}"))?;
        if way == Way::Withheld {
            withhold(&mut record, &mut random);
        }
        let watch = record.folded();
        let state = watch.about(record.end_ms);
        let judging = Judging { watch: &watch, state: &state, terms: Some(&record.terms) };
        let mut rules: Vec<String> = judge(&judging)
            .iter()
            .filter(|finding| finding.verdict != Verdict::Kept)
            .map(|finding| format!("{} {:?}", finding.rule(), finding.verdict).to_lowercase())
            .collect();
        rules.sort();
        rules.dedup();
        rules.into_iter().for_each(|rule| *said.entry(rule).or_default() += 1);
    }
    Ok(said)
}

fn withhold(record: &mut night::Record, random: &mut Random) {
    let phone = record.keys[1].device();
    let seqs: Vec<u64> =
        record.lines.iter().filter(|l| l.line.dev == phone).map(|l| l.line.seq).collect();
    let first = seqs[(random.draw() % seqs.len() as u64) as usize];
    record
        .lines
        .retain(|l| l.line.dev != phone || (l.line.seq != first && l.line.seq != first + 1));
}

/// Writes the story of one night, six hours from 20:00.
fn story(way: Way, random: &mut Random) -> String {
    let mut night = String::from("watch: 20:00 to 01:05\npeople: Ines\n");
    ZONES.iter().for_each(|zone| writeln!(night, "gap {zone}: 30 min").expect("a string"));
    let stops: Vec<String> = ZONES.iter().map(|zone| format!("{zone}-1")).collect();
    writeln!(night, "route: {}", stops.join(", ")).expect("a string");
    let legs: Vec<String> = LEGS_S.iter().map(|leg_s| format!("{leg_s} s")).collect();
    writeln!(night, "legs: {}", legs.join(", ")).expect("a string");
    if matches!(way, Way::HonestOffline | Way::ClockSetBack) {
        writeln!(night, "phone of Ines: offline 20:10 to 01:30").expect("a string");
        writeln!(night, "phone of Ines: clock {} s behind", random.draw() % 60).expect("a string");
    }
    writeln!(night, "20:00 Ines begins").expect("a string");
    let mut teller = Walk { way, random, night, at_s: 60, paper: Vec::new() };
    (0..ROUNDS).for_each(|round| teller.round(round));
    teller.say(5 * 3600 + 300, "ends and signs");
    teller.typed()
}

struct Walk<'r> {
    way: Way,
    random: &'r mut Random,
    night: String,
    /// Since 20:00.
    at_s: i64,
    /// What stands on paper: when, in minutes since 20:00, and where.
    paper: Vec<(i64, &'static str)>,
}

impl Walk<'_> {
    fn up_to(&mut self, most: i64) -> i64 {
        (self.random.draw() % (most as u64 + 1)) as i64
    }

    /// Says something not before `at_s`; a story runs forward.
    fn say(&mut self, at_s: i64, what: &str) {
        self.at_s = self.at_s.max(at_s);
        let clock = clock(self.at_s);
        writeln!(self.night, "{clock} Ines {what}").expect("a string");
    }

    fn round(&mut self, round: i64) {
        let late = matches!(self.way, Way::Tidied | Way::ClockSetBack) && round == 6;
        let start_s = 60 + round * EVERY_S + if late { 20 * 60 } else { 0 };
        if late && self.way == Way::ClockSetBack {
            writeln!(
                self.night,
                "{} the phone of Ines is set back 20 min",
                clock(start_s.max(self.at_s))
            )
            .expect("a string");
        }
        self.say(start_s, "begins a round");
        let written_later = self.way == Way::Batch && (5..8).contains(&round);
        let empty = self.way == Way::EmptyRounds && (5..8).contains(&round);
        let mut walked_s = start_s;
        for (place, zone) in ZONES.iter().enumerate() {
            let pause_s = self.up_to(40);
            walked_s += match self.way {
                Way::Sofa => 5 + self.up_to(10),
                _ => LEGS_S[place] + pause_s,
            };
            let skipped =
                self.way == Way::SkippedZone && *zone == "cellar" && (5..8).contains(&round);
            if skipped || empty || written_later {
                continue;
            }
            if matches!(self.way, Way::PaperHonest | Way::PaperFives) {
                let rounded = self.way == Way::PaperFives && self.up_to(4) < 2;
                let minute = walked_s / 60;
                self.paper.push((if rounded { (minute + 2) / 5 * 5 } else { minute }, zone));
                continue;
            }
            let forgotten = self.way == Way::HonestForgetful && self.up_to(39) == 0;
            let tidied = late && self.way == Way::Tidied;
            let pressed_s = if forgotten { walked_s + 50 } else { walked_s };
            self.say(pressed_s, &format!("sees {zone}"));
            if forgotten || tidied {
                let right = clock(if tidied { walked_s - 20 * 60 } else { walked_s });
                let what = format!("corrects the time of the last line as of {right}");
                self.say(pressed_s + 5, &what);
            }
        }
        if self.way == Way::Batch && round == 7 {
            self.batch(walked_s);
        }
        self.say(walked_s + 20, "ends the round");
    }

    /// The night, with the page of paper typed at the desk in the morning.
    fn typed(mut self) -> String {
        if !self.paper.is_empty() {
            writeln!(self.night, "06:00 the desk allows paper, phone-dead").expect("a string");
        }
        for (minute, zone) in &self.paper {
            let stated = &clock(minute * 60)[..5];
            writeln!(self.night, "06:01 the desk types from paper of Ines, {stated} {zone}")
                .expect("a string");
        }
        self.night
    }

    /// Three rounds written in two minutes, each look with the time at which it should have been.
    fn batch(&mut self, now_s: i64) {
        for n in 0..3 {
            let mut stated_s = 60 + (5 + n) * EVERY_S;
            for (place, zone) in ZONES.iter().enumerate() {
                stated_s += LEGS_S[place] + 10;
                self.say(now_s + 6 * (n * 6 + place as i64), &format!("sees {zone}"));
                let stated = clock(stated_s);
                self.say(self.at_s, &format!("corrects the time of the last line as of {stated}"));
            }
        }
    }
}

fn clock(at_s: i64) -> String {
    let of_day = 20 * 3600 + at_s;
    format!("{:02}:{:02}:{:02}", of_day / 3600 % 24, of_day / 60 % 60, of_day % 60)
}
