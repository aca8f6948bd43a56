//! `rattlewatch terms FACTS.toml`: which watch is owed, and on what terms.

mod json;
mod page;

use anyhow::Context;
use rules::terms::facts::{EXAMPLE, read};
use rules::terms::say::Speech;
use rules::{Standards, Terms};
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;
use words::Lang;

/// Say which watch is owed by the facts, and on what terms, each with its source
///
/// Ends with 0 if the facts could be read, whatever the answer is, else with 2.
#[derive(clap::Args)]
#[command(arg_required_else_help = true)]
pub(crate) struct Args {
    /// The facts of a site, a TOML file; `--example` prints one
    #[arg(required_unless_present_any = ["profiles", "example"])]
    facts: Option<PathBuf>,
    /// Print as JSON
    #[arg(long)]
    json: bool,
    /// List the profiles: codes by edition, and places
    #[arg(long, conflicts_with_all = ["facts", "example"])]
    profiles: bool,
    /// Print a commented file of facts
    #[arg(long, conflicts_with = "facts")]
    example: bool,
    /// The language of the answer: en or es
    #[arg(long, value_name = "TAG", value_parser = super::language, default_value = "en")]
    lang: Lang,
}

pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    let mut out = std::io::stdout().lock();
    if args.example {
        write!(out, "{EXAMPLE}")?;
    } else if args.profiles {
        list_profiles(args.json, &mut out)?;
    } else if let Some(path) = &args.facts {
        return print_terms(path, &args, &mut out);
    }
    Ok(ExitCode::SUCCESS)
}

fn list_profiles(json: bool, out: &mut impl Write) -> anyhow::Result<()> {
    let profiles = Standards::embedded().profiles();
    if json {
        let list: Vec<_> = profiles
            .iter()
            .map(|profile| serde_json::json!({ "id": profile.id, "title": profile.title }))
            .collect();
        writeln!(out, "{}", serde_json::to_string(&list)?)?;
    } else {
        for profile in profiles {
            writeln!(out, "{}", profile.title)?;
        }
    }
    Ok(())
}

fn print_terms(path: &PathBuf, args: &Args, out: &mut impl Write) -> anyhow::Result<ExitCode> {
    let text = std::fs::read_to_string(path).with_context(|| {
        format!("{} could not be read; `rattlewatch terms --example` prints one", path.display())
    })?;
    let lang = args.lang;
    let facts = match read(&text, Standards::embedded()) {
        Ok(facts) => facts,
        Err(faults) => {
            let speech = Speech { lang, zone: jiff::tz::TimeZone::UTC };
            let mut errors = std::io::stderr().lock();
            for fault in &faults {
                writeln!(errors, "{}: {}", path.display(), speech.fault(fault))?;
            }
            return Ok(ExitCode::from(super::COULD_NOT));
        }
    };
    let terms = Terms::of(&facts, Standards::embedded());
    let speech = Speech { lang, zone: facts.zone.clone() };
    if args.json {
        writeln!(out, "{}", json::terms(&terms, &speech))?;
    } else {
        write!(out, "{}", page::terms(&terms, &speech))?;
    }
    Ok(ExitCode::SUCCESS)
}
