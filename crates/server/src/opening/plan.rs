//! The plan of a watch and the round over it, as lines with the blobs that they name.

use super::known::{Known, about_walks};
use super::order::{keep, keep_document};
use crate::problem::Problem;
use crate::rounds::Places;
use crate::server::App;
use floorplan::Plan;
use ledger::Digest;
use record::documents::{Leg, Piece, Route, VERSION};
use record::{PlanSet, RouteSet, StopId, ZoneId};
use std::collections::BTreeMap;

/// The plan and a round over everything, after the blobs that they name are on the disk. Over a drawn plan it is the
/// shortest one; a list of places is walked in its own order.
pub(crate) async fn plan_lines(app: &App, plan: &Plan) -> Result<(PlanSet, RouteSet), Problem> {
    let bad = |error: ledger::ids::NotAnId| Problem::Bad(error.to_string());
    let bytes = plan.canonical();
    let digest = Digest::of(&bytes);
    keep(app, digest, bytes).await?;
    let zone = |id: &floorplan::ZoneId| ZoneId::new(id.as_str()).map_err(bad);
    let stop = |id: &floorplan::StopId| StopId::new(id.as_str()).map_err(bad);
    let zones = plan.zones.iter().map(|z| zone(&z.id)).collect::<Result<Vec<_>, _>>()?;
    let stops = plan.stops.iter().map(|s| stop(&s.id)).collect::<Result<Vec<_>, _>>()?;
    let map = plan.stops.iter().map(|s| Ok((stop(&s.id)?, zone(&s.zone)?)));
    let map = map.collect::<Result<_, Problem>>()?;
    let plan_set = PlanSet { plan: digest, zones, stops: map };
    let (stops, legs_s) = shortest(plan).await?.unwrap_or((stops, Vec::new()));
    let route = keep_walk(app, plan, &stops).await?;
    Ok((plan_set, RouteSet { route, stops, legs_s, guard: None }))
}

static ROUNDS: Known<Vec<usize>> = Known::new();

/// The shortest round over places, searched for once as long as no walk changes.
pub(super) fn shortest_round(places: &Places) -> Vec<usize> {
    ROUNDS.or(about_walks(places), || places.shortest_round())
}

/// Stops in the order of the shortest round, and the walk to each, s; none where the plan gives no walks.
async fn shortest(plan: &Plan) -> Result<Option<(Vec<StopId>, Vec<u32>)>, Problem> {
    let plan = plan.clone();
    let found = tokio::task::spawn_blocking(move || {
        let places = Places::of(&plan, &BTreeMap::new()).filter(|places| places.measured)?;
        let round = shortest_round(&places);
        let stops = round.iter().map(|&stop| places.list[stop].stop.clone()).collect();
        Some((stops, places.legs_s(&round)))
    });
    found.await.map_err(|error| Problem::Machine(error.to_string()))
}

/// Keeps the lines of a round over the plan; none where nothing is drawn.
pub(crate) async fn keep_walk(
    app: &App,
    plan: &Plan,
    stops: &[StopId],
) -> Result<Option<Digest>, Problem> {
    match walk(plan, stops) {
        Some(walk) => Ok(Some(keep_document(app, &walk).await?)),
        None => Ok(None),
    }
}

fn walk(plan: &Plan, stops: &[StopId]) -> Option<Route> {
    let spot = |id: &StopId| {
        let stop = plan.stops.iter().find(|stop| stop.id.as_str() == id.as_str())?;
        Some(floorplan::Spot { level: stop.level.clone()?, at: stop.at? })
    };
    let spots: Vec<_> = stops.iter().map(spot).collect();
    let legs = floorplan::walked(plan, &spots);
    if legs.iter().all(Vec::is_empty) {
        return None;
    }
    let piece = |(level, line): (floorplan::LevelId, Vec<floorplan::Point>)| Piece {
        level: level.as_str().to_owned(),
        line: line.iter().map(|p| [p.x, p.y]).collect(),
    };
    let leg = |(to, pieces): (&StopId, floorplan::Pieces)| Leg {
        to: to.clone(),
        pieces: pieces.into_iter().map(piece).collect(),
    };
    Some(Route { v: VERSION, legs: stops.iter().zip(legs).map(leg).collect() })
}
