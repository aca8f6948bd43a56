//! The vectors of everything smaller than a bundle: keys, lines, leaves, heads, proofs, receipts.

use super::{check_file, folder, one_line};
use crate::world::{World, small_watch};
use base64::{Engine, engine::general_purpose::STANDARD};
use ledger::merkle::{self, Tree};
use ledger::note::Note;
use ledger::receipt::Receipt;
use ledger::{
    DeviceKey, Digest, Head, Leaf, Proof, PublicKey, Signature, SignedHead, SignedLine, Verified,
    Vkey, canonical,
};
use serde_json::{Value, json};

/// One case a line; `fault` is null where everything holds, else a word that stands in what the
/// program says.
fn jsonl(cases: &[Value]) -> Vec<u8> {
    cases.iter().map(one_line).collect::<String>().into_bytes()
}

fn read(name: &str) -> Vec<Value> {
    let text = std::fs::read_to_string(folder().join(name)).unwrap();
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// Runs each case of a file and compares what is said with its `fault`.
fn judge(name: &str, judge: impl Fn(&Value) -> Result<(), String>) {
    for case in read(name) {
        let said = judge(&case);
        match (&case["fault"], &said) {
            (Value::Null, Ok(())) => {}
            (Value::String(word), Err(says)) if says.contains(word) => {}
            _ => panic!("{name}: {}: {said:?}", case["name"]),
        }
    }
}

fn text<'c>(case: &'c Value, member: &str) -> &'c str {
    case[member].as_str().unwrap()
}

fn says<T>(result: Result<T, impl std::fmt::Display>) -> Result<(), String> {
    result.map(|_| ()).map_err(|fault| fault.to_string())
}

#[test]
fn keys() {
    let device = |seed: u8| {
        let key = DeviceKey::from_seed([seed; 32]);
        let seed: String = [seed; 32].map(|byte| format!("{byte:02x}")).concat();
        json!({"seed": seed, "key": key.public(), "dev": key.device(), "name": "device"})
    };
    let log = |year: u16| {
        let seed: String = [(year % 200) as u8; 32].map(|byte| format!("{byte:02x}")).concat();
        json!({"seed": seed, "vkey": World::log_key(year).vkey(), "name": "log"})
    };
    check_file("keys.jsonl", &jsonl(&[device(1), device(2), device(3), log(2026), log(2027)]));
}

#[test]
fn values() {
    let good = ["{\"a\":1,\"b\":[true,null,\"x\"]}", "{}", "\"é\"", "-1", "9007199254740991"];
    let bad = [
        ("members out of order", "{\"b\":1,\"a\":2}", "canonical"),
        ("a space", "{\"a\": 1}", "canonical"),
        ("a member twice", "{\"a\":1,\"a\":1}", "canonical"),
        ("an escape that is not needed", "\"\\u0041\"", "canonical"),
        ("an escaped slash", "\"\\/\"", "canonical"),
        ("a newline at the end", "{}\n", "canonical"),
        ("a second spelling of zero", "-0", "integer"),
        ("a fraction", "1.5", "integer"),
        ("an exponent", "1e3", "integer"),
        ("an integer that doubles cannot hold", "9007199254740992", "integer"),
        ("a letter in two parts", "\"e\u{301}\"", "NFC"),
        ("a control character", "\"\u{7f}\"", "control"),
        ("an escaped control character", "\"\\n\"", "control"),
        ("a member that is not ASCII", "{\"é\":1}", "ASCII"),
        ("half a surrogate pair", "\"\\ud800\"", "JSON"),
        ("cut off", "{\"a\":1", "JSON"),
        ("nothing", "", "JSON"),
        ("no number", "NaN", "JSON"),
    ];
    let good = good.iter().map(|value| json!({"name": "good", "value": value, "fault": null}));
    let bad = bad
        .iter()
        .map(|(name, value, fault)| json!({"name": name, "value": value, "fault": fault}));
    check_file("values.jsonl", &jsonl(&good.chain(bad).collect::<Vec<_>>()));
    judge("values.jsonl", |case| says(canonical::parse(text(case, "value").as_bytes())));
}

#[test]
fn lines() {
    let world = small_watch();
    let good = &world.kept[2].signed;
    let key = DeviceKey::from_seed([2; 32]);
    let good_text = String::from_utf8(good.bytes.clone()).unwrap();
    let case = |name: &str, line: &str, sig: Signature, key: PublicKey, fault: Value| json!({"name": name, "line": line, "sig": sig, "key": key, "fault": fault});
    let mut cases = vec![case("good", &good_text, good.signature, key.public(), Value::Null)];
    let changes = [
        ("a later version", "\"v\":1", "\"v\":2", "version 2"),
        ("a member too many", "\"v\":1", "\"v\":1,\"w\":1", "unknown field"),
        ("a member is missing", "\"auth\":\"pin\",", "", "missing field"),
        (
            "a way of knowing people that is none",
            "\"auth\":\"pin\"",
            "\"auth\":\"word\"",
            "variant",
        ),
        ("a number below zero", "\"seq\":1", "\"seq\":-1", "fields of a line"),
        ("an id with a capital", "person-2", "Person-2", "is no id"),
        ("a first line that names one before it", "\"seq\":1", "\"seq\":0", "seq 0"),
        ("spelled otherwise", "\"seq\":1", "\"seq\": 1", "canonical"),
        ("a fraction", "\"seq\":1", "\"seq\":1.5", "integer"),
        ("a body that is no object", "\"body\":{}", "\"body\":[]", "fields of a line"),
    ];
    for (name, from, to, fault) in changes {
        let line = good_text.replacen(from, to, 1);
        assert_ne!(line, good_text, "{name}");
        let sig = key.sign(line.as_bytes());
        cases.push(case(name, &line, sig, key.public(), json!(fault)));
    }
    let changed = good_text.replacen("round_began", "round_ended", 1);
    let other = DeviceKey::from_seed([3; 32]);
    let zero = Signature([0; 64]);
    let long = format!("{{\"app\":\"{}\"}}", "x".repeat(canonical::LINE_BYTES_MAX));
    cases.extend([
        case(
            "changed after it was signed",
            &changed,
            good.signature,
            key.public(),
            json!("signature"),
        ),
        case("no signature", &good_text, zero, key.public(), json!("signature")),
        case("another key", &good_text, good.signature, other.public(), json!("not the key")),
        case(
            "signed by another key",
            &good_text,
            other.sign(good_text.as_bytes()),
            key.public(),
            json!("signature"),
        ),
        case("too long", &long, key.sign(long.as_bytes()), key.public(), json!("bytes")),
        case(
            "a note instead of a line",
            "text\n",
            key.sign(b"text\n"),
            key.public(),
            json!("JSON"),
        ),
    ]);
    check_file("lines.jsonl", &jsonl(&cases));
    judge("lines.jsonl", |case| {
        let key: PublicKey = serde_json::from_value(case["key"].clone()).unwrap();
        let signature: Signature = serde_json::from_value(case["sig"].clone()).unwrap();
        let bytes = text(case, "line").as_bytes().to_vec();
        says(Verified::check(SignedLine { bytes, signature }, &key))
    });
}

#[test]
fn leaves() {
    let world = small_watch();
    let good = String::from_utf8(world.logs[0].shown[3].clone()).unwrap();
    let mut cases = vec![json!({
        "name": "good", "leaf": good, "hash": merkle::leaf_hash(good.as_bytes()), "fault": null
    })];
    let changes = [
        ("a later version", "\"v\":1", "\"v\":2", "version 2"),
        ("a negative error", "\"rxe\":5", "\"rxe\":-5", "negative"),
        ("another tag", "\"t\":\"entry\"", "\"t\":\"line\"", "fields of a leaf"),
        ("spelled otherwise", "\"rxe\":5", "\"rxe\": 5", "canonical"),
        ("a member too many", "\"rxe\":5", "\"rxe\":5,\"rxf\":5", "unknown field"),
        (
            "a closing leaf without its key",
            "\"t\":\"entry\"",
            "\"t\":\"close\"",
            "fields of a leaf",
        ),
    ];
    for (name, from, to, fault) in changes {
        let leaf = good.replacen(from, to, 1);
        assert_ne!(leaf, good, "{name}");
        cases.push(json!({"name": name, "leaf": leaf, "fault": fault}));
    }
    check_file("leaves.jsonl", &jsonl(&cases));
    judge("leaves.jsonl", |case| {
        let leaf = Leaf::parse(text(case, "leaf").as_bytes()).map_err(|fault| fault.to_string())?;
        assert_eq!(json!(leaf.hash()), case["hash"]);
        Ok(())
    });
}

#[test]
fn heads() {
    let key = World::log_key(2026);
    let head = Head { origin: key.name().into(), size: 4, root: Digest::of(b"root") };
    let good = head.sign(&key).to_string();
    let witness = ledger::LogKey::from_seed("witness.example", [5; 32]).unwrap();
    let both = head.sign(&key).also_signed(&witness).to_string();
    let root = STANDARD.encode(head.root.0);
    let signed = |body: &str| Note::sign(body.to_owned(), &[&key]).to_string();
    let origin = key.name();
    let vkey = key.vkey().to_string();
    let case = |name: &str, head: &str, fault: Value| json!({"name": name, "head": head, "vkey": vkey, "fault": fault});
    let cases = [
        case("good", &good, Value::Null),
        case("signed by a witness too", &both, Value::Null),
        case("another size", &good.replacen("\n4\n", "\n5\n", 1), json!("does not fit")),
        case(
            "a size with a zero before it",
            &signed(&format!("{origin}\n04\n{root}\n")),
            json!("second line"),
        ),
        case(
            "a size with a sign",
            &signed(&format!("{origin}\n+4\n{root}\n")),
            json!("second line"),
        ),
        case(
            "half a root",
            &signed(&format!("{origin}\n4\n{}\n", &root[..20])),
            json!("third line"),
        ),
        case(
            "a fourth line",
            &signed(&format!("{origin}\n4\n{root}\nmore\n")),
            json!("more lines"),
        ),
        case(
            "the head of another log",
            &signed(&format!("other.example\n4\n{root}\n")),
            json!("name of the log"),
        ),
        case("no signature", &head.text(), json!("no signature")),
        case(
            "a signature of an unknown key only",
            &Note::sign(head.text(), &[&witness]).to_string(),
            json!("known"),
        ),
        case("a hyphen for the dash", &good.replace("— ", "- "), json!("signature line 1")),
        case("a carriage return", &good.replacen('\n', "\r\n", 1), json!("control")),
        case("a line after the signature", &format!("{good}more\n"), json!("signature line 2")),
        case("no newline at the end", good.trim_end(), json!("no signature")),
        case("base64 without its padding", good.trim_end_matches(['=', '\n']), json!("signature")),
    ];
    check_file("heads.jsonl", &jsonl(&cases));
    judge("heads.jsonl", |case| {
        let vkey: Vkey = text(case, "vkey").parse().unwrap();
        says(SignedHead::parse(text(case, "head")).and_then(|head| head.verify(&[vkey])))
    });
}

#[test]
fn proofs() {
    let mut tree = Tree::new();
    (0..11u8).for_each(|i| {
        tree.push(merkle::leaf_hash(&[i]));
    });
    let root = tree.root();
    let inclusion = |name: &str, index: u64, size: u64, path: Vec<Digest>, fault: Value| {
        json!({"name": name, "of": "inclusion", "leaf": tree.leaf(index.min(10)), "index": index,
            "size": size, "root": root, "path": path, "fault": fault})
    };
    let consistency = |name: &str, old: u64, path: Vec<Digest>, fault: Value| {
        json!({"name": name, "of": "consistency", "old_size": old, "old_root": tree.root_at(old),
            "size": 11, "root": root, "path": path, "fault": fault})
    };
    let path = |index| tree.inclusion(index, 11).unwrap();
    let from = |old| tree.consistency(old, 11).unwrap();
    let mut cases: Vec<Value> =
        (0..11).map(|index| inclusion("good", index, 11, path(index), Value::Null)).collect();
    cases.extend((1..=11).map(|old| consistency("good", old, from(old), Value::Null)));
    let shorter = |mut path: Vec<Digest>| {
        path.pop();
        path
    };
    let longer = |mut path: Vec<Digest>| {
        path.push(root);
        path
    };
    let turned = |mut path: Vec<Digest>| {
        path.swap(0, 1);
        path
    };
    cases.extend([
        inclusion("a hash too few", 4, 11, shorter(path(4)), json!("number of hashes")),
        inclusion("a hash too many", 4, 11, longer(path(4)), json!("number of hashes")),
        inclusion("two hashes in turn", 4, 11, turned(path(4)), json!("another root")),
        inclusion("another place", 5, 11, path(4), json!("another root")),
        inclusion("a place outside the tree", 11, 11, path(10), json!("outside")),
        inclusion("a place in an empty tree", 0, 0, Vec::new(), json!("outside")),
        inclusion("no hashes", 4, 11, Vec::new(), json!("number of hashes")),
        consistency("a hash too few", 6, shorter(from(6)), json!("number of hashes")),
        consistency("a hash too many", 6, longer(from(6)), json!("number of hashes")),
        consistency("two hashes in turn", 6, turned(from(6)), json!("another root")),
        consistency(
            "from an empty tree, about which nothing can be said",
            0,
            Vec::new(),
            json!("outside"),
        ),
        consistency("hashes where none are needed", 11, vec![root], json!("number of hashes")),
        consistency("no hashes", 6, Vec::new(), json!("number of hashes")),
        consistency("of another older tree", 7, from(6), json!("the proof")),
    ]);
    check_file("proofs.jsonl", &jsonl(&cases));
    judge("proofs.jsonl", |case| {
        let digest = |member: &str| text(case, member).parse::<Digest>().unwrap();
        let number = |member: &str| case[member].as_u64().unwrap();
        let path: Vec<Digest> = serde_json::from_value(case["path"].clone()).unwrap();
        says(if case["of"] == "inclusion" {
            let (index, size) = (number("index"), number("size"));
            merkle::inclusion(&digest("leaf"), index, size, &path, &digest("root"))
        } else {
            let (old, size) = (number("old_size"), number("size"));
            merkle::consistency(old, &digest("old_root"), size, &digest("root"), &path)
        })
    });
}

#[test]
fn receipts() {
    let world = small_watch();
    let log = &world.logs[0];
    let leaf = Leaf::parse(&log.shown[3]).unwrap();
    let (index, size) = (leaf.index(), log.tree.size());
    let path = log.tree.inclusion(index, size).unwrap();
    let head = Head { origin: log.key.name().into(), size, root: log.tree.root() }.sign(&log.key);
    let good = Receipt { leaf, proof: Proof { index, path, head } }.to_string();
    let vkey = log.key.vkey().to_string();
    let case = |name: &str, receipt: &str, fault: Value| json!({"name": name, "receipt": receipt, "vkey": vkey, "fault": fault});
    let place = format!("index {index}\n");
    let cases = [
        case("good", &good, Value::Null),
        case(
            "another time of receipt",
            &good.replacen("\"rxe\":5", "\"rxe\":4", 1),
            json!("another root"),
        ),
        case("another place", &good.replacen(&place, "index 1\n", 1), json!("different places")),
        case(
            "a place with a zero before it",
            &good.replacen(&place, &format!("index 0{index}\n"), 1),
            json!("decimal"),
        ),
        case(
            "another version of the proof",
            &good.replacen("@v1", "@v2", 1),
            json!("tlog-proof@v1"),
        ),
        case("only the leaf", good.lines().next().unwrap(), json!("line of its own")),
        case("no blank line", &good.replacen("\n\n", "\n", 1), json!("base64")),
        case("cut off", &good[..good.len() - 9], json!("signature")),
    ];
    check_file("receipts.jsonl", &jsonl(&cases));
    judge("receipts.jsonl", |case| {
        let vkey: Vkey = text(case, "vkey").parse().unwrap();
        says(Receipt::parse(text(case, "receipt")).and_then(|receipt| receipt.verify(&[vkey])))
    });
}
