//! Random changes of one byte, by somebody who also mends the manifest and the archive around it.
//! The texts inside (`README.md`, `verify.py`) are left alone: verify.py cannot judge itself.

use crate::by_hand::{Folder, run, text};
use crate::world::{files, pack, small_watch};
use bundle::names;

/// How often each verifier is tried.
const CHANGES: u64 = 1_000;

/// A step of SplitMix64: the same numbers on every machine.
fn random(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[test]
fn this_program_misses_no_change() {
    let good = files(&small_watch().bundle());
    let open: Vec<&String> = good
        .keys()
        .filter(|name| ![names::README, names::VERIFY, names::MANIFEST].contains(&name.as_str()))
        .collect();
    let total: usize = open.iter().map(|name| good[*name].len()).sum();
    let mut state = 42;
    for _ in 0..CHANGES {
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

#[test]
fn verify_py_misses_no_change() {
    let folder = Folder::unpacked("tamper", &small_watch().bundle());
    let program = "
import hashlib, importlib.util, json, os, random, sys
folder, changes = sys.argv[1], int(sys.argv[2])
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
numbers = random.Random(42)
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
    let done =
        run("python3", &["-B", "-c", program, inside.to_str().unwrap(), &CHANGES.to_string()]);
    assert!(done.status.success(), "{}", text(&done));
}
