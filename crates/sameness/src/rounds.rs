//! A plan read, written out and imported again, surveyed, laid out with viewpoints, answered with a fixed seed and budget
//! of steps, written out as a timetable and drawn.

use floorplan::import::{Format, Wishes, read_all};
use floorplan::{Circumstances, Floors, Plan, Times, export, survey};
use picture::{Over, plan_svg};
use planner::answer::{Answer, Question, USUAL_SHARE_PERMILLE, answer, written_out};
use planner::ground::{Ground, Wish};
use planner::{Effort, Go};
use serde_json::{Value, json};

const SEED: u64 = 20;
/// Steps for the viewpoints, and as many for the rounds.
const STEPS: u64 = 600;
/// How far one sees, in millimetres.
const SIGHT_MM: f64 = 12_000.0;
/// What the properties of our own export mean to the importer.
const MAPPING: &str = r#"
kind = "part"
name = "name"
room = ["room"]
wall = ["wall"]
door = ["opening"]
stair = ["link"]
"#;

pub(crate) fn rounds(bytes: &[u8]) -> Result<String, String> {
    let plan = Plan::read(bytes).map_err(|error| error.to_string())?;
    let mut out = imported(&plan)?;
    out += &asked(&plan)?;
    Ok(out)
}

/// The plan as the importer makes it from its export, one file a level.
fn imported(plan: &Plan) -> Result<String, String> {
    let whole: Value = serde_json::from_str(&export::geojson(plan)).map_err(|e| e.to_string())?;
    let features = whole["features"].as_array().ok_or("an export has features")?;
    let files: Vec<(String, String)> = (plan.levels.iter())
        .map(|level| {
            let on = |f: &&Value| {
                f["properties"]["level"] == json!(level.id) && !f["geometry"].is_null()
            };
            let features: Vec<&Value> = features.iter().filter(on).collect();
            let file = json!({ "type": "FeatureCollection", "features": features });
            (level.name.clone(), file.to_string())
        })
        .collect();
    let files: Vec<(&str, &[u8])> =
        files.iter().map(|(name, text)| (name.as_str(), text.as_bytes())).collect();
    let found = read_all(&files, Some(Format::GeoJson), Some(MAPPING), &Wishes::default());
    let found = found.map_err(|error| error.to_string())?;
    Ok(format!("{}{}\n", found.report, found.plan.pretty()))
}

fn asked(plan: &Plan) -> Result<String, String> {
    let limits = rules::site_limits();
    let at = Circumstances { sprinklered: false, occupancy: "R".to_owned(), construction: false };
    let mut out = format!("{:?}\n", survey(plan, limits, &at));
    let times = Times::usual(limits).map_err(|error| error.to_string())?;
    let floors = Floors::new(plan);
    let ground = Ground::new(plan, &floors, times, true);
    let wish =
        Wish { gap_ms: None, named: &[], viewpoints: true, look_ms: 5_000, sight_mm: SIGHT_MM };
    let mut never = |_| Go::On;
    let stations = ground.stations(&wish, &mut Effort::new(SEED, STEPS, &mut never));
    let stations = stations.map_err(|fault| fault.to_string())?;
    out += &format!("{stations:?}\n");
    let question = Question {
        demands: &stations.demands,
        from: None,
        guards: None,
        share_permille: USUAL_SHARE_PERMILLE,
        may: &[],
        zones: &[],
    };
    let found = answer(&question, &mut Effort::new(SEED, STEPS, &mut never));
    out += &format!("{found:?}\n");
    if let Answer::Kept(kept) = &found {
        let until_ms = 3 * stations.demands.gap_ms.iter().max().copied().unwrap_or(0);
        let (looks, broken) = written_out(&stations.demands, &kept.plan, until_ms);
        out += &format!("{looks:?}\n{broken:?}\n");
        let spots: Vec<_> = stations.list.iter().map(|station| station.spot.clone()).collect();
        out += &format!("{:?}\n", ground.seen(SIGHT_MM, &ground.legs(&spots, &kept.plan)));
    }
    for level in &plan.levels {
        out += &plan_svg(plan, &level.id, &Over::exact()).unwrap_or_default();
    }
    Ok(out)
}
