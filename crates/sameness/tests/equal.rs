//! Every question, natively and in wasm: equal bytes. The wasm is run by wasmi, an interpreter that we did not write, and
//! built with the settings of the phone that is shipped.

mod host;

use host::Host;
use sameness::{QUESTIONS, ask};
use std::path::{Path, PathBuf};

/// A hall with two wings, a slanting wall, a court and three columns, typed for this test: coordinates that are no whole
/// numbers, walls that are parallel and almost so, corners that see one another exactly along a wall.
const MAP: &str = r#"{
  "border": [[0, 0], [31.7, 0], [31.7, 12.3], [24.1, 12.3], [24.1, 19.9], [38.2, 21.35], [38.2, 30.05], [17.6, 30.05],
             [17.6, 12.3], [9.45, 12.3], [4.4, 24.8], [0, 24.8]],
  "holes": [[[12.1, 3.3], [19.9, 3.3], [19.9, 8.1], [12.1, 8.1]], [[5.2, 5.2], [5.7, 5.2], [5.7, 5.7], [5.2, 5.7]],
            [[25.3, 4.4], [26.05, 5.15], [25.3, 5.9], [24.55, 5.15]], [[20.2, 22.2], [21.9, 22.4], [21.1, 24.7]]],
  "range": 9.5
}"#;

#[test]
fn the_same_night_is_judged_with_equal_bytes() {
    let nights = files("nights", ".night");
    assert!(nights.len() >= 9, "{nights:?}");
    let mut host = Host::new();
    for path in nights {
        let text = std::fs::read_to_string(&path).expect("a night");
        let told = night::tell(&text).unwrap_or_else(|fault| panic!("{}: {fault}", path.display()));
        let answer = equal(&mut host, "findings", &path, &told.bundle().expect("a bundle"));
        assert!(answer.contains("WatchDial"), "{}: {answer}", path.display());
    }
}

#[test]
fn the_same_plan_gives_equal_surveys_rounds_and_drawings() {
    let plans = files("plans", ".plan.json");
    assert!(plans.len() >= 2, "{plans:?}");
    let mut host = Host::new();
    for path in plans {
        let answer = equal(&mut host, "rounds", &path, &std::fs::read(&path).expect("a plan"));
        assert!(answer.contains("Kept(") && answer.contains("<svg"), "{}", path.display());
    }
}

#[test]
fn the_same_map_gives_equal_meshes_sight_and_walking_lengths() {
    let mut host = Host::new();
    let mut ask = |question| equal(&mut host, question, Path::new("typed"), MAP.as_bytes());
    let mesh = ask("mesh");
    let triangles: usize = mesh.split(' ').nth(1).and_then(|n| n.parse().ok()).expect("a count");
    assert!(triangles > 20, "{mesh}");
    let sight = ask("sight");
    assert_eq!(sight.lines().count(), 2 * triangles, "with and without a range: {sight}");
    let ways = ask("ways");
    let lengths = ways.lines().next().expect("a table").split_whitespace().count();
    assert_eq!(lengths, triangles * triangles, "{ways}");
    assert_eq!(ways.lines().count(), 1 + triangles, "{ways}");
}

#[test]
fn the_same_map_gives_equal_walks_that_see_all_and_equal_bounds() {
    let answer = equal(&mut Host::new(), "walk", Path::new("typed"), MAP.as_bytes());
    let word = |at: usize| answer.split_whitespace().nth(at).expect("so many numbers");
    let number = |at| f64::from_bits(u64::from_str_radix(word(at), 16).expect("bits"));
    let (length, unseen, bound) = (number(0), number(1), number(3));
    assert!(unseen == 0.0 && 0.0 < bound && bound <= length, "{unseen} {bound} {length}");
}

/// What cannot be taken is said in the same words, too.
#[test]
fn the_same_nonsense_is_refused_in_equal_words() {
    let mut host = Host::new();
    for (name, _) in QUESTIONS {
        let here = ask(name, b"{\"version\":");
        assert!(here.is_err(), "{name}: {here:?}");
        assert_eq!(host.ask(name, b"{\"version\":"), here, "{name}");
    }
}

/// The answer, after comparing.
fn equal(host: &mut Host, name: &str, of: &Path, input: &[u8]) -> String {
    let here = ask(name, input).unwrap_or_else(|says| panic!("{name} of {}: {says}", of.display()));
    let there = host.ask(name, input).expect("what is answered here is answered there");
    let differ = here.bytes().zip(there.bytes()).position(|(a, b)| a != b);
    let around = |text: &str, at: usize| {
        let (from, to) = (at.saturating_sub(80), (at + 80).min(text.len()));
        String::from_utf8_lossy(&text.as_bytes()[from..to]).into_owned()
    };
    if let Some(at) = differ {
        let (ours, theirs) = (around(&here, at), around(&there, at));
        panic!("{name} of {} differs at byte {at}:\nnative {ours}\nwasm   {theirs}", of.display());
    }
    assert_eq!(here.len(), there.len(), "{name} of {}", of.display());
    here
}

fn files(folder: &str, ending: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures").join(folder);
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("fixtures")
        .map(|entry| entry.expect("a file").path())
        .collect();
    files.retain(|path| path.to_string_lossy().ends_with(ending));
    files.sort();
    files
}
