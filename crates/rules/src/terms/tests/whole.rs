//! Everything that the terms of a situation hold, field by field, so that nothing of it can go missing unseen.
//!
//! The numbers and clauses in the files were read against the documents they cite; those that a published page states are
//! typed in beside their source in the other tests.

use super::*;
use crate::say::Say;
use expect_test::{ExpectFile, expect_file};
use words::Lang;

fn whole(profile: &str, facts: &str, expected: ExpectFile) {
    let text = format!("profile = {profile}\nzone = \"America/Chicago\"\n{facts}");
    let facts =
        facts::read(&text, Standards::embedded()).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let terms = Terms::of(&facts, Standards::embedded());
    let speech = say::Speech { lang: Lang::En, zone: facts.zone.clone() };
    let mut out = told_with_reasons(&text);
    let mut line = |text: String| writeln!(out, "{text}").expect("writing to a string");
    line(format!("profiles {}", terms.profiles.join("; ")));
    for stretch in &terms.stretches {
        line(format!("stretch {} to {}", speech.time(stretch.from), speech.time(stretch.to)));
    }
    for owed in &terms.notify {
        let by = owed.by.map(|by| speech.time(by));
        let ahead = owed.days_ahead.map(|days| (days, owed.working_days));
        let (party, timing) = (owed.party, owed.timing);
        line(format!("notify {party} {timing:?} by {by:?} {ahead:?} {}", cited(&owed.source)));
    }
    for write in &terms.write {
        line(format!("write {} {}", write.item, cited(&write.source)));
    }
    if let Some(on) = &terms.on {
        line(format!("on {} {}", on.on, cited(&on.source)));
    }
    for deliver in &terms.deliver {
        let to: Vec<&str> = deliver.to.iter().map(|party| party.as_str()).collect();
        let (at, source) = (deliver.at_time, cited(&deliver.source));
        line(format!("deliver to {to:?} {:?} at {at:?} {source}", deliver.timing));
    }
    for kept in terms.retain.iter().chain(&terms.other_records) {
        line(format!("{} {}", speech.kept(kept), cited(&kept.source)));
    }
    for need in &terms.need {
        line(format!("need {} {}", need.need, cited(&need.source)));
    }
    for owed in &terms.steps {
        let when = if owed.at_restoration { "back" } else { "out" };
        line(format!("step {when} {} {}", owed.step, cited(&owed.source)));
    }
    let after = &terms.after_work;
    for (name, sources) in [("tail", &after.sources), ("checks", &after.check_sources)] {
        sources.iter().for_each(|source| line(format!("{name} by {}", cited(source))));
    }
    for system in terms.systems() {
        line(format!("system {}", system.say(Lang::En)));
    }
    for left in &terms.left_out {
        line(format!("left out: {} {}", left.reason, cited(&left.source)));
    }
    for because in &terms.because {
        line(format!("reason of {:?}", because.source().map(cited)));
    }
    line(format!("tail is uncertain: {}", terms.tail_is_uncertain()));
    for source in &terms.sources {
        line(format!("source {}", speech.source(source)));
    }
    expected.assert_eq(&out.replace(words::NBSP, " "));
}

#[test]
fn a_site_with_hot_work_and_sprinklers_out() {
    whole(
        "[\"IFC 2018\", \"29 CFR 1926\", \"Brisbane Airport impairment notice\"]",
        r#"
at = "2026-03-02T20:10:00"
[building]
occupancy = "R-2"
[construction]
height_m = 14.0
stage = "new"
hours = ["Mon-Thu 07:00-17:00", "Fri 07:00-12:00"]
holidays = ["2026-03-03"]
[[outage]]
system = "sprinkler"
from = "2026-03-02T15:00:00"
[[hot_work]]
began = "2026-03-02T18:00:00"
last_spark = "2026-03-02T20:00:00"
one_sees_all = false
[[order]]
from = "client"
by = "P. Lund"
at = "2026-03-02T16:00:00"
notify = ["insurer"]
"#,
        expect_file!["whole/site.txt"],
    );
}

#[test]
fn a_hotel_in_two_profiles_with_orders() {
    whole(
        "[\"NFPA 101 2018\", \"New York City Fire Code 2022\", \"Lethbridge, Alberta\", \"Savannah, Georgia\"]",
        r#"
at = "2026-03-02T04:00:00"
[building]
occupancy = "R-1"
[[outage]]
system = "fire-alarm"
from = "2026-03-01T22:00:00"
[[outage]]
system = "sprinkler"
from = "2026-03-02T00:00:00"
[[order]]
from = "house"
gap_s = 600
other_duties = true
on = "phone"
deliver = "04:00"
write = ["job-title", "area"]
notify = ["owner"]
at = "2026-03-02T01:00:00"
[[order]]
from = "authority"
by = "R. Ortega"
at = "2026-03-02T02:00:00"
people_at_least = 3
first_round_s = 600
retain_s = 94694400
"#,
        expect_file!["whole/hotel.txt"],
    );
}

#[test]
fn a_hospital_across_midnight() {
    whole(
        "[\"42 CFR 482.41 health care\", \"NFPA 25 2011\", \"NFPA 72\"]",
        r#"
at = "2026-03-02T08:30:00"
[building]
occupancy = "I-2"
[[outage]]
system = "sprinkler"
from = "2026-03-01T14:00:00"
to = "2026-03-01T19:00:00"
[[outage]]
system = "sprinkler"
from = "2026-03-02T02:00:00"
"#,
        expect_file!["whole/hospital.txt"],
    );
}

#[test]
fn a_gathering_and_a_planned_outage() {
    whole(
        "[\"IFC 2018\", \"Seattle 2007\", \"East Lake, Florida\", \"Vancouver, British Columbia\", \"Bothell, Washington\"]",
        r#"
at = "2026-03-02T20:00:00"
[building]
occupancy = "A-2"
crowd = 1200
nuisance_alarms = true
open = true
[[outage]]
system = "fire-alarm"
from = "2026-03-02T19:00:00"
expected_until = "2026-03-03T06:00:00"
[[outage]]
system = "standpipe"
from = "2026-03-02T10:00:00"
to = "2026-03-02T19:00:00"
"#,
        expect_file!["whole/gathering.txt"],
    );
}

#[test]
fn two_pieces_of_hot_work_under_three_sources() {
    whole(
        "[\"UK Joint Code 10th edition\", \"UK HSG168\", \"FM 10-3 before 2016\", \"NFPA torch-applied roofing advice 2017\", \"33 CFR 401.73 St Lawrence Seaway\"]",
        r#"
at = "2026-03-02T17:10:00"
[[hot_work]]
began = "2026-03-02T14:00:00"
last_spark = "2026-03-02T16:00:00"
torch_roofing = true
[[hot_work]]
last_spark = "2026-03-02T15:00:00"
[[order]]
from = "client"
by = "P. Lund"
at = "2026-03-02T15:00:00"
checks_every_s = 600
checks_until = "2026-03-02T22:00:00"
"#,
        expect_file!["whole/hot-work.txt"],
    );
}
