//! A line as it comes from a phone: canonical bytes, then its shape, its signature and what it states.

use crate::{Target, seeds};
use ledger::{DeviceKey, Line, Private, SignedLine, Verified, canonical};
use record::{Entry, Words};
use serde_json::Value;

pub(crate) const TARGET: Target = Target {
    name: "line",
    says: "a private line is written again to the same bytes, a line and what it states to the same value",
    reads,
    seeds: || {
        let mut seeds = seeds::vectors("lines.jsonl", "line");
        seeds.extend(seeds::vectors("values.jsonl", "value"));
        let golden = seeds::folder("crates/record/golden");
        seeds.extend(golden.iter().flat_map(|file| lines_in(file)));
        seeds
    },
    longest: canonical::LINE_BYTES_MAX + 64,
};

fn reads(bytes: &[u8]) {
    let Ok(value) = canonical::parse(bytes) else { return };
    assert!(bytes.len() <= canonical::LINE_BYTES_MAX, "longer than a line may be");
    assert_eq!(canonical::to_bytes(&value).as_deref(), Ok(bytes), "one form");
    if let Ok(private) = Private::parse(bytes) {
        assert_eq!(private.to_bytes().as_deref(), Ok(bytes), "a private line has one form");
        let words = Words::open(&private);
        if let Ok(again) = words.seal(private.salt.0) {
            assert_eq!(Words::open(&again), words, "words come back");
        }
    }
    stated(&value);
    // The vectors are signed with this key; whatever names another device is refused before.
    let key = DeviceKey::from_seed([1; 32]);
    if value["dev"].as_str() != Some(&key.public().device().to_string()) {
        return;
    }
    let signed = SignedLine { bytes: bytes.to_vec(), signature: key.sign(bytes) };
    let Ok(line) = Verified::check(signed, &key.public()) else { return };
    assert_eq!(line.bytes(), bytes, "bytes are kept as they were signed");
    // What is absent may stand there as null, so it is the value that comes back.
    let again = line.to_bytes().expect("a line that was read can be written");
    assert_eq!(ledger::json::exactly::<Line>(&again).ok().as_ref(), Some(&*line), "comes back");
}

/// What a line states, whoever signed it.
fn stated(line: &Value) {
    let (Some(kind), Some(body)) = (line["kind"].as_str(), line["body"].as_object()) else {
        return;
    };
    let Ok(entry) = Entry::from_body(kind, body) else { return };
    assert_eq!(entry.kind(), kind);
    let again = Entry::from_body(kind, &entry.to_body());
    assert_eq!(again.as_ref(), Ok(&entry), "what is stated comes back");
    let _ = entry.stated_ms();
}

/// The lines that a golden file of a kind keeps.
fn lines_in(file: &[u8]) -> Vec<Vec<u8>> {
    let text = String::from_utf8_lossy(file);
    let from = |line: &str| line.find('{').map(|at| line.as_bytes()[at..].to_vec());
    text.lines().filter_map(from).collect()
}
