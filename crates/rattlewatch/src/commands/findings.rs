//! `rattlewatch findings BUNDLE`: was the watch kept.

use super::opened::Opened;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use ledger::Digest;
use record::documents::{Document, Terms};
use rules::findings::{Finding, Judging, Verdict, judge};
use rules::say::{Names, ONE_NIGHT_MS, Reader};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;
use watch::State;
use words::{Lang, findings as texts};

/// Judge the watch of a bundle against its terms, most serious first
///
/// Ends with 0 if nothing is broken or unclear, 1 if something is, 2 if the bundle could not be read.
#[derive(clap::Args)]
pub(crate) struct Args {
    /// The bundle, a zip file
    bundle: PathBuf,
    /// Print the findings as JSON
    #[arg(long)]
    json: bool,
    /// Show what was kept, too
    #[arg(long)]
    all: bool,
    /// The language of the answer: en or es
    #[arg(long, alias = "language", value_name = "TAG", value_parser = super::language, default_value = "en")]
    lang: Lang,
}

pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    // If the bundle as a whole does not verify, the first line of the output says so.
    let opened = Opened::read(&args.bundle)?;
    let (watch, about_ms) = opened.fold();
    let state = watch.about(about_ms);
    let terms = terms(&state, &opened.blobs);
    let judging = Judging { watch: &watch, state: &state, terms: terms.as_ref() };
    let found: Vec<Finding> = judge(&judging)
        .into_iter()
        .filter(|finding| args.all || finding.verdict != Verdict::Kept)
        .collect();
    let names = names(&state, &opened.blobs).with_people(&watch);
    let cover = &state.cover;
    let print = Printing {
        zone: zone(&state),
        names,
        lang: args.lang,
        dated: cover.from_ms.is_some_and(|from_ms| cover.until_ms - from_ms > ONE_NIGHT_MS),
    };
    let mut out = std::io::stdout().lock();
    match args.json {
        true => print.json(&found, &opened, &mut out)?,
        false => print.text(&found, &opened, &mut out)?,
    }
    let serious = |finding: &Finding| matches!(finding.verdict, Verdict::Broken | Verdict::Unclear);
    let ok = opened.verified && !found.iter().any(serious);
    Ok(if ok { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

fn terms(state: &State, blobs: &BTreeMap<Digest, Vec<u8>>) -> Option<Terms> {
    let terms = state.terms.as_ref()?;
    Terms::parse(blobs.get(&terms.set.terms)?).ok()
}

fn names(state: &State, blobs: &BTreeMap<Digest, Vec<u8>>) -> Names {
    let plan = state.plan.as_ref().and_then(|plan| blobs.get(&plan.set.plan));
    let plan = plan.and_then(|bytes| floorplan::Plan::read(bytes).ok());
    plan.map(|plan| Names::of_plan(&plan)).unwrap_or_default()
}

fn zone(state: &State) -> TimeZone {
    let opening = state.opening.as_ref();
    opening.and_then(|opening| TimeZone::get(&opening.tz).ok()).unwrap_or(TimeZone::UTC)
}

struct Printing {
    zone: TimeZone,
    names: Names,
    lang: Lang,
    /// The watch lasts longer than a night: times in sentences have their date.
    dated: bool,
}

impl Printing {
    fn text(&self, found: &[Finding], opened: &Opened, out: &mut impl Write) -> anyhow::Result<()> {
        if !opened.verified {
            writeln!(out, "{}", texts::not_verified(self.lang))?;
            opened.faults.iter().try_for_each(|says| writeln!(out, "- {says}"))?;
        }
        if found.is_empty() {
            writeln!(out, "{}", texts::none_kept(self.lang))?;
        }
        for finding in found {
            let reader = self.reader(finding);
            let sealed = match finding.sealed_after_s {
                Some(s) if s >= 120 => texts::sealed_late(self.lang, words::duration_words(s)),
                Some(_) => String::new(),
                None if finding.lines.is_empty() => String::new(),
                None => texts::sealed_open(self.lang).to_owned(),
            };
            let says = reader.finding(finding);
            let line = format!("{:<8} {says} {sealed}", self.verdict(finding.verdict));
            writeln!(out, "{}", line.trim_end())?;
            if let Some(innocent) = reader.innocent(finding) {
                writeln!(out, "{:<8} {innocent}", "")?;
            }
            let lines = texts::lines_count(self.lang, finding.lines.len() as i64);
            writeln!(
                out,
                "{:<8} [{}; {}; {lines}]",
                "",
                finding.rule(),
                reader.source(&finding.source)
            )?;
        }
        Ok(())
    }

    fn json(&self, found: &[Finding], opened: &Opened, out: &mut impl Write) -> anyhow::Result<()> {
        if !opened.verified {
            eprintln!("{}", texts::not_verified(self.lang));
        }
        let rows: Vec<Value> = found.iter().map(|finding| self.row(finding)).collect();
        // One order of keys, whatever the build: other programs may compare the text.
        let mut printed = serde_json::to_value(&rows)?;
        printed.sort_all_objects();
        writeln!(out, "{}", serde_json::to_string_pretty(&printed)?)?;
        Ok(())
    }

    fn row(&self, finding: &Finding) -> Value {
        let reader = self.reader(finding);
        json!({
            "rule": finding.rule(),
            "verdict": finding.verdict,
            "zone": finding.zone,
            "from": finding.from_ms.map(|ms| self.time(ms)),
            "to": finding.to_ms.map(|ms| self.time(ms)),
            "sealed_after_s": finding.sealed_after_s,
            "lines": finding.lines,
            "source": reader.source(&finding.source),
            "says": reader.finding(finding),
            "may_also_be": reader.innocent(finding),
        })
    }

    fn verdict(&self, verdict: Verdict) -> &'static str {
        match verdict {
            Verdict::Broken => texts::verdict_broken(self.lang),
            Verdict::Unclear => texts::verdict_unclear(self.lang),
            Verdict::Look => texts::verdict_look(self.lang),
            Verdict::Kept => texts::verdict_kept(self.lang),
        }
    }

    /// Times in a sentence are those of the site then: its zone of time may change over a watch.
    fn reader(&self, finding: &Finding) -> Reader<'_> {
        let at = finding.from_ms.and_then(|ms| Timestamp::from_millisecond(ms).ok());
        let tz_min = at.map_or(0, |at| i64::from(self.zone.to_offset(at).seconds()) / 60);
        Reader { lang: self.lang, names: &self.names, tz_min, dated: self.dated }
    }

    /// RFC 3339 with the site's offset, whole seconds.
    fn time(&self, at_ms: i64) -> String {
        let Ok(at) = Timestamp::from_second(at_ms.div_euclid(1000)) else {
            return at_ms.to_string();
        };
        at.display_with_offset(self.zone.to_offset(at)).to_string()
    }
}
