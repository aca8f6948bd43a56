//! `rattlewatch route PLAN --gap 30min`: how many guards, who walks what when, and can it be kept.

mod drawn;
mod json;
mod list;
mod page;
mod places;
mod svg;
mod walked;

use super::rounds::{Rounds, Stop};
use anyhow::{Context, bail, ensure};
use floorplan::Trail;
use places::{Places, Site};
use planner::alternatives::{Order, alternatives};
use planner::answer::{Answer, Question, answer};
use planner::ground::{Ground, Seen, Stations};
use planner::{Effort, Go, Progress};
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::{Duration, Instant};
use walked::Recorded;
use words::Lang;

/// Say how many guards a watch needs, who walks what when, and what to tell the client
///
/// Ends with 0 when the gaps can be kept, with 1 when not, with 2 when the question cannot be read.
#[derive(clap::Args)]
#[command(arg_required_else_help = true)]
pub(crate) struct Args {
    /// A plan; where it has no stops, viewpoints are chosen that see its floor
    #[arg(conflicts_with = "stops")]
    plan: Option<PathBuf>,
    /// A list of stops instead: name,x_m,y_m,level,stay_s,gap_s
    #[arg(long, value_name = "FILE.csv")]
    stops: Option<PathBuf>,
    /// Longest gap of every stop, such as 30min; without it the plan's or the list's own gaps count
    #[arg(long, value_name = "TIME", value_parser = time_ms)]
    gap: Option<i64>,
    /// Longest gap of one zone, room or stop, such as NAME=10min; a look-back is the gap of a stop
    #[arg(long, value_name = "NAME=TIME")]
    zone_gap: Vec<String>,
    /// A stop where somebody stands all the time, as at hot work
    #[arg(long, value_name = "STOP")]
    stand: Vec<String>,
    /// Where one guard may go, such as 2=ZONE; repeat it for more zones
    #[arg(long, value_name = "GUARD=ZONE")]
    only: Vec<String>,
    /// Answer for this many guards
    #[arg(long, value_name = "N")]
    guards: Option<usize>,
    /// The stop where the guards stand when they are sent
    #[arg(long, value_name = "STOP")]
    from: Option<String>,
    /// Add viewpoints until all floor that can be walked to is seen
    #[arg(long)]
    see_all: bool,
    /// The guards have no keys: locked doors stay shut
    #[arg(long)]
    no_keys: bool,
    /// The bundle of an earlier watch: legs recorded in it set the walking times right; repeat it for more
    #[arg(long, value_name = "BUNDLE", conflicts_with = "stops")]
    walked: Vec<PathBuf>,
    /// Leave out stops that no way leads to, and name them
    #[arg(long)]
    reachable_only: bool,
    /// A break that every guard takes, one after the other
    #[arg(long = "break", value_name = "TIME", value_parser = time_ms)]
    pause: Option<i64>,
    /// Other orders of each round, so that it cannot be foretold
    #[arg(long, value_name = "K", default_value_t = 0)]
    alternatives: usize,
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
    /// Draw it, every level or one
    #[arg(long, value_name = "LEVEL", num_args = 0..=1, default_missing_value = "")]
    svg: Option<String>,
    /// Write the rounds down, for `replan` in the night
    #[arg(long, value_name = "FILE")]
    write: Option<PathBuf>,
    /// The language of the answer: en or es
    #[arg(long, value_name = "TAG", value_parser = super::language, default_value = "en")]
    lang: Lang,
}

/// What an answer rests on and what was made of it.
struct Found<'a> {
    places: &'a Places,
    answer: &'a Answer,
    site: Option<&'a Site>,
    /// Ways of the legs, for a plan.
    legs: Vec<Vec<Option<Trail>>>,
    seen: Option<Seen>,
    orders: Vec<Vec<Order>>,
    wants_orders: bool,
    /// Viewpoints were added already.
    sees_all: bool,
    /// For each conflict the locked doors that shut it off.
    locked: Vec<Vec<String>>,
    /// Locked doors with whose keys it could be kept.
    with_keys: Vec<String>,
    /// Stops that were left out because no way leads to them.
    left_out: Vec<String>,
    /// What bundles of earlier watches record of the legs.
    recorded: Option<Recorded>,
}

/// A question over a drawn plan.
struct Drawn<'a> {
    site: &'a Site,
    ground: &'a Ground<'a>,
    stations: &'a Stations,
    left_out: Vec<String>,
    recorded: Option<Recorded>,
}

pub(crate) fn run(mut args: Args) -> anyhow::Result<ExitCode> {
    // `--svg PLAN`: the name of the file is not the name of a level.
    if args.plan.is_none() && args.stops.is_none() {
        args.plan = args.svg.take().filter(|name| !name.is_empty()).map(PathBuf::from);
        args.svg = args.plan.as_ref().map(|_| String::new());
    }
    let seconds = args.seconds;
    ensure!(seconds.is_finite() && seconds >= 0.0, "--seconds must be 0 or more");
    match (&args.stops, &args.plan) {
        (Some(file), _) => {
            ensure!(!args.see_all, "--see-all needs a plan with floors, a list has none");
            let mut places = list::read(file, args.speed, args.gap)?;
            if let Some(gap) = args.gap {
                places.demands.gap_ms.fill(gap);
            }
            for (name, gap) in named(&args)? {
                places.set_gap(&name, gap)?;
            }
            stand(&args, &mut places)?;
            found(&args, &places, None)
        }
        (None, Some(file)) => {
            let site = Site::read(file)?;
            let ground = site.ground(!args.no_keys);
            let (mut places, mut stations) = timed(&args, args.seconds / 2.0, |effort| {
                site.places(&ground, args.gap, &named(&args)?, args.see_all, args.lang, effort)
            })?;
            let mut left_out = Vec::new();
            if args.reachable_only {
                let from = args.from.as_deref().map(|name| places.named(name)).transpose()?;
                let cut = planner::answer::cut_off(&places.demands.walks, from);
                left_out = places.leave_out(&cut, &mut stations);
            }
            let recorded = match args.walked.as_slice() {
                [] => None,
                bundles => Some(walked::set_right(bundles, &site, &mut places)?),
            };
            stand(&args, &mut places)?;
            let (site, ground, stations) = (&site, &ground, &stations);
            found(&args, &places, Some(Drawn { site, ground, stations, left_out, recorded }))
        }
        (None, None) => bail!("give a plan, or a list of stops with --stops"),
    }
}

fn found(args: &Args, places: &Places, drawn: Option<Drawn<'_>>) -> anyhow::Result<ExitCode> {
    let from = args.from.as_deref().map(|name| places.named(name)).transpose()?;
    let may = may(args, places)?;
    let zones = zones(places);
    let question = Question {
        demands: &places.demands,
        from,
        guards: args.guards,
        share_permille: args.share * 10,
        may: &may,
        zones: &zones,
    };
    let answer = timed(args, args.seconds, |effort| answer(&question, effort));
    let mut found = Found {
        places,
        answer: &answer,
        site: drawn.as_ref().map(|d| d.site),
        legs: Vec::new(),
        seen: None,
        orders: Vec::new(),
        wants_orders: args.alternatives > 0,
        sees_all: args.see_all,
        locked: Vec::new(),
        with_keys: Vec::new(),
        left_out: Vec::new(),
        recorded: None,
    };
    if let Answer::Kept(kept) = &answer {
        if let Some(file) = &args.write {
            written(places, &kept.plan).write(file)?;
        }
        if let Some(Drawn { site, ground, stations, .. }) = &drawn {
            let spots: Vec<_> = stations.list.iter().map(|s| s.spot.clone()).collect();
            found.legs = ground.legs(&spots, &kept.plan);
            found.seen = site.seen(ground, &found.legs);
        }
        found.orders = timed(args, 2.0, |effort| {
            alternatives(&places.demands, &kept.plan, args.alternatives, effort)
        });
    } else if let (Some(Drawn { site, stations, .. }), true) = (&drawn, args.no_keys) {
        drawn::keys(site, stations, &question, &mut found, |question| {
            timed(args, args.seconds, |effort| planner::answer::answer(question, effort))
        });
    }
    if let Some(drawn) = drawn {
        (found.left_out, found.recorded) = (drawn.left_out, drawn.recorded);
    }
    print(args, &found)?;
    Ok(ExitCode::from(u8::from(!matches!(answer, Answer::Kept(_)))))
}

/// The rounds as a file that can be gone on with.
fn written(places: &Places, plan: &planner::Plan) -> Rounds {
    let stop = |place: &places::Place| Stop {
        id: place.id.clone(),
        name: place.name.clone(),
        zone: place.zone.clone(),
        level: place.level.clone(),
    };
    let stops = places.list.iter().map(stop).collect();
    Rounds { stops, demands: places.demands.clone(), plan: plan.clone() }
}

fn print(args: &Args, found: &Found<'_>) -> anyhow::Result<()> {
    let mut out = std::io::stdout().lock();
    let lang = args.lang;
    if args.json {
        writeln!(out, "{}", json::answer(found))?;
    } else if let Some(level) = &args.svg {
        let Answer::Kept(kept) = found.answer else {
            bail!("there is no plan to draw: ask without --svg")
        };
        let drawing = match found.site {
            Some(site) => drawn::levels(lang, site, found, &kept.plan, level)?,
            None => svg::drawing(found.places, &kept.plan),
        };
        write!(out, "{drawing}")?;
    } else {
        write!(out, "{}", page::answer(lang, args.share, args.pause, found))?;
    }
    Ok(())
}

fn named(args: &Args) -> anyhow::Result<Vec<(String, i64)>> {
    args.zone_gap
        .iter()
        .map(|given| {
            let (name, time) = given.rsplit_once('=').context("--zone-gap wants NAME=TIME")?;
            Ok((name.to_owned(), time_ms(time).map_err(anyhow::Error::msg)?))
        })
        .collect()
}

fn stand(args: &Args, places: &mut Places) -> anyhow::Result<()> {
    args.stand.iter().try_for_each(|name| places.stand(name))
}

/// For each guard up to the last one named, where that guard may go.
fn may(args: &Args, places: &Places) -> anyhow::Result<Vec<Vec<bool>>> {
    let all = places.list.len();
    let mut may: Vec<Option<Vec<bool>>> = Vec::new();
    for given in &args.only {
        let (guard, zone) =
            given.split_once('=').context("--only wants GUARD=ZONE, such as 2=Cellar")?;
        let guard: usize =
            guard.parse().ok().filter(|n| (1..=64).contains(n)).with_context(|| {
                format!("--only {given}: the guard must be a number from 1 to 64")
            })?;
        may.resize(may.len().max(guard), None);
        let own = may[guard - 1].get_or_insert_with(|| vec![false; all]);
        places.in_zone(zone)?.into_iter().for_each(|stop| own[stop] = true);
    }
    if let Some(guards) = args.guards {
        ensure!(
            may.len() <= guards,
            "--only names guard {}, but there are {guards}: give --guards {}",
            may.len(),
            may.len()
        );
    }
    Ok(may.into_iter().map(|own| own.unwrap_or_else(|| vec![true; all])).collect())
}

/// The zone of each place as a number; places without one share a number.
fn zones(places: &Places) -> Vec<usize> {
    let names: std::collections::BTreeSet<&str> =
        places.list.iter().map(|p| p.zone.as_str()).collect();
    let number = |zone: &str| names.iter().position(|&name| name == zone).unwrap_or(0);
    places.list.iter().map(|p| number(&p.zone)).collect()
}

#[expect(
    clippy::disallowed_methods,
    reason = "the command line is where the clock may stop a search"
)]
fn timed<T>(args: &Args, seconds: f64, search: impl FnOnce(&mut Effort<'_>) -> T) -> T {
    let (begun, limit) = (Instant::now(), Duration::from_secs_f64(seconds.min(1e6)));
    let mut watcher = |_: Progress| if begun.elapsed() >= limit { Go::Stop } else { Go::On };
    search(&mut Effort::new(args.seed, u64::MAX, &mut watcher))
}

/// `90s`, `30min`, `1h`; a bare number is refused, since it could be either.
pub(super) fn time_ms(text: &str) -> Result<i64, String> {
    let (unit_ms, digits) = [("min", 60_000), ("h", 3_600_000), ("s", 1000)]
        .iter()
        .find_map(|(unit, ms)| Some((*ms, text.strip_suffix(unit)?)))
        .ok_or_else(|| format!("{text:?} has no unit: write 30min, 90s or 1h"))?;
    match digits.trim().parse::<i64>() {
        Ok(n) if (1..=100_000).contains(&n) => Ok(n * unit_ms),
        _ => Err(format!("{text:?} is not a time: write 30min, 90s or 1h")),
    }
}
