//! The bytes of every kind of entry, as they were signed once, are read for good.
//!
//! `golden/KIND.txt` holds blocks of `line`, `sign` and, where there is one, `priv`. To add one, write
//! a block of `body` and, if wanted, `words`, and run this test with `UPDATE_EXPECT=1`: it signs the
//! new block with the throw-away key of [`key`] and leaves all others as they are.

use ledger::{
    Auth, Clk, DeviceKey, Digest, HeadRef, PersonId, Private, SignedLine, Verified, WatchId,
};
use record::{Draft, Entry, Place, Words};
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::Mutex;

#[test]
fn every_kind_is_read_as_it_was_signed() {
    for kind in Entry::KINDS {
        let blocks = blocks(kind);
        assert!(!blocks.is_empty(), "golden/{kind}.txt holds no line");
        for block in &blocks {
            let signed = SignedLine {
                bytes: block.get("line").unwrap_or_else(|| panic!("{kind}: no line")).into(),
                signature: serde_json::from_value(block.get("sign").into()).unwrap(),
            };
            let line = Verified::check(signed, &key().public())
                .unwrap_or_else(|fault| panic!("{kind}: {fault}"));
            let entry = Entry::of(&line).unwrap_or_else(|fault| panic!("{fault}"));
            assert_eq!(entry.kind(), *kind);
            // Writing what was read gives the same body: nothing of it was lost or renamed.
            assert_eq!(entry.to_body(), line.body, "{kind}");
            let private = block.get("priv");
            assert_eq!(line.private, private.map(|bytes| Digest::of(bytes.as_bytes())), "{kind}");
            if let Some(bytes) = private {
                let words = Words::open(&Private::parse(bytes.as_bytes()).unwrap());
                assert_eq!(words.text(), "Smell of paint\nby the stair door", "{kind}");
                assert_eq!(words.names["told"], "Marta Ilves");
                assert_eq!(words.fix.unwrap().lat_e7, 416_412_340);
            }
        }
        let with_words = blocks.iter().any(|block| block.get("priv").is_some());
        assert!(with_words, "{kind}: no line with a private line");
    }
}

#[test]
fn every_file_is_that_of_a_kind() {
    let known: BTreeSet<String> =
        Entry::KINDS.iter().map(|kind| format!("{kind}.txt")).chain(["codes.txt".into()]).collect();
    let found: BTreeSet<String> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(found, known);
}

/// What an older program wrote lacks the fields that came later; what a newer one writes has more.
#[test]
fn a_field_of_a_later_version_is_named_and_changes_no_older_line() {
    for kind in Entry::KINDS {
        let line: ledger::Line =
            serde_json::from_str(blocks(kind)[0].get("line").unwrap()).unwrap();
        let mut later = line.clone();
        later.body.insert("of_a_later_version".into(), 1.into());
        let fault = Entry::of(&later).unwrap_err();
        assert_eq!(fault.kind, *kind);
        assert!(fault.says.contains("of_a_later_version"), "{fault}");
        let mut next = line;
        next.v += 1;
        let bytes = next.to_bytes().unwrap();
        let signed = SignedLine { signature: key().sign(&bytes), bytes };
        let fault = Verified::check(signed, &key().public()).unwrap_err();
        assert!(fault.to_string().contains("version"), "{kind}: {fault}");
    }
}

static TURN: Mutex<()> = Mutex::new(());

/// One `line`, `sign`, `priv` or `body`, `words`.
#[derive(Default)]
struct Block(Vec<(String, String)>);

impl Block {
    fn get(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|(of, _)| of == name).map(|(_, value)| value.as_str())
    }
}

fn blocks(kind: &str) -> Vec<Block> {
    // While one test signs, the other must not read half a file.
    let _turn = TURN.lock();
    let path = folder().join(format!("{kind}.txt"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| {
        panic!("{kind} has no golden bytes ({error}): write golden/{kind}.txt as told above")
    });
    let text = match std::env::var_os("UPDATE_EXPECT") {
        Some(_) => signed(kind, &text, &path),
        None => text,
    };
    let mut blocks = vec![Block::default()];
    for line in text.lines().filter(|line| !line.starts_with('#')) {
        match line.split_once(' ') {
            Some((name, value)) => {
                blocks.last_mut().unwrap().0.push((name.to_owned(), value.to_owned()));
            }
            None => blocks.push(Block::default()),
        }
    }
    blocks.retain(|block| !block.0.is_empty());
    blocks
}

/// Signs the blocks that are not signed yet.
fn signed(kind: &str, text: &str, path: &PathBuf) -> String {
    let mut out = Vec::new();
    let mut lines = text.lines().peekable();
    while let Some(line) = lines.next() {
        let Some(body) = line.strip_prefix("body ") else {
            out.push(line.to_owned());
            continue;
        };
        let words = lines.peek().and_then(|line| line.strip_prefix("words "));
        let words = words.map(|words| serde_json::from_str::<Words>(words).unwrap());
        if words.is_some() {
            lines.next();
        }
        let body = serde_json::from_str(body).unwrap();
        let entry = Entry::from_body(kind, &body).unwrap_or_else(|fault| panic!("{fault}"));
        let (line, private) = draft(entry, words.unwrap_or_default()).line(&place()).unwrap();
        let bytes = line.to_bytes().unwrap();
        let signature = serde_json::to_value(key().sign(&bytes)).unwrap();
        out.push(format!("line {}", String::from_utf8(bytes).unwrap()));
        out.push(format!("sign {}", signature.as_str().unwrap()));
        if let Some(private) = private {
            out.push(format!("priv {}", String::from_utf8(private.to_bytes().unwrap()).unwrap()));
        }
    }
    let text = out.join("\n") + "\n";
    std::fs::write(path, &text).unwrap();
    text
}

fn draft(entry: Entry, words: Words) -> Draft {
    let clk = Clk {
        wall: 1_798_747_200_000,
        mono: 5_400_000,
        boot: "b1".into(),
        off: Some(-20),
        err: Some(40),
        age: Some(1_000),
        tz: -360,
    };
    let head = HeadRef {
        origin: "desk.gannet.example/house/2026".into(),
        size: 4_711,
        root: Digest::of(b"root"),
    };
    Draft {
        who: PersonId::new("p-7").unwrap(),
        auth: Auth::Pin,
        clk,
        head: Some(head),
        app: "1.0.0".into(),
        entry,
        words,
        salt: [9; 16],
    }
}

fn place() -> Place {
    let watch = WatchId::new("w-gannet-1").unwrap();
    Place {
        seq: 41,
        prev: ledger::LineId(Digest::of(b"before")),
        ..Place::start(key().device(), watch)
    }
}

/// Thrown away: everybody can sign with it.
fn key() -> DeviceKey {
    DeviceKey::from_seed([7; 32])
}

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("golden")
}
