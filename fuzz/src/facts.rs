//! The facts of a site, and the files of the standards.

use crate::{Target, seeds, text};
use rules::terms::facts;
use rules::terms::say::Speech;
use rules::{Standards, Terms};

pub(crate) const TARGET: Target = Target {
    name: "facts",
    says: "facts come to terms or to named faults, each in a sentence",
    reads,
    seeds: || {
        let mut seeds = vec![facts::EXAMPLE.as_bytes().to_vec(), ALL.as_bytes().to_vec()];
        seeds.extend(seeds::folder("standards/nfpa-51b"));
        seeds
    },
    longest: 8 * 1024,
};

fn reads(bytes: &[u8]) {
    let text = &*text(bytes);
    let standards = Standards::embedded();
    let utc = || Speech { lang: words::Lang::En, zone: jiff::tz::TimeZone::UTC };
    match facts::read(text, standards) {
        Ok(facts) => {
            let terms = Terms::of(&facts, standards);
            assert_eq!(terms.at, facts.at, "terms are of the instant that was asked about");
            if let (Some(since), Some(until)) = (terms.since, terms.until) {
                assert!(since <= until, "a watch ends after it begins: {since} to {until}");
            }
        }
        Err(faults) => {
            assert!(!faults.is_empty(), "a refusal says why");
            assert!(faults.iter().all(|fault| !utc().fault(fault).is_empty()), "in a sentence");
        }
    }
    let _ = Standards::read([("nfpa-51b", "fuzz", text)]);
}

const ALL: &str = r#"profile = ["nfpa-101-2018", "nfpa-51b-2019"]
zone = "America/Chicago"
at = "2026-03-02T04:00:00"
[building]
occupancy = "R-1"
sleeping = true
storeys = 9
[[outage]]
system = "fire-alarm"
from = "2026-03-01T22:00:00"
[[hot_work]]
last_spark = "2026-03-01T16:00:00"
[construction]
height_m = 14.0
hours = "Mon-Fri 07:00-17:00"
[[order]]
from = "authority"
gap_s = 900
by = "Marshal Ortiz"
at = "2026-03-01T23:00:00"
"#;
