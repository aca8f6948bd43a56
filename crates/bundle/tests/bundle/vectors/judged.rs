//! The vectors of whole bundles: one that holds, and what was done to it case by case, as the files
//! that differ. Judged by this program and by the verify.py inside.

use super::{check_file, folder, one_line};
use crate::by_hand::{run, text};
use crate::forged;
use crate::world::{files, small_watch};
use base64::{Engine, engine::general_purpose::STANDARD};
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;

#[test]
fn bundles() {
    let good = small_watch().bundle();
    check_file("good.zip", &good);
    let mut cases = String::new();
    for forged in forged::all() {
        cases.push_str(&one_line(&difference(&files(&good), &forged)));
    }
    check_file("bundles.jsonl", cases.as_bytes());
    judge_by_this_program();
    judge_by_python();
}

fn difference(good: &BTreeMap<String, Vec<u8>>, forged: &forged::Forged) -> Value {
    let bad = files(&forged.bundle);
    let changed: Map<String, Value> = bad
        .iter()
        .filter(|(name, bytes)| good.get(*name) != Some(bytes))
        .map(|(name, bytes)| (name.clone(), json!(STANDARD.encode(bytes))))
        .collect();
    let gone: Vec<&String> = good.keys().filter(|name| !bad.contains_key(*name)).collect();
    json!({"name": forged.name, "fault": forged.fault, "changed": changed, "gone": gone})
}

fn judge_by_this_program() {
    let good = files(&std::fs::read(folder().join("good.zip")).unwrap());
    let cases = std::fs::read_to_string(folder().join("bundles.jsonl")).unwrap();
    for case in cases.lines() {
        let case: Value = serde_json::from_str(case).unwrap();
        let mut bad = good.clone();
        for (name, bytes) in case["changed"].as_object().unwrap() {
            bad.insert(name.clone(), STANDARD.decode(bytes.as_str().unwrap()).unwrap());
        }
        for name in case["gone"].as_array().unwrap() {
            bad.remove(name.as_str().unwrap());
        }
        let bytes = bundle::archive::write(&bad.into_iter().collect::<Vec<_>>()).unwrap();
        let verdict = bundle::verify(&bytes, |_, _| {});
        let named = verdict.faults.iter().any(|fault| json!(fault.kind) == case["fault"]);
        assert!(named, "{}: {:#?}", case["name"], verdict.faults);
    }
}

/// What only a program outside the bundle can see: that the bundle's own instructions were changed.
const PYTHON_CANNOT_SEE: &str = "inside";

fn judge_by_python() {
    let program = "
import base64, importlib.util, json, sys, zipfile
folder, inside, blind = sys.argv[1:]
spec = importlib.util.spec_from_file_location('verify', inside)
verify = importlib.util.module_from_spec(spec)
spec.loader.exec_module(verify)
archive = zipfile.ZipFile(folder + '/good.zip')
good = {name: archive.read(name) for name in archive.namelist()}
def holds(files):
    try:
        verify.Bundle(files).verify()
        return True
    except (verify.Fault, KeyError, TypeError, ValueError, AttributeError):
        return False
assert holds(dict(good)), 'the good bundle does not hold'
for row in open(folder + '/bundles.jsonl'):
    case = json.loads(row)
    files = dict(good)
    files.update({name: base64.b64decode(data) for name, data in case['changed'].items()})
    for name in case['gone']:
        del files[name]
    if holds(files) and case['fault'] != blind:
        sys.exit('not noticed: ' + case['name'])
";
    let inside = concat!(env!("CARGO_MANIFEST_DIR"), "/inside/verify.py");
    let folder = folder();
    let args = ["-B", "-c", program, folder.to_str().unwrap(), inside, PYTHON_CANNOT_SEE];
    let done = run("python3", &args);
    assert!(done.status.success(), "{}", text(&done));
}
