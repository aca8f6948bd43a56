//! Whatever reads what strangers send: good inputs, damaged by seed, into every reader. A reader may
//! refuse; it may not panic, and it may not think for ever. `--inputs N` for each reader, `--seed S`.
#![expect(clippy::disallowed_methods, reason = "whoever looks for a hang reads the clock")]

use floorplan::import::{self, Wishes};
use simulation::Chance;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::{Duration, Instant};

/// Inputs for each reader in each run of the tests; `cargo x campaign hostile` goes on.
const USUAL_INPUTS: u64 = 400;
/// No input of this size may take longer in an unoptimised build.
const PATIENCE: Duration = Duration::from_secs(20);

/// A reader and good inputs for it.
struct Target {
    name: &'static str,
    reads: fn(&[u8]),
    good: Vec<Vec<u8>>,
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().collect();
    let number = |flag: &str| {
        let at = arguments.iter().position(|argument| argument == flag)?;
        arguments.get(at + 1)?.parse::<u64>().ok()
    };
    if arguments.iter().any(|argument| argument == "--list") {
        println!("hostile: test");
        return ExitCode::SUCCESS;
    }
    let (seed, inputs) =
        (number("--seed").unwrap_or(1), number("--inputs").unwrap_or(USUAL_INPUTS));
    std::panic::set_hook(Box::new(|_| {}));
    let mut failed = false;
    for target in targets() {
        let began = Instant::now();
        // A night that is still well formed is told and signed line by line: fewer of those.
        let inputs = if target.name == "night" { inputs.div_ceil(10) } else { inputs };
        match attack(&target, seed, inputs) {
            Ok(()) => println!(
                "{}: {inputs} inputs from {} good ones, {} ms",
                target.name,
                target.good.len(),
                began.elapsed().as_millis()
            ),
            Err(says) => {
                eprintln!("{}: {says}", target.name);
                failed = true;
            }
        }
    }
    if failed { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

fn attack(target: &Target, seed: u64, inputs: u64) -> Result<(), String> {
    if target.good.is_empty() {
        return Err("there is no good input to begin with".to_owned());
    }
    let mut chance = Chance::new(seed);
    for n in 0..inputs {
        let input = damaged(&target.good, &mut chance);
        let began = Instant::now();
        let read = catch_unwind(AssertUnwindSafe(|| (target.reads)(&input)));
        let kept = || {
            let file = std::env::temp_dir().join(format!("hostile-{}-{seed}-{n}", target.name));
            fs::write(&file, &input).map_or_else(|e| e.to_string(), |()| file.display().to_string())
        };
        if read.is_err() {
            return Err(format!("panics; seed {seed}, input {n}, kept as {}", kept()));
        }
        if began.elapsed() > PATIENCE {
            let s = began.elapsed().as_secs();
            return Err(format!("takes {s} s; seed {seed}, input {n}, kept as {}", kept()));
        }
    }
    Ok(())
}

/// What a careless or hostile hand puts in.
const TOKENS: &[&str] = &[
    "",
    "\0",
    "-1",
    "0",
    "1e999",
    "9007199254740993",
    "18446744073709551616",
    "null",
    "[]",
    "{}",
    "\"",
    "\\u0000",
    "\u{202e}",
    "é",
    "\u{feff}",
    "NaN",
    "[[[[[[[[",
    "../",
    "<!ENTITY",
    "\n\n",
    ",",
    "1e-320",
    "-0.0",
    "99999999999999999999",
];

fn damaged(good: &[Vec<u8>], chance: &mut Chance) -> Vec<u8> {
    let pick = |chance: &mut Chance, of: usize| chance.between(0, of.max(1) as i64) as usize;
    let mut input = good[pick(chance, good.len())].clone();
    for _ in 0..chance.between(1, 6) {
        let at = pick(chance, input.len() + 1);
        let span = pick(chance, 64.min(input.len().saturating_sub(at) + 1));
        match chance.between(0, 7) {
            0 if at < input.len() => input[at] ^= 1 << chance.between(0, 8),
            1 => drop(input.drain(at..at + span)),
            2 => {
                let copy = input[at..at + span].to_vec();
                input.splice(at..at, copy);
            }
            3 => input.truncate(at),
            4 => {
                let other = &good[pick(chance, good.len())];
                let from = pick(chance, other.len() + 1);
                input.truncate(at);
                input.extend_from_slice(&other[from..]);
            }
            5 => {
                // A number for a number: what a reader trusts most.
                let digits: Vec<usize> =
                    (0..input.len()).filter(|i| input[*i].is_ascii_digit()).collect();
                if let Some(place) = digits.get(pick(chance, digits.len())) {
                    input[*place] = b"0123456789-.e"[pick(chance, 13)];
                }
            }
            _ => {
                let token = TOKENS[pick(chance, TOKENS.len())];
                input.splice(at..at, token.bytes());
            }
        }
    }
    input
}

fn targets() -> Vec<Target> {
    let vectors = root().join("docs/spec/vectors");
    let field = |file: &str, field: &str| fields(&vectors.join(file), field);
    let target = |name, good, reads| Target { name, reads, good };
    let zip = fs::read(vectors.join("good.zip")).expect("the vectors hold a good bundle");
    vec![
        target("line", field("lines.jsonl", "line"), |bytes| {
            let key = ledger::DeviceKey::from_seed([1; 32]);
            let signed = ledger::SignedLine { bytes: bytes.to_vec(), signature: key.sign(bytes) };
            if let Ok(line) = ledger::Verified::check(signed, &key.public()) {
                let _ = record::Entry::of(&line);
            }
        }),
        target("canonical", field("values.jsonl", "value"), |bytes| {
            let _ = ledger::canonical::parse(bytes);
        }),
        target("leaf", field("leaves.jsonl", "leaf"), |bytes| {
            let _ = ledger::Leaf::parse(bytes);
        }),
        target("receipt", field("receipts.jsonl", "receipt"), |bytes| {
            let _ = ledger::Receipt::parse(&String::from_utf8_lossy(bytes));
        }),
        target("head", field("heads.jsonl", "head"), |bytes| {
            let _ = ledger::SignedHead::parse(&String::from_utf8_lossy(bytes));
        }),
        target("bundle", vec![zip], |bytes| {
            let _ = bundle::open(bytes);
        }),
        target("night", files("fixtures/nights"), |bytes| {
            let _ = night::tell(&String::from_utf8_lossy(bytes));
        }),
        target("plan", small_plans(), |bytes| {
            if let Ok(plan) = floorplan::Plan::read(bytes) {
                let _ = plan.check();
            }
        }),
        target("import", imports(), |bytes| {
            let wishes = Wishes { name: "hostile".into(), ..Wishes::default() };
            if let Ok(imported) = import::read(bytes, None, None, &wishes) {
                let _ = imported.plan.check();
            }
        }),
        target("facts", vec![FACTS.as_bytes().to_vec()], |bytes| {
            let text = String::from_utf8_lossy(bytes);
            let _ = rules::terms::facts::read(&text, rules::Standards::embedded());
        }),
        target("standards", files("standards/nfpa-51b"), |bytes| {
            let text = String::from_utf8_lossy(bytes);
            let _ = rules::Standards::read([("nfpa-51b", "hostile", text.as_ref())]);
        }),
        target("site-card", vec![CARD.as_bytes().to_vec()], |bytes| {
            use record::documents::{Document, Instructions, SiteCard, Terms};
            let _ = SiteCard::parse(bytes);
            let _ = Terms::parse(bytes);
            let _ = Instructions::parse(bytes);
        }),
        target("sync", vec![SYNC.as_bytes().to_vec()], |bytes| {
            let _ = serde_json::from_slice::<phone::sync::Request>(bytes);
            let _ = serde_json::from_slice::<phone::sync::Reply>(bytes);
            let _ = serde_json::from_slice::<phone::sync::EnrolRequest>(bytes);
        }),
    ]
}

const FACTS: &str = r#"profile = "nfpa-101-2018"
zone = "America/Chicago"
at = "2026-03-02T04:00:00"
[building]
occupancy = "R-1"
sleeping = true
storeys = 9
[[outage]]
system = "fire-alarm"
from = "2026-03-01T22:00:00"
[[hot_work]]
last_spark = "2026-03-01T16:00:00"
[[order]]
from = "authority"
gap_s = 900
by = "Marshal Ortiz"
at = "2026-03-01T23:00:00"
"#;

const CARD: &str = r#"{"v":1,"name":"Gannet Hotel","address":"4 Quay Street","town":"Port Gannet","emergency_number":null,"people":{"about":60,"asleep":true},"lifts":"elevators","contacts":[{"id":"site","party":"owner","name":"Ola","number":"1"}],"call_spots":["Lobby"]}"#;

const SYNC: &str = r#"{"v":1,"t0":1795658400000,"head":null,"lines":[{"line":"{}","sig":"AAAA","private":null}],"watches":[{"watch":"w-1","from":0}]}"#;

/// A few rooms in the form of Simple Indoor Tagging as GeoJSON, as OSM XML, and as IndoorGML.
fn imports() -> Vec<Vec<u8>> {
    let feature = |room: &str, x: f64| {
        format!(
            r#"{{"type":"Feature","properties":{{"indoor":"{room}","level":"0","name":"Hall"}},"geometry":{{"type":"Polygon","coordinates":[[[{x},50],[{x1},50],[{x1},50.0002],[{x},50.0002],[{x},50]]]}}}}"#,
            x1 = x + 0.0002
        )
    };
    let geojson = format!(
        r#"{{"type":"FeatureCollection","features":[{},{}]}}"#,
        feature("room", 8.0),
        feature("corridor", 8.0002)
    );
    let osm = r#"<osm version="0.6"><node id="1" lat="50" lon="8"/><node id="2" lat="50" lon="8.0002"/><node id="3" lat="50.0002" lon="8.0002"/><way id="9"><nd ref="1"/><nd ref="2"/><nd ref="3"/><nd ref="1"/><tag k="indoor" v="room"/><tag k="level" v="0"/></way></osm>"#;
    let gml = r#"<core:IndoorFeatures xmlns:core="http://www.opengis.net/indoorgml/1.0/core" xmlns:gml="http://www.opengis.net/gml/3.2"><core:primalSpaceFeatures><core:PrimalSpaceFeatures><core:cellSpaceMember><core:CellSpace gml:id="C1"><gml:name>Hall</gml:name><core:cellSpaceGeometry><core:Geometry2D><gml:Polygon><gml:exterior><gml:LinearRing><gml:pos>0 0 0</gml:pos><gml:pos>5 0 0</gml:pos><gml:pos>5 4 0</gml:pos><gml:pos>0 0 0</gml:pos></gml:LinearRing></gml:exterior></gml:Polygon></core:Geometry2D></core:cellSpaceGeometry></core:CellSpace></core:cellSpaceMember></core:PrimalSpaceFeatures></core:primalSpaceFeatures></core:IndoorFeatures>"#;
    [geojson.as_str(), osm, gml].map(|text| text.as_bytes().to_vec()).into()
}

/// Parts of the demonstration's plans, small enough for many inputs.
fn small_plans() -> Vec<Vec<u8>> {
    let mut plans = Vec::new();
    for text in files("fixtures/plans") {
        let mut plan: serde_json::Value =
            serde_json::from_slice(&text).expect("the plans are JSON");
        for (_, list) in plan.as_object_mut().expect("an object").iter_mut() {
            if let Some(list) = list.as_array_mut() {
                list.truncate(4);
            }
        }
        plans.push(plan.to_string().into_bytes());
    }
    plans
}

fn files(folder: &str) -> Vec<Vec<u8>> {
    let mut paths: Vec<PathBuf> = fs::read_dir(root().join(folder))
        .unwrap_or_else(|e| panic!("{folder}: {e}"))
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.is_file())
        .collect();
    paths.sort();
    paths.iter().map(|path| fs::read(path).expect("a file that is there")).collect()
}

/// One field of each line of a file of vectors, where it is text.
fn fields(path: &Path, field: &str) -> Vec<Vec<u8>> {
    let text = fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    text.lines()
        .filter_map(|line| serde_json::from_str::<serde_json::Value>(line).ok())
        .filter_map(|json| json[field].as_str().map(|text| text.as_bytes().to_vec()))
        .collect()
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}
