//! `rattlewatch survey PLAN`: what of a plan cannot be reached, and distances against limits with their sources; with
//! `--walk` the closed walk from which all of it is seen.

mod say;
mod walk;

use anyhow::{Context, Result, bail};
use floorplan::{Circumstances, LevelId, Plan, Survey, survey};
use picture::{Over, plan_svg};
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;
use walk::Seen;
use words::Lang;

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
    /// Seek a closed walk that sees all of the floor, stairs and levels included; drawn with --svg
    #[arg(long)]
    walk: bool,
    /// How far a guard can judge what is seen where a zone says nothing else, in metres (our own choice)
    #[arg(long, value_name = "METRES", default_value_t = 12.0, requires = "walk")]
    sight: f64,
    /// How long to seek the walk
    #[arg(long, value_name = "T", default_value_t = 10.0, requires = "walk")]
    seconds: f64,
    /// Seed of the search
    #[arg(long, value_name = "S", default_value_t = 1, requires = "walk")]
    seed: u64,
    /// Occupancy group, for example B or R
    #[arg(long, default_value = "B")]
    occupancy: String,
    /// Sprinklers are in working order; leave it out while they are impaired
    #[arg(long)]
    sprinklered: bool,
    /// The site is being built or altered
    #[arg(long)]
    construction: bool,
    /// The language of the answer: en or es
    #[arg(long, value_name = "TAG", value_parser = super::language, default_value = "en")]
    lang: Lang,
}

pub(crate) fn run(args: Args) -> Result<ExitCode> {
    let bytes =
        std::fs::read(&args.plan).with_context(|| format!("reading {}", args.plan.display()))?;
    let plan = Plan::read(&bytes)?;
    let faults = plan.check();
    faults.iter().for_each(|fault| eprintln!("{fault}"));
    let limits = rules::site_limits();
    let at = Circumstances {
        sprinklered: args.sprinklered,
        occupancy: args.occupancy.clone(),
        construction: args.construction,
    };
    let found = survey(&plan, limits, &at);
    let seen = match args.walk {
        true => Some(Seen::search(&plan, limits, args.sight, args.seconds, args.seed)?),
        false => None,
    };
    let lang = args.lang;
    let text = if let Some(level) = &args.svg {
        picture_of(lang, &plan, level, &found, seen.as_ref())?
    } else if args.json {
        format!("{:#}\n", say::json(lang, &plan, &found, seen.as_ref()))
    } else {
        say::page(lang, &plan, &found, seen.as_ref())
    };
    std::io::stdout().write_all(text.as_bytes()).context("writing the survey")?;
    // A level with rooms and without floor was not surveyed at all; one without rooms is a list of stops.
    let drawn = |level: &LevelId| plan.rooms.iter().any(|room| room.level == *level);
    let ok = found.unreachable.is_empty()
        && found.loose_doors.is_empty()
        && found.loose_links.is_empty()
        && !found.without_floor.iter().any(|(level, _)| drawn(level))
        && found.checks.iter().all(|check| check.ok != Some(false))
        && seen.is_none_or(|seen| seen.walk.unseen_area == 0.0);
    Ok(if ok && faults.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// A level is named by its id or by what people call it.
fn picture_of(
    lang: Lang,
    plan: &Plan,
    level: &str,
    found: &Survey,
    seen: Option<&Seen>,
) -> Result<String> {
    let known = plan.levels.iter().find(|l| l.id.as_str() == level || l.name == level);
    let Some(id) = known.map(|level| &level.id) else {
        let names: Vec<&LevelId> = plan.levels.iter().map(|level| &level.id).collect();
        bail!("there is no level {level:?}; there are {names:?}");
    };
    let lost = |room: &floorplan::Room| found.unreachable.iter().any(|u| u.room == room.id);
    let hatched = (0..plan.rooms.len()).filter(|&i| lost(&plan.rooms[i])).collect();
    let (walks, viewpoints) = seen.map(|seen| seen.on(id)).unwrap_or_default();
    let over = Over { walks, viewpoints, hatched, lang: Some(lang), ..Over::exact() };
    match plan_svg(plan, id, &over) {
        Some(svg) => Ok(svg),
        None => bail!("nothing is drawn on level {level:?}: import or draw its rooms first"),
    }
}
