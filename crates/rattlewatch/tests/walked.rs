//! `rattlewatch route PLAN --walked BUNDLE`: walking times set right by what was recorded.

use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// Files of a test, in a folder of its own.
struct Desk(tempfile::TempDir);

impl Desk {
    fn new() -> Desk {
        Desk(tempfile::tempdir().unwrap())
    }

    fn file(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.0.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        path
    }

    /// A corridor of 60 m with three stops, 30 s of looking at each.
    fn plan(&self, cellar_x: i64) -> PathBuf {
        let stop = |id: &str, name: &str, x: i64| json!({"id": id, "name": name, "zone": id, "level": "ground", "at": [x, 1000], "inspect_s": 30});
        let zone = |id: &str, name: &str| json!({"id": id, "name": name, "gap_s": 1800, "level": "ground"});
        let plan = json!({
            "version": 1, "name": "Gannet Hotel",
            "levels": [{"id": "ground", "name": "Ground", "elevation_mm": 0}],
            "zones": [zone("hall", "Hall"), zone("kitchen", "Kitchen"), zone("cellar", "Cellar")],
            "stops": [
                stop("hall", "Hall", 1000), stop("kitchen", "Kitchen", 31000), stop("cellar", "Cellar", cellar_x),
            ],
            "rooms": [{"id": "corridor", "name": "Corridor", "level": "ground", "kind": "corridor",
                "shape": [[[0, 0], [60000, 0], [60000, 2000], [0, 2000]]]}],
        });
        self.file(&format!("plan-{cellar_x}.json"), plan.to_string().as_bytes())
    }

    /// So many rounds: two minutes from hall to kitchen, 90 s from there to the cellar, 110 s back.
    fn bundle(&self, rounds: usize) -> PathBuf {
        let mut text =
            "watch: 20:00 to 23:00\ngap hall: 30 min\ngap kitchen: 30 min\ngap cellar: 30 min\n\
             stop hall: hall\nstop kitchen: kitchen\nstop cellar: cellar\nout: fire-alarm\n\n\
             20:00 Ines begins until 23:00\n20:01 Ines begins a round\n"
                .to_owned();
        let mut at_s = 120;
        for _ in 0..rounds {
            for (stop, next_s) in [("hall", 120), ("kitchen", 90), ("cellar", 110)] {
                let (hour, minute, second) = (20 + at_s / 3600, at_s / 60 % 60, at_s % 60);
                text += &format!("{hour}:{minute:02}:{second:02} Ines sees {stop}\n");
                at_s += next_s;
            }
        }
        let record = night::tell(&text).unwrap_or_else(|fault| panic!("{fault}"));
        self.file(&format!("night-{rounds}.zip"), &record.bundle().unwrap())
    }
}

fn route(plan: &Path, args: &[&str], bundles: &[&Path]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_rattlewatch"));
    command.arg("route").arg(plan).args(["--seconds", "0.2"]).args(args);
    for bundle in bundles {
        command.arg("--walked").arg(bundle);
    }
    command.output().unwrap()
}

fn text(output: &Output) -> String {
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout.clone()).unwrap().replace('\u{a0}', " ")
}

#[test]
fn recorded_legs_set_the_times_right_and_the_answer_says_on_how_many_they_rest() {
    let desk = Desk::new();
    let (plan, bundle) = (desk.plan(51000), desk.bundle(9));
    let before: Value = serde_json::from_str(&text(&route(&plan, &["--json"], &[]))).unwrap();
    assert_eq!(before["walked"], Value::Null);
    // 30 m at 1.19 m/s there, 20 m on, 50 m back, and three looks of 30 s.
    let computed_s = 100.0 / 1.19 + 90.0;
    let near = |value: &Value, expect: f64| {
        assert!((value.as_f64().unwrap() - expect).abs() < 0.5, "{value} is not {expect}");
    };
    near(&before["round_s"][0], computed_s);

    let after: Value = serde_json::from_str(&text(&route(&plan, &["--json"], &[&bundle]))).unwrap();
    near(&after["round_s"][0], 320.0);
    let walked = &after["walked"];
    assert_eq!((&walked["legs"], &walked["used"]), (&json!(26), &json!(true)));
    assert_eq!(walked["left_out"], json!({"no_walk": 0, "other_plan": 0, "too_quick": 0}));
    let ways = walked["ways"].as_array().unwrap();
    let way = ways.iter().find(|way| way["from"] == "Hall" && way["to"] == "Kitchen").unwrap();
    assert_eq!(way["legs"], 9);
    near(&way["computed_s"], 30.0 / 1.19 + 30.0);
    near(&way["half_s"], 120.0);
    // Eight legs lead back: enough, and the least of the three.
    let legs = after["routes"][0]["legs"].as_array().unwrap();
    let behind: Vec<i64> = legs.iter().map(|leg| leg["legs_recorded"].as_i64().unwrap()).collect();
    assert_eq!(behind.iter().sum::<i64>(), 26, "{legs:?}");

    let page = text(&route(&plan, &[], &[&bundle]));
    for says in [
        "walking times are those recorded on site, looking times are assumed",
        "Walking times were set right by 26 recorded legs",
        "3 ways were recorded at least 8 times each",
        "by 9 legs recorded, stay 30 s",
    ] {
        assert!(page.contains(says), "{says}\n{page}");
    }
    let page = text(&route(&plan, &["--lang", "es"], &[&bundle]));
    assert!(page.contains("se ajustaron con 26 tramos registrados"), "{page}");
}

#[test]
fn too_few_legs_change_nothing_until_another_bundle_is_given() {
    let desk = Desk::new();
    let (plan, bundle) = (desk.plan(51000), desk.bundle(3));
    let page = text(&route(&plan, &[], &[]));
    let few = text(&route(&plan, &[], &[&desk.bundle(2)]));
    assert!(few.contains("5 usable legs were recorded, and they count from 8 on"), "{few}");
    let rounds = |page: &str| page.lines().filter(|line| line.contains("(walk ")).count();
    assert_eq!(rounds(&page), rounds(&few));
    assert!(few.contains("assumed, not yet timed on site"));
    // Eight legs of one night, then sixteen of two.
    let one = text(&route(&plan, &[], &[&bundle]));
    assert!(one.contains("set right by 8 recorded legs"), "{one}");
    assert!(one.contains("No single way was recorded 8 times"), "{one}");
    let two = text(&route(&plan, &[], &[&bundle, &desk.bundle(4)]));
    assert!(two.contains("set right by 19 recorded legs"), "{two}");
}

#[test]
fn a_bundle_that_does_not_verify_teaches_nothing_and_says_so() {
    let desk = Desk::new();
    let (plan, bundle) = (desk.plan(51000), desk.bundle(9));
    let mut bytes = std::fs::read(&bundle).unwrap();
    let place = bytes.windows(8).position(|w| w == b"\"mono\":1").expect("a clock");
    bytes[place + 7] = b'2';
    let damaged = desk.file("damaged.zip", &bytes);
    let output = route(&plan, &[], &[&damaged]);
    assert_eq!(output.status.code(), Some(2));
    let says = String::from_utf8_lossy(&output.stderr);
    assert!(says.contains("does not verify") && says.contains("rattlewatch verify"), "{says}");
    let missing = route(&plan, &[], &[Path::new("no-such.zip")]);
    assert_eq!(missing.status.code(), Some(2));
}
