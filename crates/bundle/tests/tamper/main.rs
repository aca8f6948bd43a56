//! Random changes of one byte, by somebody who also mends the manifest and the archive around it.
//! The texts inside (`README.md`, `verify.py`) are left alone: verify.py cannot judge itself.
//! `--changes N` of them with the numbers of `--seed S`; `cargo x campaign tamper` goes on.

#![allow(dead_code, unused_imports, reason = "the other tests use the rest of these files")]

#[path = "../bundle/by_hand.rs"]
mod by_hand;
#[path = "../bundle/whole.rs"]
mod whole;
#[path = "../bundle/world.rs"]
mod world;

use bundle::names;
use by_hand::{Folder, run, text};
use std::process::ExitCode;
use world::{World, files, pack, small_watch};

/// How often each verifier is tried for each of the watches, unless the arguments say.
const USUAL_CHANGES: u64 = 500;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().collect();
    if arguments.iter().any(|argument| argument == "--list") {
        println!("tamper: test");
        return ExitCode::SUCCESS;
    }
    let number = |flag: &str| {
        let at = arguments.iter().position(|argument| argument == flag)?;
        arguments.get(at + 1)?.parse::<u64>().ok()
    };
    let changes = number("--changes").unwrap_or(USUAL_CHANGES);
    let seed = number("--seed").unwrap_or(1);
    for (name, mut watch) in [("one year", small_watch()), ("two years", over_new_year())] {
        let bundle = watch.bundle();
        this_program_misses_no_change(&bundle, changes, seed);
        verify_py_misses_no_change(&bundle, changes, seed);
        println!("a watch in {name}: {changes} changes noticed by each verifier");
    }
    ExitCode::SUCCESS
}

fn over_new_year() -> World {
    let mut world = small_watch();
    world.close_log(2027);
    world.write(2, "seen", serde_json::json!({"stop": "stop-1", "how": "tag"}));
    world.seal();
    world
}

/// A step of SplitMix64: the same numbers on every machine.
fn random(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

fn this_program_misses_no_change(bundle: &[u8], changes: u64, seed: u64) {
    let good = files(bundle);
    let open: Vec<&String> = good
        .keys()
        .filter(|name| ![names::README, names::VERIFY, names::MANIFEST].contains(&name.as_str()))
        .collect();
    let total: usize = open.iter().map(|name| good[*name].len()).sum();
    let mut state = seed;
    for _ in 0..changes {
        let mut at = (random(&mut state) % total as u64) as usize;
        let mut bad = good.clone();
        for name in &open {
            let bytes = bad.get_mut(*name).unwrap();
            if at < bytes.len() {
                bytes[at] ^= (random(&mut state) % 255 + 1) as u8;
                break;
            }
            at -= bytes.len();
        }
        let changed = pack(bad);
        let verdict = bundle::verify(&changed, |_, _| {});
        assert!(!verdict.ok, "byte {at}");
    }
}

fn verify_py_misses_no_change(bundle: &[u8], changes: u64, seed: u64) {
    let folder = Folder::unpacked("tamper", bundle);
    let program = "
import hashlib, importlib.util, json, os, random, sys
folder, changes, seed = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
spec = importlib.util.spec_from_file_location('verify', folder + '/verify.py')
verify = importlib.util.module_from_spec(spec)
spec.loader.exec_module(verify)
good = verify.read_folder(folder)
open_files = sorted(set(good) - {'README.md', 'verify.py', 'manifest.jsonl'})
def holds(files):
    rows = [{'bytes': len(data), 'name': name, 'sha256': hashlib.sha256(data).hexdigest()}
            for name, data in sorted(files.items()) if name != 'manifest.jsonl']
    rows = [json.dumps(row, sort_keys=True, separators=(',', ':')) + '\\n' for row in rows]
    files['manifest.jsonl'] = ''.join(rows).encode()
    try:
        verify.Bundle(files).verify()
        return True
    except (verify.Fault, KeyError, TypeError, ValueError, AttributeError):
        return False
assert holds(dict(good))
numbers = random.Random(seed)
sizes = [len(good[name]) for name in open_files]
for _ in range(changes):
    name = numbers.choices(open_files, sizes)[0]
    data = bytearray(good[name])
    place = numbers.randrange(len(data))
    data[place] ^= numbers.randrange(1, 256)
    if holds({**good, name: bytes(data)}):
        sys.exit('not noticed: byte %d of %s' % (place, name))
";
    let inside = folder.inside();
    let (changes, seed) = (changes.to_string(), seed.to_string());
    let inside = inside.to_str().unwrap();
    let done = run("python3", &["-B", "-c", program, inside, &changes, &seed]);
    assert!(done.status.success(), "{}", text(&done));
}
