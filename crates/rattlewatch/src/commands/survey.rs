//! `rattlewatch survey PLAN`: what of a plan cannot be reached, and distances against limits with their sources.

use anyhow::{Context, Result, bail};
use floorplan::{Circumstances, LevelId, Limits, Plan, Survey, survey};
use picture::{Over, plan_svg};
use std::path::PathBuf;
use std::process::ExitCode;

/// Survey a plan: what cannot be reached, and distances against limits with their sources
///
/// Local codes, the authority and licensed practice decide. Ends with 0 when all is reached and within limits, 1 when
/// something is not, 2 when the plan could not be read.
#[derive(clap::Args)]
pub(crate) struct Args {
    /// The plan
    plan: PathBuf,
    /// Print the survey as JSON
    #[arg(long)]
    json: bool,
    /// Print a picture of this level as SVG; what cannot be reached is hatched
    #[arg(long, value_name = "LEVEL")]
    svg: Option<String>,
    /// Occupancy group, for example B or R
    #[arg(long, default_value = "B")]
    occupancy: String,
    /// Sprinklers are in working order; leave it out while they are impaired
    #[arg(long)]
    sprinklered: bool,
    /// The site is being built or altered
    #[arg(long)]
    construction: bool,
}

macro_rules! standards {
    ($($folder:literal / $name:literal,)*) => {
        &[$(($name, include_str!(concat!("../../../../standards/site/", $folder, "/", $name, ".toml"))),)*]
    };
}

/// The limits and usual values that a survey needs.
const STANDARDS: &[(&str, &str)] = standards! {
    "survey" / "common-path",
    "survey" / "exit-travel",
    "survey" / "extinguisher-area",
    "survey" / "extinguisher-travel",
    "survey" / "hot-work-distance",
    "survey" / "hot-work-extinguisher",
    "walking" / "slope",
};

pub(crate) fn run(args: Args) -> Result<ExitCode> {
    let bytes =
        std::fs::read(&args.plan).with_context(|| format!("reading {}", args.plan.display()))?;
    let plan = Plan::read(&bytes)?;
    let limits = Limits::read(STANDARDS.iter().copied())?;
    let at = Circumstances {
        sprinklered: args.sprinklered,
        occupancy: args.occupancy.clone(),
        construction: args.construction,
    };
    let found = survey(&plan, &limits, &at);
    if let Some(level) = &args.svg {
        print!("{}", picture_of(&plan, level, &found)?);
    } else if args.json {
        println!("{:#}", found.json(&plan));
    } else {
        print_text(&plan, &found);
    }
    let ok =
        found.unreachable.is_empty() && found.checks.iter().all(|check| check.ok != Some(false));
    Ok(if ok { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// A level is named by its id or by what people call it.
fn picture_of(plan: &Plan, level: &str, found: &Survey) -> Result<String> {
    let known = plan.levels.iter().find(|l| l.id.as_str() == level || l.name == level);
    let Some(id) = known.map(|level| &level.id) else {
        let names: Vec<&LevelId> = plan.levels.iter().map(|level| &level.id).collect();
        bail!("there is no level {level:?}; there are {names:?}");
    };
    let lost = |room: &floorplan::Room| found.unreachable.iter().any(|u| u.room == room.id);
    let hatched = (0..plan.rooms.len()).filter(|&i| lost(&plan.rooms[i])).collect();
    match plan_svg(plan, id, &Over { hatched, ..Over::default() }) {
        Some(svg) => Ok(svg),
        None => bail!("nothing is drawn on level {level:?}: import or draw its rooms first"),
    }
}

fn print_text(plan: &Plan, found: &Survey) {
    println!("{}: {} levels, {:.0} m² of floor", plan.name, found.levels.len(), found.floor_m2);
    for lost in &found.unreachable {
        println!(
            "cannot be reached: {} on {}, missing {}",
            lost.room,
            lost.spot.level,
            lost.missing.name()
        );
    }
    for check in &found.checks {
        let verdict = match check.ok {
            Some(true) => "within",
            Some(false) => "BEYOND",
            None => "stated",
        };
        let json = check.json();
        let limit =
            json["limit_m"].as_f64().map_or_else(String::new, |limit| format!(", limit {limit}"));
        let measured = json["measured_m"]
            .as_f64()
            .map_or_else(|| "none".to_owned(), |measured| measured.to_string());
        println!("{verdict}: {} {measured}{limit} [{}]", check.what, check.source);
    }
}
