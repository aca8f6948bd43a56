//! `rattlewatch route PLAN --gap 30min`: how many guards, who walks what when, and can it be kept.

mod json;
mod page;
mod places;
mod svg;

use anyhow::{Context, bail};
use places::Places;
use planner::answer::{Answer, Question, answer};
use planner::{Effort, Go, Progress};
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::{Duration, Instant};
use words::Lang;

/// Say how many guards a watch needs, who walks what when, and what to tell the client
///
/// Ends with 0 when the gaps can be kept, with 1 when not, with 2 when the question cannot be read.
#[derive(clap::Args)]
#[command(arg_required_else_help = true)]
pub(crate) struct Args {
    /// A plan with stops
    #[arg(required_unless_present = "stops", conflicts_with = "stops")]
    plan: Option<PathBuf>,
    /// A list of stops instead: name,x_m,y_m,level,stay_s,gap_s
    #[arg(long, value_name = "FILE.csv")]
    stops: Option<PathBuf>,
    /// Longest gap of every stop, such as 30min; without it the plan's or the list's own gaps count
    #[arg(long, value_name = "TIME", value_parser = time_ms)]
    gap: Option<i64>,
    /// Longest gap of one zone (or one stop of a list), such as NAME=10min
    #[arg(long, value_name = "NAME=TIME")]
    zone_gap: Vec<String>,
    /// Answer for this many guards
    #[arg(long, value_name = "N")]
    guards: Option<usize>,
    /// The stop where the guards stand when they are sent
    #[arg(long, value_name = "STOP")]
    from: Option<String>,
    /// Share of each gap that the plan may use, in percent; the rest is kept for writing, doors and delay
    #[arg(long, value_name = "PERCENT", default_value_t = 85, value_parser = clap::value_parser!(i64).range(1..=100))]
    share: i64,
    /// Walking speed on a list of stops, in m/s
    #[arg(long, value_name = "M_S", default_value_t = 1.0)]
    speed: f64,
    /// How long to search
    #[arg(long, value_name = "T", default_value_t = 10.0)]
    seconds: f64,
    /// Seed of the search
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
    /// Print as JSON
    #[arg(long, conflicts_with = "svg")]
    json: bool,
    /// Draw it level by level
    #[arg(long)]
    svg: bool,
    /// Language of the answer
    #[arg(long, value_name = "TAG", default_value = "en")]
    lang: String,
}

pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    let places = places(&args)?;
    let from = match &args.from {
        Some(name) => Some(places.named(name).with_context(|| {
            format!("no stop is called {name:?}; the stops are {}", places.names.join(", "))
        })?),
        None => None,
    };
    let question = Question {
        demands: &places.demands,
        from,
        guards: args.guards,
        share_permille: args.share * 10,
    };
    let answer = search(&args, &question)?;
    let mut out = std::io::stdout().lock();
    if args.json {
        writeln!(out, "{}", json::answer(&places, &answer))?;
    } else if args.svg {
        let Answer::Kept(kept) = &answer else {
            bail!("there is no plan to draw: ask without --svg")
        };
        write!(out, "{}", svg::drawing(&places, &kept.plan))?;
    } else {
        write!(out, "{}", page::answer(Lang::from_tag(&args.lang), args.share, &places, &answer))?;
    }
    Ok(ExitCode::from(u8::from(!matches!(answer, Answer::Kept(_)))))
}

fn places(args: &Args) -> anyhow::Result<Places> {
    let mut places = match (&args.stops, &args.plan) {
        (Some(file), _) => places::list(file, args.speed, args.gap)?,
        (None, Some(file)) => places::plan(file)?,
        (None, None) => bail!("give a plan, or a list of stops with --stops"),
    };
    if let Some(gap) = args.gap {
        places.demands.gap_ms.fill(gap);
    }
    for given in &args.zone_gap {
        let (name, time) = given.split_once('=').context("--zone-gap wants NAME=TIME")?;
        places.tighten(name, time_ms(time).map_err(anyhow::Error::msg)?)?;
    }
    Ok(places)
}

#[expect(
    clippy::disallowed_methods,
    reason = "the command line is where the clock may stop a search"
)]
fn search(args: &Args, question: &Question<'_>) -> anyhow::Result<Answer> {
    anyhow::ensure!(args.seconds.is_finite() && args.seconds >= 0.0, "--seconds must be 0 or more");
    let (begun, limit) = (Instant::now(), Duration::from_secs_f64(args.seconds.min(1e6)));
    let mut watcher = |_: Progress| if begun.elapsed() >= limit { Go::Stop } else { Go::On };
    Ok(answer(question, &mut Effort::new(args.seed, u64::MAX, &mut watcher)))
}

/// `90s`, `30min`, `1h`; a bare number is refused, since it could be either.
fn time_ms(text: &str) -> Result<i64, String> {
    let (unit_ms, digits) = [("min", 60_000), ("h", 3_600_000), ("s", 1000)]
        .iter()
        .find_map(|(unit, ms)| Some((*ms, text.strip_suffix(unit)?)))
        .ok_or_else(|| format!("{text:?} has no unit: write 30min, 90s or 1h"))?;
    match digits.trim().parse::<i64>() {
        Ok(n) if (1..=100_000).contains(&n) => Ok(n * unit_ms),
        _ => Err(format!("{text:?} is not a time: write 30min, 90s or 1h")),
    }
}
