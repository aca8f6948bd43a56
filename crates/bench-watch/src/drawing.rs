//! `drawing [--runs N] [--stops N] [--pass P] [--chromium PROGRAM]`: what the drawing tool thinks about a plan, natively and
//! as shipped (`cargo x web`) in a headless Chromium: the time of a pass, the ratio, and whether the answers are equal.

use crate::browser::{self, base64, median};
use anyhow::{Context, Result, ensure};
use bench_plan::options::Options;
use plan_web::thinking::Measures;
use serde_json::{Value, json};
use std::path::Path;
use std::time::Instant;

/// The tool's own glue and wasm; a module runs before the page has loaded.
const PAGE: &str = r#"<!doctype html><meta charset="utf-8"><body><script type="module">
import { initSync, think } from "data:text/javascript;base64,GLUE";
const bytes = text => Uint8Array.from(atob(text), sign => sign.charCodeAt(0));
initSync({ module: bytes("WASM") });
const plan = bytes("PLAN");
const times = [];
let answer = "";
for (let run = 0; run < RUNS + 1; run++) {
  const began = performance.now();
  answer = think(plan, MEASURES, PASS);
  times.push(performance.now() - began);
}
document.body.textContent = "[[" + JSON.stringify({ agent: navigator.userAgent, first: times[0], times: times.slice(1),
  answer: btoa(String.fromCharCode(...new TextEncoder().encode(answer))) }) + "]]";
</script>"#;

#[expect(clippy::disallowed_methods, reason = "a measurement reads the clock")]
pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["runs", "stops", "pass", "chromium"])?;
    let runs: usize = options.get("runs", 9)?;
    let stops: usize = options.get("stops", 60)?;
    let pass: usize = options.get("pass", 0)?;
    let chromium: String = options.get("chromium", "chromium".to_owned())?;
    let text = site(stops).to_string();
    let plan = floorplan::Plan::read(text.as_bytes())?;
    let faults = plan.check();
    ensure!(faults.is_empty(), "the site drawn for this is faulty: {faults:?}");
    let measures = measures()?;
    let mut native_ms = Vec::new();
    let mut answer = String::new();
    for _ in 0..=runs {
        let began = Instant::now();
        answer = serde_json::to_string(&plan_web::think(&plan, &measures, pass))?;
        native_ms.push(began.elapsed().as_secs_f64() * 1e3);
    }
    let native_ms = median(&mut native_ms[1..]);
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/web/plan");
    let built = |name: &str| {
        std::fs::read(folder.join(name))
            .with_context(|| format!("{name} is missing: run `cargo x web`"))
    };
    let page = PAGE
        .replace("RUNS", &runs.to_string())
        .replace("PASS", &pass.to_string())
        .replace("MEASURES", &Value::from(serde_json::to_string(&measures)?).to_string())
        .replace("PLAN", &base64(text.as_bytes()))
        .replace("GLUE", &base64(&built("plan.js")?))
        .replace("WASM", &base64(&built("plan_bg.wasm")?));
    let found = browser::shown(&chromium, &page)?;
    let times = found["times"].as_array().into_iter().flatten().filter_map(Value::as_f64);
    let mut times: Vec<f64> = times.collect();
    ensure!(times.len() == runs, "the page answered {} of {runs} times", times.len());
    let wasm_ms = median(&mut times);
    let equal = found["answer"] == base64(answer.as_bytes());
    println!(
        "{}",
        json!({
            "bench": "drawing", "stops": stops, "pass": pass, "runs": runs, "native_ms": native_ms, "wasm_ms": wasm_ms,
            "wasm_first_ms": found["first"], "ratio": wasm_ms / native_ms, "equal": equal, "agent": found["agent"],
        })
    );
    ensure!(equal, "the browser answers differently");
    Ok(())
}

/// The values with which the server is built.
fn measures() -> Result<Measures> {
    let times = floorplan::Times::usual(rules::site_limits())?;
    Ok(Measures {
        level_mm_s: times.level_mm_s,
        stair_mm_s: times.stair_mm_s,
        slope_permille: times.slope_permille,
        door_s: times.door_s,
        key_s: times.key_s,
        lift_s: times.lift_s,
        inspect_s: times.inspect_s,
        look_s: 5,
        sight_mm: 12_000,
        share_permille: planner::answer::USUAL_SHARE_PERMILLE,
    })
}

/// Three levels with a corridor, rooms on both sides of it with a stop in each, and one stair.
fn site(stops: usize) -> Value {
    const LEVELS: [&str; 3] = ["first", "second", "third"];
    const WIDE: i64 = 5_000;
    let (mut rooms, mut openings, mut places) = (Vec::new(), Vec::new(), Vec::new());
    for stop in 0..stops {
        let (level, place) = (LEVELS[stop % 3], (stop / 3) as i64);
        let (left, upper) = (place / 2 * WIDE, place % 2 == 1);
        let (low, high, door) = if upper { (8_000, 14_000, 8_000) } else { (0, 6_000, 6_000) };
        let shape = [[left, low], [left + WIDE, low], [left + WIDE, high], [left, high]];
        let line = [[left + 2_000, door], [left + 3_000, door]];
        let id = format!("{level}-{place}");
        rooms
            .push(json!({ "id": id, "name": id, "level": level, "zone": level, "shape": [shape] }));
        openings.push(json!({ "id": format!("door-{id}"), "level": level, "line": line }));
        let at = [left + 2_500, (low + high) / 2];
        places.push(json!({ "id": id, "name": id, "zone": level, "level": level, "at": at }));
    }
    let long = (stops.div_ceil(6) as i64 + 1) * WIDE;
    for level in LEVELS {
        let shape = [[0, 6_000], [long, 6_000], [long, 8_000], [0, 8_000]];
        rooms.push(json!({ "id": format!("{level}-corridor"), "name": "Corridor", "kind": "corridor", "level": level, "zone": level, "shape": [shape] }));
    }
    openings.push(json!({ "id": "way-in", "level": LEVELS[0], "line": [[0, 6_500], [0, 7_500]], "exit": true }));
    let feet: Vec<Value> =
        LEVELS.iter().map(|level| json!({ "level": level, "at": [long - 1_000, 7_000] })).collect();
    json!({
        "version": 1,
        "name": "A site to draw",
        "levels": (0i64..).zip(LEVELS).map(|(n, id)| json!({ "id": id, "name": id, "elevation_mm": n * 3_000 })).collect::<Vec<_>>(),
        "zones": LEVELS.map(|id| json!({ "id": id, "name": id, "gap_s": 1800, "level": id })),
        "stops": places,
        "rooms": rooms,
        "openings": openings,
        "links": [{ "id": "stair", "name": "Stair", "kind": "stair", "feet": feet }],
    })
}
