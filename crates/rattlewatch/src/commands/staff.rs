//! `rattlewatch staff FACTS.toml`: who holds which post from when to when, with hours and cost.

use anyhow::{Context, Result, ensure};
use staffing::{Duty, Facts, Roster, Rules, assign, check, duties, table};
use std::path::PathBuf;
use std::process::ExitCode;

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
}

const RULES: &[&str] = &[
    include_str!("../../../../standards/site/staffing/shift-longest.toml"),
    include_str!("../../../../standards/site/staffing/rest-shortest.toml"),
    include_str!("../../../../standards/site/staffing/week-longest.toml"),
    include_str!("../../../../standards/site/staffing/break-after.toml"),
    include_str!("../../../../standards/site/staffing/break-length.toml"),
    include_str!("../../../../standards/site/staffing/overlap.toml"),
];

pub(crate) fn run(args: Args) -> Result<ExitCode> {
    let text = std::fs::read_to_string(&args.facts)
        .with_context(|| format!("reading {}", args.facts.display()))?;
    let facts = Facts::read(&text).with_context(|| format!("in {}", args.facts.display()))?;
    let rules = Rules::read(RULES.iter().copied()).map_err(anyhow::Error::msg)?;
    let roster = match assign(&facts, &rules, duties(&facts, &rules, None)?) {
        Ok(roster) => roster,
        Err(none) if args.json => {
            println!("{}", serde_json::json!({ "kept": false, "because": none.to_string() }));
            return Ok(ExitCode::FAILURE);
        }
        Err(none) => {
            println!("It cannot be staffed: {none}.");
            return Ok(ExitCode::FAILURE);
        }
    };
    let broken = check(&facts, &rules, &roster);
    ensure!(broken.is_empty(), "the checker refuses the roster: {broken:?}");
    if let Some(path) = &args.ics {
        let calendar = staffing::calendar::calendar(&facts, &roster, facts.from_min);
        std::fs::write(path, calendar).with_context(|| format!("writing {}", path.display()))?;
    }
    if args.json {
        print_json(&facts, &rules, &roster)
    } else {
        print_text(&facts, &rules, &roster)
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

fn print_text(facts: &Facts, rules: &Rules, roster: &Roster) {
    let (people, least) = (roster.people.len(), roster.people_at_least);
    println!("{}: {people} people, at least {least} with shifts like these.", facts.site);
    if people > least {
        println!("Fewer than {people} has not been ruled out.");
    }
    for (d, duty) in roster.duties.iter().enumerate() {
        let (from, to) = (local(facts, duty.from_min), local(facts, duty.to_min));
        println!(
            "{from} – {to}  {}: {}{}",
            facts.posts[duty.post],
            name(roster, d),
            what(facts, duty)
        );
    }
    let lines = table::table(facts, roster);
    for line in &lines {
        let (hours, cost) = (line.minutes as f64 / 60.0, line.cost_cents as f64 / 100.0);
        println!("{}: {} duties, {hours:.2} h, {cost:.2}", line.name, line.duties);
    }
    let hours: f64 = lines.iter().map(|l| l.minutes as f64 / 60.0).sum();
    let cost: f64 = lines.iter().map(|l| l.cost_cents as f64 / 100.0).sum();
    println!("Together: {hours:.2} h, {cost:.2}");
    rules.sources.iter().for_each(|source| println!("Limit: {source}"));
    println!("Local law, contracts and licensed practice decide.");
}

fn what(facts: &Facts, duty: &Duty) -> String {
    match (duty.covers_break, duty.pause) {
        (true, _) => ", covering a break".to_owned(),
        (false, Some(pause)) => format!(", break from {}", local(facts, pause.0)),
        (false, None) => String::new(),
    }
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
