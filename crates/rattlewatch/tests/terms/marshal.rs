//! Situations as a fire marshal checks them: each number of the page beside the clause that states it.
//!
//! What is expected was typed in from the documents named beside each situation, not from `standards/`. How each is
//! known (`read`, `second-hand`, `from memory`) is part of what the page must say.

use super::{run, with_facts};

struct Page(String);

impl Page {
    fn of(name: &str, facts: &str) -> Self {
        let printed = with_facts(&format!("marshal-{name}"), facts, |path| run(&[path]).stdout);
        let page = Self(String::from_utf8(printed).expect("UTF-8").replace('\u{a0}', " "));
        page.every_number_has_its_source();
        page
    }

    /// The sources that the first statement with these words carries, in full.
    fn sources(&self, words: &str) -> Vec<&str> {
        let line = self.0.lines().find(|line| line.starts_with("- ") && line.contains(words));
        let line = line.unwrap_or_else(|| panic!("{words:?} is nowhere on\n{}", self.0));
        marks(line).into_iter().map(|mark| self.source(mark)).collect()
    }

    fn source(&self, mark: &str) -> &str {
        let listed = self.0.lines().find(|line| line.starts_with(mark));
        listed.unwrap_or_else(|| panic!("{mark} is not listed on\n{}", self.0))
    }

    #[track_caller]
    fn states(&self, words: &str, clause: &str, known: &str) {
        let sources = self.sources(words);
        let told = |source: &&str| source.contains(clause) && source.ends_with(known);
        assert!(sources.iter().any(told), "{words}: {clause} {known}: {sources:?}");
    }

    #[track_caller]
    fn says(&self, words: &str) {
        assert!(self.0.contains(words), "{words:?} is nowhere on\n{}", self.0);
    }

    #[track_caller]
    fn does_not_say(&self, words: &str) {
        assert!(!self.0.contains(words), "{words:?} stands on\n{}", self.0);
    }

    /// A statement with a number carries a mark; only stretches of a calendar and what gave way stand for themselves.
    fn every_number_has_its_source(&self) {
        let mut heading = "";
        for line in self.0.lines() {
            if !line.is_empty() && line.chars().all(|c| c.is_uppercase() || c == ' ') {
                heading = line;
            }
            let numbered = line.starts_with("- ") && line.contains(|c: char| c.is_ascii_digit());
            let stretch = line.starts_with("- 20") && line.contains(" to 20");
            let cited = line.ends_with(']') || heading == "WHAT GAVE WAY";
            assert!(!numbered || stretch || cited, "{line:?} has no source on\n{}", self.0);
        }
    }
}

fn marks(line: &str) -> Vec<&str> {
    line.split_whitespace().filter(|word| word.starts_with('[') && word.ends_with(']')).collect()
}

const READ: &str = "[read]";
const SECOND_HAND: &str = "[second-hand]";
const FROM_MEMORY: &str = "[from memory]";

/// NFPA 101 9.6.1.6 (2006 to 2021): more than four hours in a 24-hour period, evacuate or watch, tell the authority.
/// Alabama State Fire Marshal, Fire Watch Program: 15 minutes where people sleep, no other duties, seven things that
/// people on watch have or are, four that the log shows.
#[test]
fn a_hotel_whose_alarm_has_been_out_for_six_hours() {
    let page = Page::of(
        "hotel",
        r#"
profile = ["NFPA 101 2018", "Alabama"]
zone = "America/Chicago"
at = "2026-03-02T04:00:00"
[building]
occupancy = "R-1"
sleeping = true
[[outage]]
system = "fire-alarm"
from = "2026-03-01T22:00:00"
"#,
    );
    page.says("A watch, or an alternative listed here, is owed since 2026-03-02 02:00 -06:00.");
    page.says("In place of a watch the sources accept: evacuate the part left unprotected.");
    page.states(
        "6 h within 24 h, more than 4 h",
        "NFPA 101, Life Safety Code, 9.6.1.6",
        SECOND_HAND,
    );
    page.states("Notify now: the authority", "9.6.1.6", SECOND_HAND);
    page.states(
        "15 min at most, every zone",
        "Alabama State Fire Marshal, Fire Watch Program",
        READ,
    );
    page.states("No other duties", "Alabama State Fire Marshal", READ);
    for need in [
        "Trained in extinguishers",
        "Trained in the evacuation plan",
        "people who do not speak English",
        "Awake and unimpaired",
        "A written patrol plan",
        "An approved means of calling the fire service",
        "Knows the exact address",
    ] {
        page.states(need, "Alabama State Fire Marshal", READ);
    }
    for item in ["Address of the site", "Time of each round", "Name", "Notes"] {
        page.states(item, "Alabama State Fire Marshal", READ);
    }
    page.does_not_say("rinted name");
}

/// NFPA 25 15.5.2: more than ten hours in a 24-hour period; four things to choose from. 42 CFR 416.44(b)(5) says ten
/// hours of health care. Five hours before midnight and six and a half after it are one count; the tenth hour is full
/// at 07:00.
#[test]
fn a_hospital_whose_sprinklers_are_out_across_midnight() {
    let page = Page::of(
        "hospital",
        r#"
profile = ["42 CFR 482.41 health care", "NFPA 25 2011"]
zone = "America/New_York"
at = "2026-03-02T08:30:00"
[building]
occupancy = "I-2"
sleeping = true
[[outage]]
system = "sprinkler"
from = "2026-03-01T14:00:00"
to = "2026-03-01T19:00:00"
[[outage]]
system = "sprinkler"
from = "2026-03-02T02:00:00"
"#,
    );
    page.says("is owed since 2026-03-02 07:00 -05:00.");
    page.says(
        "evacuate the part left unprotected; a temporary water supply; an approved programme that \
         controls ignition sources and fuel.",
    );
    // One reason, told once, with the three clauses that give it.
    let counted = "11 h 30 min within 24 h, more than 10 h";
    assert_eq!(page.0.matches(counted).count(), 1);
    page.states(counted, "42 CFR 416.44(b)(5)", SECOND_HAND);
    page.states(counted, "9.7.5 (2012)", SECOND_HAND);
    page.states(counted, "15.5.2 [second-hand]", SECOND_HAND);
    page.states("Name a coordinator", "15.2, 15.3, 15.5.2", READ);
    page.states("At restoration: take the tag off", "15.7", READ);
    page.says("No source in force states a number. The authority decides.");
}

/// IFC 2018: 901.7 (no hours, tell both at once, constant patrols, no other duties), 3304.5.1 (more than 40 ft in
/// non-working hours, where required), 3304.5.3 (three things in the log), 3501.3 and 3504.1.8 (leave where sprinklers
/// are out), 3504.2.1 (30 minutes), 3504.2.2 (a second person), 3504.2.6 (2-A:20-B:C within 30 ft), 3504.3 (each day),
/// 3503.3 and 3503.5 (48 hours), 108.3 (3 years).
#[test]
fn hot_work_on_a_site_with_its_sprinklers_out() {
    let page = Page::of(
        "site",
        r#"
profile = "IFC 2018"
zone = "America/Chicago"
at = "2026-03-02T20:10:00"
[building]
occupancy = "R-2"
[construction]
height_m = 14.0
stage = "new"
hours = "Mon-Fri 07:00-17:00"
[[outage]]
system = "sprinkler"
from = "2026-03-02T15:00:00"
[[hot_work]]
began = "2026-03-02T18:00:00"
last_spark = "2026-03-02T20:00:00"
impaired = true
one_sees_all = false
combustibles_m = 5.0
"#,
    );
    page.says("A watch is owed since 2026-03-02 18:00 -06:00.");
    // Sprinklers are still out and the official has not spoken: the end of the hot work's watch is not the end.
    page.does_not_say("It ends");
    page.states("Notify now: the fire service, the authority.", "901.7", READ);
    page.states("Conflict: hot work where sprinklers are out", "3501.3, 3504.1.8", READ);
    page.states("Construction: the source leaves it", "3304.5.1, more than 40 ft high", READ);
    page.states("its condition does not hold: construction", "3304.5, demolition", READ);
    page.states("asks for constant patrols and states no interval", "901.7", READ);
    page.states("At least 2 people", "3504.2.2", READ);
    page.says("Next stretches without work, in which it is kept: [4]");
    page.states("No other duties", "901.7", READ);
    // Two clauses ask for it; it stands once.
    assert_eq!(page.0.matches("An approved means of calling").count(), 1);
    page.states("An approved means of calling", "901.7 [read]", READ);
    page.states("An approved means of calling", "3304.5.2, 3309.1", READ);
    page.states("An extinguisher", "3504.2.6, one of 2-A:20-B:C within 30 ft", READ);
    page.states("at least once a day", "3504.3", READ);
    page.states("Address and fire service number", "3304.5.2, 3309.1", READ);
    page.states("Watch without a break until 2026-03-02 20:30 -06:00", "3504.2.1", READ);
    page.states("An entry each time a structure is entered and inspected", "3304.5.3", READ);
    page.states("Every period of duty", "3304.5.3", READ);
    page.states("To the authority: when the official asks", "3304.5.3", READ);
    let permit = "Keep the hot-work permit and the report of the check before work at least 48 h";
    page.states(permit, "3503.3, 3503.5, 3504.3.1", READ);
    page.states("records of inspections, tests and maintenance at least 3 years", "108.3", READ);
    page.states("The insurer, the alarm company", "901.7.4, items 5 and 6", READ);
    page.states(
        "Tag alarm panel, annunciator and command center",
        "901.7.1, 901.7.3, 901.7.4",
        READ,
    );
    page.states("At restoration: take the tag off", "901.7.6", READ);
}

/// Of the trade's law: only the authority loosens, by name, in writing, with its time.
#[test]
fn an_order_of_the_authority_that_loosens() {
    let facts = |from: &str| {
        format!(
            r#"
profile = ["NFPA 101 2018", "Alabama"]
zone = "America/Chicago"
at = "2026-03-02T04:00:00"
[building]
occupancy = "R-1"
[[outage]]
system = "fire-alarm"
from = "2026-03-01T22:00:00"
[[order]]
from = "{from}"
by = "R. Ortega"
at = "2026-03-01T23:10:00"
reference = "Order 114"
gap_s = 1800
people_at_least = 2
"#
        )
    };
    let page = Page::of("loosened", &facts("authority"));
    let order = "order of the authority by R. Ortega, given 2026-03-01 23:10 -06:00, Order 114";
    page.states("30 min at most, every zone", order, "Order 114");
    page.states("At least 2 people", order, "Order 114");
    page.says("Longest time unseen: 15 min gave way: the authority ordered otherwise, in writing.");
    let page = Page::of("not-loosened", &facts("client"));
    page.states("15 min at most, every zone", "Alabama State Fire Marshal", READ);
    page.says("Longest time unseen: 30 min gave way: only the authority may loosen.");
}

/// Cape Coral FD: more than eight hours in 24, rounds of 60 minutes, the log by 8:00 each morning. The clocks went
/// forward at 02:00 of 8 March 2026 (tz database): thirteen hours on the wall are twelve.
#[test]
fn a_client_tightens_over_the_change_of_clocks() {
    let page = Page::of(
        "client",
        r#"
profile = "Cape Coral, Florida"
zone = "America/New_York"
at = "2026-03-08T12:00:00"
[[outage]]
system = "fire-alarm"
from = "2026-03-07T23:00:00"
[[order]]
from = "client"
by = "P. Lund"
at = "2026-03-07T23:30:00"
gap_s = 1200
"#,
    );
    page.says("A watch is owed since 2026-03-08 08:00 -04:00.");
    page.states("12 h within 24 h, more than 8 h", "Cape Coral Fire Department", READ);
    page.states("20 min at most", "order of the client by P. Lund", "23:30 -05:00");
    page.says("Longest time unseen: 1 h gave way: something stricter is in force. Cape Coral");
    page.states("every day, next by 2026-03-09 08:00 -04:00", "log sent every morning", READ);
    for item in ["Name", "Date", "Beginning of each round", "End of each round", "Initials"] {
        page.states(item, "Cape Coral Fire Department, Fire Watch, log", READ);
    }
}

/// Joint Code of Practice, 10th edition, 16.15: an hour without a break, then at least an hour of checks, 20 minutes
/// apart at most, within 10 m. The Fire Safety Order knows no interval; its responsible person decides.
#[test]
fn a_building_site_in_the_united_kingdom() {
    let page = Page::of(
        "joint-code",
        r#"
profile = ["UK Joint Code 10th edition", "UK Regulatory Reform (Fire Safety) Order 2005"]
zone = "Europe/London"
at = "2026-06-02T17:10:00"
[[hot_work]]
last_spark = "2026-06-02T16:00:00"
"#,
    );
    page.says("It ends 2026-06-02 18:00 +01:00");
    page.states("Watch without a break until 2026-06-02 17:00 +01:00", "16.15", READ);
    let checks = "Then check at most every 20 min until at least 2026-06-02 18:00 +01:00: latest \
                  17:20, 17:40, 18:00.";
    page.states(checks, "16.15, every area and its other side within 10 m", READ);
    // Each number beside its own clause, not beside both.
    assert_eq!((page.sources("Watch without a break").len(), page.sources(checks).len()), (1, 1));
    page.says("By these sources it is for the responsible person to decide.");
    page.states("The responsible person", "16.15", READ);
}

/// 29 CFR 1910.252(a)(2)(iii): 35 ft, half an hour, in the words of WAC 296-307-49503.
#[test]
fn welding_in_a_workplace() {
    let page = Page::of(
        "workplace",
        r#"
profile = "29 CFR 1910"
zone = "America/Denver"
at = "2026-03-02T16:10:00"
[[hot_work]]
began = "2026-03-02T14:00:00"
last_spark = "2026-03-02T16:00:00"
combustibles_m = 6.0
"#,
    );
    page.says("A watch is owed since 2026-03-02 14:00 -07:00.");
    page.says("It ends 2026-03-02 16:30 -07:00");
    page.states("Calls for a watch: hot work", "(a)(2)(iii)(A), closer than 35 ft", READ);
    page.states("until 2026-03-02 16:30 -07:00", "(a)(2)(iii)(B)", READ);
    page.states("Knows how to sound the alarm", "(a)(2)(iii)(B)", READ);
    page.states("Fights only a fire within the means at hand", "(a)(2)(iii)(B)", READ);
    // One of the conditions is enough: nothing is missing.
    page.does_not_say("Not stated");
}

/// 29 CFR 1915.504: (b) closer than 35 ft in either direction, (c)(1) no other duties, (c)(2) thirty minutes.
/// 1915.508(f), from memory: the record of training is kept a year.
#[test]
fn hot_work_in_a_shipyard() {
    let page = Page::of(
        "shipyard",
        r#"
profile = "29 CFR 1915"
zone = "America/Los_Angeles"
at = "2026-03-02T16:10:00"
[[hot_work]]
last_spark = "2026-03-02T16:00:00"
combustibles_m = 10.6
"#,
    );
    page.states("Calls for a watch: hot work", "1915.504, (b)(1) to (8), closer than 35 ft", READ);
    page.states("until 2026-03-02 16:30 -08:00", "1915.504, (c)(2)", READ);
    page.states("No other duties", "1915.504, (c)(1)", READ);
    page.states("Keep records of training at least 1 year", "1915.508, (f)", FROM_MEMORY);
}

/// 29 CFR 1926.352(e): "a sufficient period of time". No minutes, so nobody may read thirty.
#[test]
fn welding_on_a_site_ends_when_somebody_judges_so() {
    let page = Page::of(
        "sufficient",
        r#"
profile = "29 CFR 1926"
zone = "America/Denver"
at = "2026-03-02T16:10:00"
[[hot_work]]
last_spark = "2026-03-02T16:00:00"
"#,
    );
    page.says("The authority decides. Ask before you rely on these terms.");
    page.states(
        "Watch after hot work: the source states no number; the employer decides",
        "(e)",
        READ,
    );
    page.states("The end is uncertain", "29 CFR 1926.352, (e)", READ);
    page.does_not_say(" min");
}

/// New York City Fire Code 2022, 901.7.2 and 901.7.2.1: at any outage, certificate, staff of the building for the
/// first four hours only, the record kept 48 hours after the watch.
#[test]
fn new_york_city() {
    let page = Page::of(
        "new-york",
        r#"
profile = "New York City Fire Code 2022"
zone = "America/New_York"
at = "2026-03-02T04:00:00"
[[outage]]
system = "fire-alarm"
from = "2026-03-02T03:00:00"
"#,
    );
    page.says("A watch, or an alternative listed here, is owed since 2026-03-02 03:00 -05:00.");
    page.states("for 1 h: the source calls for a watch at any outage", "FC 901.7.2, 901.7.3", READ);
    page.does_not_say("more than 0");
    page.states("certificate of fitness", "FC 901.7.2.1 (certificate F-01)", READ);
    page.states("for the first 4 h only", "FC 901.7.2.1", READ);
    page.states("Keep the record of the watch at least 48 h", "FC 901.7.2.1, item 6", READ);
    page.states("Keep log books of fire safety at least 3 years", "FC 107.7", SECOND_HAND);
}

/// Wood Buffalo: a patrol every 15 minutes, the first within 15 of the start. It does not say when a watch is owed:
/// *authority*, never *none found*. Charlotte FPB 214.02: two people; the fire service is told of any alarm, which is
/// not the same as of the outage.
#[test]
fn places_that_say_how_and_not_when() {
    let facts = |profile: &str| {
        format!(
            "profile = {profile:?}\nzone = \"America/Edmonton\"\nat = \"2026-03-02T04:00:00\"\n\
             [[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-01T03:00:00\""
        )
    };
    let page = Page::of("wood-buffalo", &facts("Wood Buffalo, Alberta"));
    page.says("The authority decides. Ask before you rely on these terms.");
    page.states("15 min at most, every zone", "one complete patrol", READ);
    page.states("The first round begins within 15 min", "first patrol", READ);
    let page = Page::of("charlotte", &facts("Charlotte, North Carolina 2002"));
    page.says("The authority decides. Ask before you rely on these terms.");
    page.states("At least 2 people", "Charlotte Fire Prevention Bureau 214.02", READ);
    page.states("The fire service: at once on any alarm", "any alarm", READ);
    page.does_not_say("Notify now");
}

/// IFC 2018 403.12.3: more than 500 people, at least two crowd managers and one for each 250 or part of it.
#[test]
fn a_crowd() {
    let page = Page::of(
        "crowd",
        "profile = \"IFC 2018\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T20:00:00\"\n\
         [building]\ncrowd = 1001",
    );
    page.says("The authority decides. Ask before you rely on these terms.");
    page.states("Gathering of people: the source leaves it to the authority", "403.12.1", READ);
    page.states("At least 5 crowd managers", "403.12.3, 403.12.3.1", READ);
}
