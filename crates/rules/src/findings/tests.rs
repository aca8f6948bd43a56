//! Rules on nights: a story in, findings out. The rules of one subject share a file.

mod calls;
mod cases;
mod edges;
mod ends;
mod evidence;
mod gaps;
mod hand;
mod heard;
mod limits;
mod owed;
mod people;
mod places;
mod said;
mod shifts;
mod tails;

use super::{Finding, Judging, Source, Verdict, judge};
use expect_test::Expect;
use night::Record;

/// Judges a night at its end, or at a clock time given as `at HH:MM` in its last line.
pub(crate) fn judged(night: &str) -> (Record, Vec<Finding>) {
    let record = night::tell(night).unwrap_or_else(|fault| panic!("{fault}"));
    let watch = record.folded();
    let state = watch.about(record.end_ms);
    let judging = Judging { watch: &watch, state: &state, terms: Some(&record.terms) };
    let findings = judge(&judging);
    (record, findings)
}

/// One line per finding of a rule: verdict, zone, times, facts, when the lines were written that it rests on, how late
/// they were sealed, source.
pub(crate) fn check(rule: &str, night: &str, expected: Expect) {
    let (record, findings) = judged(night);
    let mut shown = String::new();
    for finding in findings.iter().filter(|finding| finding.rule() == rule) {
        shown.push_str(&show(finding, &record));
        shown.push('\n');
    }
    expected.assert_eq(&shown);
}

fn show(finding: &Finding, record: &Record) -> String {
    let clock = |ms: Option<i64>| ms.map_or("…".to_owned(), |ms| words::clock(ms, record.tz_min));
    let written = |id: &ledger::LineId| {
        let line = record.lines.iter().find(|line| line.line.id() == *id);
        clock(line.map(|line| line.line.clk.recorded_ms()))
    };
    let lines: Vec<String> = finding.lines.iter().map(written).collect();
    // In one order, also where another package of the build lets maps keep theirs.
    let mut facts = serde_json::to_value(&finding.facts).unwrap();
    facts.sort_all_objects();
    let source = match &finding.source {
        Source::Demand { title, .. } => title.clone(),
        Source::Terms => "terms".to_owned(),
        Source::Ours => "ours".to_owned(),
    };
    format!(
        "{:?} {}{}-{} {} on {} sealed after {} [{}]",
        finding.verdict,
        finding.zone.as_ref().map_or(String::new(), |zone| format!("{zone} ")),
        clock(finding.from_ms),
        clock(finding.to_ms),
        facts["facts"],
        if lines.is_empty() { "no line".to_owned() } else { lines.join(" ") },
        finding.sealed_after_s.map_or("…".to_owned(), |s| format!("{s} s")),
        source,
    )
}

/// No finding of a night but kept ones.
pub(crate) fn all_kept(night: &str) {
    let (record, findings) = judged(night);
    let others: Vec<String> = findings
        .iter()
        .filter(|finding| finding.verdict != Verdict::Kept)
        .map(|finding| format!("{} {}", finding.rule(), show(finding, &record)))
        .collect();
    assert!(others.is_empty(), "{}", others.join("\n"));
    assert!(findings.iter().any(|finding| finding.verdict == Verdict::Kept));
}
