//! Facts in, terms out: each test is a FACTS file and what it comes to, with the source of the expected answer beside it.

mod authority;
mod bad_input;
mod clocks;
mod construction;
mod fuzz;
mod gatherings;
mod hot_work;
mod orders;
mod outages;
mod places;
mod site_values;
mod whole;

use super::*;
use expect_test::Expect;
use jiff::tz::TimeZone;
use std::fmt::Write as _;

/// Reads FACTS against the embedded standards and tells the terms in short lines.
fn check(facts: &str, expected: Expect) {
    expected.assert_eq(&told(facts));
}

fn told(facts: &str) -> String {
    match facts::read(facts, Standards::embedded()) {
        Err(faults) => {
            let lines = faults
                .iter()
                .map(|fault| format!("{}: {:?}, e.g. {}\n", fault.key, fault.wrong, fault.example));
            lines.collect()
        }
        Ok(facts) => tell(&Terms::of(&facts, Standards::embedded())),
    }
}

fn tell(terms: &Terms) -> String {
    let zone = TimeZone::get(&terms.zone).expect("terms carry a zone of the database");
    let local = |at: Timestamp| {
        let at = at.to_zoned_datetime(zone.clone());
        at.strftime("%Y-%m-%d %H:%M:%S%:z").to_string()
    };
    let mut out = String::new();
    let mut line = |text: String| writeln!(out, "{text}").expect("writing to a string");
    let required = serde_plain(&terms.required);
    let since = terms.since.map(|at| format!(" since {}", local(at))).unwrap_or_default();
    let until = terms.until.map(|at| format!(" until {}", local(at))).unwrap_or_default();
    line(format!("{required}{since}{until}"));
    if let Some(at) = terms.owed_from {
        line(format!("owed from {} if it lasts", local(at)));
    }
    if !terms.instead.is_empty() {
        let instead: Vec<&str> = terms.instead.iter().map(|other| other.as_str()).collect();
        line(format!("instead {}", instead.join(", ")));
    }
    for gap in &terms.gaps {
        line(format!("gap {} {} s [{}]", gap.zones, gap.gap_s, cited(&gap.source)));
    }
    let bounds = [
        ("first round within", &terms.first_round),
        ("people", &terms.people),
        ("retain", &terms.retain),
    ];
    for (name, bound) in bounds {
        if let Some(bound) = bound {
            line(format!("{name} {} [{}]", bound.value, cited(&bound.source)));
        }
    }
    let after = &terms.after_work;
    let ends =
        [("watch until", after.watch_until), ("uncertain, at least until", after.at_least_until)];
    for (name, at) in ends {
        if let Some(at) = at {
            line(format!("{name} {}", local(at)));
        }
    }
    if let (Some(every), Some(until)) = (after.checks_every_s, after.checks_until) {
        let at: Vec<String> =
            after.checks_at.iter().map(|at| local(*at)[11..16].to_owned()).collect();
        line(format!("checks every {every} s until {}: {}", local(until), at.join(" ")));
    }
    if let Some(managers) = &terms.crowd_managers {
        line(format!("crowd managers {}", managers.value));
    }
    if let Some(duties) = &terms.other_duties {
        let allowed = if duties.allowed { "allowed" } else { "not allowed" };
        line(format!("other duties {allowed} [{}]", cited(&duties.source)));
    }
    if !terms.write.is_empty() {
        let items: Vec<&str> = terms.write.iter().map(|write| write.item.as_str()).collect();
        line(format!("write {}", items.join(", ")));
    }
    for deliver in &terms.deliver {
        let by = deliver.by.map(|by| format!(" next {}", local(by))).unwrap_or_default();
        line(format!("deliver {:?}{by}", deliver.timing));
    }
    for ended in &terms.ended_by {
        let parties: Vec<&str> = ended.parties.iter().map(|party| party.as_str()).collect();
        line(format!("ended by {}", parties.join(" or ")));
    }
    for gave_way in &terms.gave_way {
        line(format!(
            "gave way: {:?} {:?} [{}] {:?}",
            gave_way.term,
            gave_way.value,
            cited(&gave_way.source),
            gave_way.to
        ));
    }
    out
}

/// Adds the reasons, in the words of the page.
fn told_with_reasons(facts: &str) -> String {
    let facts =
        facts::read(facts, Standards::embedded()).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let terms = Terms::of(&facts, Standards::embedded());
    let speech = say::Speech { lang: words::Lang::En, zone: facts.zone.clone() };
    let reasons =
        terms.because.iter().map(|because| format!("because {}\n", speech.because(because)));
    let plain = tell(&terms) + &reasons.collect::<String>();
    plain.replace(words::NBSP, " ")
}

fn cited(source: &Citation) -> String {
    let place =
        if source.profile.is_empty() { source.source.clone() } else { source.profile.clone() };
    format!("{}: {place} {}", source.from, source.clause).trim_end().to_owned()
}

fn serde_plain(required: &Required) -> &'static str {
    match required {
        Required::Yes => "yes",
        Required::NoneFound => "none_found",
        Required::Authority => "authority",
    }
}
