//! `wasm [--runs N] [--chromium PROGRAM]`: the questions of `sameness` natively, built as the server is, and in a headless
//! Chromium, built as the phone is: the quickest run of each, their ratio, and whether every byte was equal.

// Tests and bench build the module alike.
#[path = "../../sameness/tests/host/built.rs"]
mod built;

use crate::browser::{self, base64};
use anyhow::{Context, Result, anyhow, ensure};
use bench_plan::map::Map;
use bench_plan::options::Options;
use geometry::Point;
use sameness::QUESTIONS;
use serde_json::{Value, json};
use std::path::Path;
use std::time::Instant;

/// A question, what is asked about, and its bytes.
type Case = (&'static str, String, Vec<u8>);

/// Asks everything and shows the times as text of the page; all in one go, so that the page has loaded when it is done.
const PAGE: &str = r#"<!doctype html><meta charset="utf-8"><body><script>
const bytes = text => Uint8Array.from(atob(text), sign => sign.charCodeAt(0));
const { tray, ask, memory } = new WebAssembly.Instance(new WebAssembly.Module(bytes("WASM"))).exports;
const results = CASES.map(([number, input, expected, runs]) => {
  const [question, answer] = [bytes(input), bytes(expected)];
  const times = [];
  let equal = true;
  for (let run = 0; run < runs + 1; run++) {
    const at = tray(question.length);
    new Uint8Array(memory.buffer, at, question.length).set(question);
    const began = performance.now();
    const length = ask(number);
    times.push(performance.now() - began);
    const found = new Uint8Array(memory.buffer, tray(length), length);
    equal &&= length === answer.length && found.every((byte, place) => byte === answer[place]);
  }
  return { times: times.slice(1), equal };
});
document.body.textContent = "[[" + JSON.stringify({ agent: navigator.userAgent, results }) + "]]";
</script>"#;

#[expect(clippy::disallowed_methods, reason = "a measurement reads the clock")]
pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["runs", "chromium"])?;
    let runs: usize = options.get("runs", 9)?;
    let chromium: String = options.get("chromium", "chromium".to_owned())?;
    let cases = cases()?;
    let mut answered = Vec::new();
    for (name, of, input) in &cases {
        let mut times = Vec::new();
        let mut answer = String::new();
        let mut wanted = runs;
        while times.len() <= wanted {
            let began = Instant::now();
            answer =
                sameness::ask(name, input).map_err(|says| anyhow!("{name} of {of}: {says}"))?;
            times.push(began.elapsed().as_secs_f64() * 1e3);
            if times[0] > LONG_MS {
                wanted = 1;
            }
        }
        answered.push(Answered { answer, runs: wanted, ms: quickest(&times[1..]) });
    }
    let (agent, wasm) = in_browser(&chromium, &cases, &answered)?;
    let mut unequal = Vec::new();
    for (((name, of, _), native), (times, equal)) in cases.iter().zip(answered).zip(wasm) {
        let (runs, native_ms, wasm_ms) = (native.runs, native.ms, quickest(&times));
        println!(
            "{}",
            json!({
                "bench": "wasm", "question": name, "of": of, "runs": runs, "native_ms": native_ms, "wasm_ms": wasm_ms,
                "ratio": wasm_ms / native_ms, "equal": equal, "agent": agent,
            })
        );
        unequal.extend((!equal).then_some(of));
    }
    ensure!(unequal.is_empty(), "the browser answers differently about {unequal:?}");
    Ok(())
}

/// What takes longer natively, ms, is asked once after the first time, on either side.
const LONG_MS: f64 = 2_000.0;

/// What was said natively.
struct Answered {
    answer: String,
    runs: usize,
    ms: f64,
}

/// Open maps of a known kind: one of few corners, one of many holes. Larger ones would be all table of lengths.
const MAPS: [&str; 2] = ["arena.txt", "potholes.txt"];

/// The open map of most vertices, for its mesh alone.
const LARGE: &str = "aurora.txt";

/// A real building of four levels, from its drawing.
const BUILDING: &str = "osm-tud-apb.geojson";

/// One sees so far on a map, as a share of how far it reaches. With less there would be hundreds of viewpoints, and the
/// walk that sees all would take minutes.
const RANGE_SHARE: f64 = 0.25;

/// Every night and plan of the fixtures, open maps and a real building.
fn cases() -> Result<Vec<Case>> {
    let mut cases: Vec<Case> = Vec::new();
    for name in MAPS {
        for question in ["mesh", "sight", "ways", "walk"] {
            cases.push((question, name.to_owned(), map(name)?));
        }
    }
    cases.push(("mesh", LARGE.to_owned(), map(LARGE)?));
    let building = bench_plan::import::read(BUILDING)?.plan.pretty();
    cases.push(("rounds", BUILDING.to_owned(), building.into_bytes()));
    for (question, folder, ending) in
        [("findings", "nights", ".night"), ("rounds", "plans", ".plan.json")]
    {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures").join(folder);
        for entry in std::fs::read_dir(&folder).with_context(|| folder.display().to_string())? {
            let path = entry?.path();
            let name =
                path.file_name().context("a file has a name")?.to_string_lossy().into_owned();
            let Some(of) = name.strip_suffix(ending) else { continue };
            let bytes = std::fs::read(&path)?;
            cases.push((
                question,
                of.to_owned(),
                if question == "findings" { bundle_of(&bytes)? } else { bytes },
            ));
        }
    }
    cases.sort();
    Ok(cases)
}

/// A map as the question takes it.
fn map(name: &str) -> Result<Vec<u8>> {
    let map = Map::read(name)?;
    let ring = |ring: &Vec<Point>| ring.iter().map(|at| [at.x, at.y]).collect::<Vec<_>>();
    let holes: Vec<_> = map.holes.iter().map(ring).collect();
    let range = map.extent() * RANGE_SHARE;
    Ok(serde_json::to_vec(&json!({ "border": ring(&map.border), "holes": holes, "range": range }))?)
}

fn bundle_of(night: &[u8]) -> Result<Vec<u8>> {
    let told = night::tell(std::str::from_utf8(night)?).map_err(|fault| anyhow!("{fault}"))?;
    told.bundle().map_err(|fault| anyhow!("{fault}"))
}

/// The least of some times, ms: what others take of a shared machine only ever adds, on either side.
fn quickest(times: &[f64]) -> f64 {
    times.iter().copied().fold(f64::INFINITY, f64::min)
}

/// The times of a case in the browser, ms, and whether its answers were equal.
type Shown = (Vec<f64>, bool);

/// What the browser calls itself, and what it answered to each case.
fn in_browser(
    chromium: &str,
    cases: &[Case],
    answered: &[Answered],
) -> Result<(String, Vec<Shown>)> {
    let asked: Vec<Value> = (cases.iter().zip(answered))
        .map(|((name, _, input), native)| {
            let number = QUESTIONS.iter().position(|(known, _)| known == name);
            json!([number, base64(input), base64(native.answer.as_bytes()), native.runs])
        })
        .collect();
    let page = PAGE
        .replace("CASES", &Value::from(asked).to_string())
        .replace("WASM", &base64(built::wasm()));
    let found = browser::shown(chromium, &page)?;
    let agent = found["agent"].as_str().unwrap_or_default().to_owned();
    let results = found["results"].as_array().context("the page shows its results")?;
    let one = |result: &Value| {
        let times = result["times"].as_array().into_iter().flatten().filter_map(Value::as_f64);
        (times.collect(), result["equal"] == true)
    };
    ensure!(results.len() == cases.len(), "the page answered {} of {}", results.len(), cases.len());
    Ok((agent, results.iter().map(one).collect()))
}
