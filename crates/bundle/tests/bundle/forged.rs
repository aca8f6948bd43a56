//! Bundles that somebody forged: each case says what was done and which fault must be named.
//! Where the log itself takes part in the forgery, its keys sign what they should not.

use crate::world::{SERVER, World, files, pack, small_watch};
use bundle::FaultKind;
use bundle::FaultKind as F;
use ledger::{DeviceKey, Digest, Head, LogKey};
use serde_json::json;
use std::collections::BTreeMap;

/// What was done, the fault that must be named, and the bundle.
pub(crate) struct Forged {
    pub(crate) name: &'static str,
    pub(crate) fault: FaultKind,
    pub(crate) bundle: Vec<u8>,
}

type Files = BTreeMap<String, Vec<u8>>;

/// A forgery by whoever holds only the bundle.
fn edited(name: &'static str, fault: FaultKind, edit: impl FnOnce(&mut Files)) -> Forged {
    let mut files = files(&small_watch().bundle());
    edit(&mut files);
    Forged { name, fault, bundle: pack(files) }
}

/// A forgery with the help of the log and of devices.
fn grown(name: &'static str, fault: FaultKind, grow: impl FnOnce(&mut World)) -> Forged {
    let mut world = small_watch();
    grow(&mut world);
    Forged { name, fault, bundle: world.bundle() }
}

/// A line that should not have been received, sealed in as if it were right.
fn received(name: &'static str, fault: FaultKind, write: impl FnOnce(&mut World)) -> Forged {
    grown(name, fault, |world| {
        write(world);
        world.seal();
    })
}

/// The chain of the guard who walks.
fn chain_name() -> String {
    bundle::names::chain(&DeviceKey::from_seed([2; 32]).device())
}

fn private_name() -> String {
    bundle::names::private(&DeviceKey::from_seed([2; 32]).device())
}

fn lines(files: &Files, name: &str) -> Vec<String> {
    let text = String::from_utf8(files[name].clone()).unwrap();
    text.lines().map(str::to_owned).collect()
}

fn put(files: &mut Files, name: &str, lines: &[String]) {
    let text: String = lines.iter().map(|line| format!("{line}\n")).collect();
    files.insert(name.to_owned(), text.into_bytes());
}

fn edit_lines(files: &mut Files, name: &str, edit: impl FnOnce(&mut Vec<String>)) {
    let mut all = lines(files, name);
    edit(&mut all);
    put(files, name, &all);
}

fn replace(files: &mut Files, name: &str, from: &str, to: &str) {
    let text = String::from_utf8(files[name].clone()).unwrap();
    assert!(text.contains(from), "{name} holds no {from}");
    files.insert(name.to_owned(), text.replacen(from, to, 1).into_bytes());
}

fn seen(world: &mut World) {
    world.write(2, "seen", json!({"stop": "stop-1", "how": "tag"}));
}

/// Every case.
pub(crate) fn all() -> Vec<Forged> {
    let mut all = of_files();
    all.extend(of_lines());
    all.extend(of_logs());
    all.extend(of_received_lines());
    all.extend(of_what_is_missing());
    all
}

fn of_files() -> Vec<Forged> {
    let unmended = |name, file: &'static str, from: &'static str, to: &'static str| {
        let mut all = files(&small_watch().bundle());
        replace(&mut all, file, from, to);
        let bundle = bundle::archive::write(&all.into_iter().collect::<Vec<_>>()).unwrap();
        Forged { name, fault: F::Manifest, bundle }
    };
    vec![
        unmended("a file is not what the manifest says", "README.md", "sha256sum", "sha512sum"),
        unmended(
            "the manifest states another length",
            "manifest.jsonl",
            "\"bytes\":1",
            "\"bytes\":2",
        ),
        edited("the readme tells other steps", F::Inside, |files| {
            replace(files, "README.md", "openssl", "0penssl");
        }),
        edited("the program for verifying says yes to everything", F::Inside, |files| {
            files.insert("verify.py".into(), b"print('All holds')\n".to_vec());
        }),
        edited("there are no keys", F::FileMissing, |files| {
            files.remove("keys.jsonl");
        }),
        edited("there is no head", F::FileMissing, |files| {
            files.remove("logs/1/head.note");
        }),
        edited("a file without its last newline", F::FileForm, |files| {
            files.get_mut("keys.jsonl").unwrap().pop();
        }),
        edited("a chain without its last newline", F::FileForm, |files| {
            files.get_mut(&chain_name()).unwrap().pop();
        }),
        edited("a bundle of a later version", F::Version, |files| {
            replace(files, "about.json", "\"v\":1", "\"v\":2");
        }),
        edited("about is spelled otherwise", F::FileForm, |files| {
            replace(files, "about.json", "\"v\":1", "\"v\": 1");
        }),
        edited("another watch is claimed", F::ForeignLeaf, |files| {
            replace(files, "about.json", "gannet-hotel-1", "gannet-hotel-2");
        }),
        edited("another server is claimed", F::NotSealed, |files| {
            let other = DeviceKey::from_seed([2; 32]).device().to_string();
            let server = DeviceKey::from_seed([SERVER; 32]).device().to_string();
            replace(files, "about.json", &server, &other);
        }),
        edited("a chain that nobody wrote", F::FileExtra, |files| {
            let name = bundle::names::chain(&DeviceKey::from_seed([77; 32]).device());
            files.insert(name, Vec::new());
        }),
        edited("private lines of nobody's chain", F::FileMissing, |files| {
            let name = bundle::names::private(&DeviceKey::from_seed([77; 32]).device());
            files.insert(name, Vec::new());
        }),
        edited("a key that no line needs", F::Key, |files| {
            let key = DeviceKey::from_seed([77; 32]).public();
            edit_lines(files, "keys.jsonl", |keys| {
                keys.push(format!("{{\"dev\":\"{}\",\"key\":\"{key}\"}}", key.device()));
                keys.sort();
            });
        }),
        edited("a key under another name", F::Key, |files| {
            let key = DeviceKey::from_seed([77; 32]).public();
            edit_lines(files, "keys.jsonl", |keys| {
                let start = keys[0].find("\"key\"").unwrap();
                keys[0].replace_range(start.., &format!("\"key\":\"{key}\"}}"));
            });
        }),
        edited("keys in another order", F::FileForm, |files| {
            edit_lines(files, "keys.jsonl", |keys| keys.swap(0, 1));
        }),
        edited("a blob is another", F::BlobChanged, |files| {
            let name = bundle::names::blob(&Digest::of(b"a plan of three floors"));
            files.insert(name, b"a plan of two floors".to_vec());
        }),
        edited("a blob that no line names", F::BlobExtra, |files| {
            files.insert(bundle::names::blob(&Digest::of(b"stray")), b"stray".to_vec());
        }),
        edited("a blob is left out", F::BlobMissing, |files| {
            files.remove(&bundle::names::blob(&Digest::of(b"a plan of three floors")));
        }),
    ]
}

fn of_lines() -> Vec<Forged> {
    let chain = |name, fault, edit: fn(&mut Vec<String>)| {
        edited(name, fault, |files| edit_lines(files, &chain_name(), edit))
    };
    vec![
        chain("a word in a line is changed", F::LineChanged, |lines| {
            lines[3] = lines[3].replacen("stop-1", "stop-9", 1);
        }),
        chain("a line is spelled otherwise", F::LineChanged, |lines| {
            lines[3] = lines[3].replacen("\":", "\": ", 1);
        }),
        chain("a line in the middle is left out", F::LineMissing, |lines| {
            lines.remove(4);
        }),
        chain("the last line is left out", F::LineMissing, |lines| {
            lines.pop();
        }),
        chain("the first line is left out", F::LineMissing, |lines| {
            lines.remove(0);
        }),
        chain("a line stands twice", F::LeafMissing, |lines| lines.insert(3, lines[3].clone())),
        chain("two lines change places", F::LeafMissing, |lines| lines.swap(3, 4)),
        chain("a line of 9,000 characters", F::Canonical, |lines| lines.push("x".repeat(9000))),
        chain("a line that the log never had", F::LeafMissing, |lines| {
            lines.push(lines[3].replacen("stop-1", "stop-9", 1));
        }),
        edited("a line of the organisation that the log never had", F::LeafMissing, |files| {
            edit_lines(files, "org.jsonl", |lines| {
                lines.push(lines[0].replacen("\"seq\":0", "\"seq\":9", 1));
            });
        }),
        edited("a private line is changed", F::PrivateOther, |files| {
            replace(files, &private_name(), "Ines", "Irma");
        }),
        edited("a private line is left out", F::PrivateMissing, |files| {
            edit_lines(files, &private_name(), |lines| {
                lines.remove(0);
            });
        }),
        edited("a private line of another bundle", F::PrivateOther, |files| {
            edit_lines(files, &private_name(), |lines| {
                lines.push("{\"salt\":\"AAAAAAAAAAAAAAAAAAAAAA==\",\"words\":[\"x\"]}".into());
            });
        }),
    ]
}

const ROWS: &str = "logs/1/log.jsonl";

fn of_logs() -> Vec<Forged> {
    let rows = |name, fault, edit: fn(&mut Vec<String>)| {
        edited(name, fault, |files| edit_lines(files, ROWS, edit))
    };
    vec![
        rows("a time of receipt is changed", F::Root, |rows| {
            rows[1] = rows[1].replacen("\"rxe\":5", "\"rxe\":6", 1);
        }),
        rows("a leaf is left out", F::Leaf, |rows| {
            rows.remove(3);
        }),
        rows("two leaves change places", F::Leaf, |rows| rows.swap(0, 1)),
        rows("a leaf of a later version", F::Leaf, |rows| {
            rows[1] = rows[1].replacen("\"v\":1", "\"v\":2", 1);
        }),
        rows("the log is cut off", F::Root, |rows| {
            rows.pop();
        }),
        rows("a block of no power of two", F::Leaf, |rows| {
            let block = rows.iter_mut().find(|row| row.contains("others")).unwrap();
            *block = block.replacen("\"n\":1", "\"n\":3", 1);
        }),
        edited("an older head has another root", F::OlderHead, |files| {
            edit_lines(files, "logs/1/heads.jsonl", |heads| {
                let zeros = Digest::ZERO.to_string();
                heads[2].replace_range(9..9 + zeros.len(), &zeros);
            });
        }),
        edited("an older head that nothing needs", F::OlderHead, |files| {
            let last = lines(files, "logs/1/heads.jsonl").len() - 1;
            edit_lines(files, "logs/1/heads.jsonl", |heads| {
                heads.insert(last, heads[last].replacen("\"size\":", "\"size\":1", 1));
            });
        }),
        edited("a head with another size", F::Head, |files| {
            edit_lines(files, "logs/1/head.note", |head| head[1] = "30".into());
        }),
        edited("a head signed by another key", F::Head, |files| {
            let note = String::from_utf8(files["logs/1/head.note"].clone()).unwrap();
            let head = ledger::SignedHead::parse(&note).unwrap().claimed().clone();
            let other = LogKey::from_seed(&head.origin, [99; 32]).unwrap();
            files.insert("logs/1/head.note".into(), head.sign(&other).to_string().into_bytes());
        }),
        edited("a log key that is none", F::FileForm, |files| {
            replace(files, "logs/1/log.vkey", "+", "-");
        }),
        grown("a shorter log with a right head", F::LeafMissing, |world| {
            let log = world.logs.last_mut().unwrap();
            let mut short = ledger::merkle::Tree::new();
            (0..20).for_each(|i| {
                short.push(log.tree.leaf(i).unwrap());
            });
            log.tree = short;
        }),
        grown("two logs, the second not the one that was named", F::Succession, |world| {
            world.close_log(2027);
            world.logs.pop();
            world.open_log(2028);
            seen(world);
            world.seal();
        }),
        received("a line after the log was closed", F::Leaf, |world| {
            world.close_log(2027);
            world.logs.pop();
            seen(world);
        }),
        grown("a time stamp on something else", F::Stamp, |world| {
            let head: Head = world.head();
            let log = world.logs.last_mut().unwrap();
            let note = head.sign(&log.key).to_string();
            log.stamps.push(bundle::Stamp { note, tsr: b"no stamp".to_vec() });
        }),
        received("the clock of the log goes back", F::Time, |world| {
            world.now_ms -= 60_000;
            seen(world);
        }),
        received("a leaf of somebody else's watch is shown", F::ForeignLeaf, |world| {
            world.show_elsewhere(9);
        }),
    ]
}

fn of_received_lines() -> Vec<Forged> {
    let twisted = |name, fault, twist: fn(&mut ledger::Line)| {
        received(name, fault, |world| {
            world.twist = Some(twist);
            seen(world);
        })
    };
    let spelled = |name, fault, twist: fn(&mut ledger::SignedLine)| {
        received(name, fault, |world| {
            world.twist_signed = Some(twist);
            seen(world);
        })
    };
    vec![
        twisted("a line of a later version", F::Version, |line| line.v = 2),
        twisted("a line with a gap before it", F::LeafOther, |line| line.seq += 1),
        twisted("a line that names another before it", F::Link, |line| {
            line.prev = ledger::LineId(Digest::of(b"other"));
        }),
        twisted("a line that starts its chain again", F::Link, |line| {
            line.prev = ledger::LineId::default();
        }),
        twisted("a line of another watch", F::OtherChain, |line| {
            line.watch = ledger::WatchId::new("another-site-4").unwrap();
        }),
        twisted("a line that names another device", F::LineMissing, |line| {
            line.dev = DeviceKey::from_seed([3; 32]).device();
        }),
        twisted("a line that quotes a head the log never had", F::QuotedHead, |line| {
            line.head.as_mut().unwrap().root = Digest::of(b"other");
        }),
        twisted("a line that quotes a head of the future", F::QuotedHead, |line| {
            line.head.as_mut().unwrap().size += 1;
        }),
        twisted("a line that quotes an empty log with a root", F::QuotedHead, |line| {
            line.head.as_mut().unwrap().size = 0;
        }),
        spelled("a signature of other bytes", F::Signature, |signed| {
            signed.signature = DeviceKey::from_seed([2; 32]).sign(b"other");
        }),
        spelled("a signature by another key", F::Signature, |signed| {
            signed.signature = DeviceKey::from_seed([3; 32]).sign(&signed.bytes);
        }),
        spelled("a signature with its second spelling", F::Signature, |signed| {
            second_spelling(&mut signed.signature.0);
        }),
        spelled("a line that was spelled otherwise before it was signed", F::Canonical, |signed| {
            signed.bytes.insert(1, b' ');
            signed.signature = DeviceKey::from_seed([2; 32]).sign(&signed.bytes);
        }),
        received("a device that nobody let in", F::NotEnrolled, |world| {
            world.write(5, "seen", json!({"stop": "stop-1", "how": "tag"}));
        }),
        received("a device that was let in by another phone", F::NotEnrolled, |world| {
            let key = DeviceKey::from_seed([5; 32]).public();
            let body = json!({"device": key.device(), "keep": "soft", "key": key, "role": "guard"});
            let line = world.org(2, "enrolled", body);
            world.org_lines.push(line);
            world.write(5, "seen", json!({"stop": "stop-1", "how": "tag"}));
        }),
        received("a device that was shut out before", F::Revoked, |world| {
            let device = DeviceKey::from_seed([2; 32]).device();
            let body = json!({"by": "person-7", "device": device});
            let line = world.org(SERVER, "revoked", body);
            world.org_lines.push(line);
            seen(world);
        }),
    ]
}

/// Adds the order of the group to the scalar: the same signature to a verifier that is not strict
/// (RFC 8032 section 5.1.7 refuses it).
fn second_spelling(signature: &mut [u8; 64]) {
    const ORDER: [u8; 32] = [
        0xed, 0xd3, 0xf5, 0x5c, 0x1a, 0x63, 0x12, 0x58, 0xd6, 0x9c, 0xf7, 0xa2, 0xde, 0xf9, 0xde,
        0x14, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0x10,
    ];
    let mut carry = 0;
    for (byte, add) in signature[32..].iter_mut().zip(ORDER) {
        let sum = u16::from(*byte) + u16::from(add) + carry;
        (*byte, carry) = (sum as u8, sum >> 8);
    }
}

fn of_what_is_missing() -> Vec<Forged> {
    let seal = |world: &mut World, change: fn(&mut serde_json::Value)| {
        let mut chains = world.chain_ends();
        change(&mut chains);
        world.write(SERVER, "sealed", json!({ "chains": chains }));
    };
    vec![
        grown("no seal at all", F::NotSealed, |world| world.forget_seals()),
        grown("a whole device is left out, its leaves with it", F::Seal, |world| {
            world.forget(2, 0);
        }),
        grown("the end of a chain is left out, its leaves with it", F::Seal, |world| {
            world.forget(2, 9);
        }),
        grown("the end of a chain is another than the seal says", F::Seal, |world| {
            seal(world, |chains| chains[0]["last"] = json!(Digest::of(b"other")));
        }),
        grown("the seal counts a line more", F::Seal, |world| {
            seal(world, |chains| {
                let count = chains[1]["count"].as_u64().unwrap();
                chains[1]["count"] = json!(count + 1);
            });
        }),
        grown("a seal in another form", F::Shape, |world| {
            world.write(SERVER, "sealed", json!({"chains": "all"}));
        }),
        grown("the erasure is left out", F::LineMissing, |world| {
            world
                .kept
                .retain(|kept| !kept.signed.bytes.windows(8).any(|part| part == b"\"erased\""));
        }),
        received("an erased private line is still here", F::Erased, |world| {
            let line = world.kept.iter().find(|kept| kept.private.is_some()).unwrap();
            let body = json!({"by": "person-7", "line": line.signed.id()});
            world.write(SERVER, "erased", body);
        }),
        received("an erased blob is still here", F::Erased, |world| {
            let blob = Digest::of(b"a plan of three floors");
            world.write(SERVER, "erased", json!({"blob": blob, "by": "person-7"}));
        }),
    ]
}

#[test]
fn every_forgery_is_named() {
    let all = all();
    let mut wrong = Vec::new();
    for forged in &all {
        let faults = bundle::verify(&forged.bundle, |_, _| {}).faults;
        if !faults.iter().any(|fault| fault.kind == forged.fault) {
            wrong.push(format!("{}: expected {:?}, found {faults:#?}", forged.name, forged.fault));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(all.len() >= 50, "{} cases", all.len());
}
