//! `rattlewatch staff FACTS.toml`: who holds which post from when to when, with hours and cost.

use anyhow::{Context, Result, ensure};
use staffing::assign::NoRoster;
use staffing::{Facts, Roster, Rules, assign, check, duties, table};
use std::fmt::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;
use words::{Lang, staff as said};

/// Say how many people a watch needs over its days, who comes when, and what it costs
///
/// Ends with 0 when every minute of every post has a named guard within the limits of work and rest, 1 when the people
/// given do not suffice, 2 when the facts cannot be read.
#[derive(clap::Args)]
#[command(arg_required_else_help = true)]
pub(crate) struct Args {
    /// The watch, its posts and its people; see docs/staffing-a-watch.md
    facts: PathBuf,
    /// Print as JSON
    #[arg(long)]
    json: bool,
    /// Write the duties as a calendar
    #[arg(long, value_name = "FILE")]
    ics: Option<PathBuf>,
    /// The language of the answer: en or es
    #[arg(long, value_name = "TAG", value_parser = super::language, default_value = "en")]
    lang: Lang,
}

pub(crate) fn run(args: Args) -> Result<ExitCode> {
    let text = std::fs::read_to_string(&args.facts)
        .with_context(|| format!("reading {}", args.facts.display()))?;
    let facts = Facts::read(&text).with_context(|| format!("in {}", args.facts.display()))?;
    let rules =
        Rules::read(rules::standards::site_files("staffing")).map_err(anyhow::Error::msg)?;
    let lang = args.lang;
    let mut roster = match assign(&facts, &rules, duties(&facts, &rules, None)?) {
        Ok(roster) => roster,
        Err(none) if args.json => {
            let said = serde_json::json!({ "kept": false, "because": none.to_string() });
            super::put(&format!("{said}\n"))?;
            return Ok(ExitCode::FAILURE);
        }
        Err(NoRoster::Nobody { post, from_min, people_at_least }) => {
            let from = local(&facts, from_min);
            let cannot = said::cannot(lang, from, people_at_least as i64, post);
            super::put(&format!("{cannot}\n"))?;
            return Ok(ExitCode::FAILURE);
        }
    };
    if facts.people.is_empty() {
        for (n, person) in roster.people.iter_mut().enumerate() {
            person.name = said::numbered(lang, n + 1);
        }
    }
    let broken = check(&facts, &rules, &roster);
    ensure!(broken.is_empty(), "the checker refuses the roster: {broken:?}");
    if let Some(path) = &args.ics {
        let calendar = staffing::calendar::calendar(&facts, &roster, facts.from_min);
        std::fs::write(path, calendar).with_context(|| format!("writing {}", path.display()))?;
    }
    if args.json {
        print_json(&facts, &rules, &roster)
    } else {
        print!("{}", page(lang, &facts, &rules, &roster))
    }
    Ok(ExitCode::SUCCESS)
}

fn local(facts: &Facts, minute: i64) -> String {
    let at = jiff::Timestamp::from_second(minute * 60).unwrap_or(jiff::Timestamp::UNIX_EPOCH);
    at.to_zoned_datetime(facts.zone.clone()).strftime("%Y-%m-%d %H:%M %Z").to_string()
}

fn name(roster: &Roster, duty: usize) -> &str {
    &roster.people[roster.who[duty]].name
}

fn page(lang: Lang, facts: &Facts, rules: &Rules, roster: &Roster) -> String {
    let (people, least) = (roster.people.len() as i64, roster.people_at_least);
    let mut lines = vec![said::people(lang, least, people, &facts.site)];
    if people > least as i64 {
        lines.push(said::fewer_open(lang, people));
    }
    for (d, duty) in roster.duties.iter().enumerate() {
        let (from, to) = (local(facts, duty.from_min), local(facts, duty.to_min));
        let (post, person) = (&facts.posts[duty.post], name(roster, d));
        lines.push(match (duty.covers_break, duty.pause) {
            (true, _) => said::duty_cover(lang, from, person, post, to),
            (false, Some(pause)) => {
                said::duty_break(lang, from, local(facts, pause.0), person, post, to)
            }
            (false, None) => said::duty(lang, from, person, post, to),
        });
    }
    let loads = table::table(facts, roster);
    let hundredths = |amount: f64| words::decimal(lang, amount, 2);
    for load in &loads {
        let (hours, cost) = (load.minutes as f64 / 60.0, load.cost_cents as f64 / 100.0);
        let (n, person) = (load.duties as i64, &load.name);
        lines.push(said::load(lang, hundredths(cost), hundredths(hours), n, person));
    }
    let hours: f64 = loads.iter().map(|l| l.minutes as f64 / 60.0).sum();
    let cost: f64 = loads.iter().map(|l| l.cost_cents as f64 / 100.0).sum();
    lines.push(said::together(lang, hundredths(cost), hundredths(hours)));
    lines.extend(rules.sources.iter().map(|source| said::limit(lang, source)));
    lines.push(said::law(lang).to_owned());
    lines.iter().fold(String::new(), |mut page, line| {
        let _ = writeln!(page, "{line}");
        page
    })
}

fn print_json(facts: &Facts, rules: &Rules, roster: &Roster) {
    let at = |minute: i64| {
        jiff::Timestamp::from_second(minute * 60).unwrap_or(jiff::Timestamp::UNIX_EPOCH).to_string()
    };
    let duties: Vec<_> = (roster.duties.iter().enumerate())
        .map(|(d, duty)| {
            serde_json::json!({
                "post": facts.posts[duty.post], "person": name(roster, d), "from": at(duty.from_min),
                "to": at(duty.to_min), "covers_break": duty.covers_break,
                "break": duty.pause.map(|p| [at(p.0), at(p.1)]),
            })
        })
        .collect();
    let table: Vec<_> = table::table(facts, roster)
        .iter()
        .map(|l| {
            serde_json::json!({
                "person": l.name, "duties": l.duties, "hours": l.minutes as f64 / 60.0,
                "cost": l.cost_cents as f64 / 100.0,
            })
        })
        .collect();
    println!(
        "{}",
        serde_json::json!({
            "kept": true, "people": roster.people.len(), "people_at_least": roster.people_at_least,
            "duties": duties, "table": table, "limits": rules.sources,
        })
    );
}
