//! Puts the parts of a bundle into its one order.

use crate::archive::{self, TooLarge};
use crate::row::{Others, largest_block};
use crate::{BundleParts, KeptLine, LogParts, README, VERIFY_PY, names};
use ledger::{
    DeviceId, Digest, Leaf, Line, SignedHead, SignedLine, canonical, head::HeadFault,
    leaf::LeafFault,
};
use serde_json::json;
use std::collections::BTreeMap;
use std::fmt;

/// Why parts make no bundle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WriteFault {
    /// Bytes given as a line are none.
    Line {
        /// Why.
        says: String,
    },
    /// Bytes given as a leaf are none.
    Leaf(LeafFault),
    /// A text given as a signed head is none.
    Head(HeadFault),
    /// The tree has fewer leaves than the head, or another root.
    Tree,
    /// A line of the organisation has no leaf among those to show.
    NoLeaf,
    /// More logs than a bundle has room for.
    Logs,
    /// Too large for one archive.
    TooLarge(TooLarge),
}

impl fmt::Display for WriteFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            WriteFault::Line { says } => write!(f, "not a line: {says}"),
            WriteFault::Leaf(fault) => fault.fmt(f),
            WriteFault::Head(fault) => fault.fmt(f),
            WriteFault::Tree => f.write_str("the tree is not the one under the head"),
            WriteFault::NoLeaf => f.write_str("a line is not in any of the logs given"),
            WriteFault::Logs => write!(f, "a bundle holds at most {} logs", names::LOGS_MAX),
            WriteFault::TooLarge(fault) => fault.fmt(f),
        }
    }
}

impl std::error::Error for WriteFault {}

/// Makes the bytes of the bundle. Does not judge: [`verify`](fn@crate::verify) does.
pub fn write(parts: &BundleParts<'_>) -> Result<Vec<u8>, WriteFault> {
    if parts.logs.len() > names::LOGS_MAX {
        return Err(WriteFault::Logs);
    }
    let mut files = BTreeMap::new();
    let about = json!({"server": parts.server, "v": ledger::line::VERSION, "watch": parts.watch});
    files.insert(names::README.to_owned(), README.as_bytes().to_vec());
    files.insert(names::VERIFY.to_owned(), VERIFY_PY.as_bytes().to_vec());
    files.insert(names::ABOUT.to_owned(), jsonl([canonical_bytes(&about)]));
    files.insert(names::KEYS.to_owned(), keys(parts));
    let mut quoted = put_chains(&mut files, &parts.lines)?;
    for line in &parts.org_lines {
        note_quoted(&parse(line)?, &mut quoted);
    }
    let mut places = BTreeMap::new();
    for (number, log) in (1..).zip(&parts.logs) {
        put_log(&mut files, number, log, &quoted, &mut places)?;
    }
    files.insert(names::ORG.to_owned(), org(&parts.org_lines, &places)?);
    for blob in &parts.blobs {
        files.insert(names::blob(&Digest::of(blob)), blob.clone());
    }
    files.insert(names::MANIFEST.to_owned(), manifest(&files));
    let files: Vec<(String, Vec<u8>)> = files.into_iter().collect();
    archive::write(&files).map_err(WriteFault::TooLarge)
}

type Files = BTreeMap<String, Vec<u8>>;

/// The heads that lines quote: origin, size, root.
type Quoted = BTreeMap<(String, u64), Digest>;

fn keys(parts: &BundleParts<'_>) -> Vec<u8> {
    let keys: BTreeMap<DeviceId, _> = parts.keys.iter().map(|key| (key.device(), key)).collect();
    jsonl(keys.iter().map(|(dev, key)| canonical_bytes(&json!({"dev": dev, "key": key}))))
}

fn put_chains(files: &mut Files, lines: &[KeptLine]) -> Result<Quoted, WriteFault> {
    let mut quoted = Quoted::new();
    let mut chains: BTreeMap<DeviceId, BTreeMap<u64, &KeptLine>> = BTreeMap::new();
    for kept in lines {
        let line = parse(&kept.signed)?;
        note_quoted(&line, &mut quoted);
        chains.entry(line.dev).or_default().insert(line.seq, kept);
    }
    for (dev, chain) in &chains {
        let lines = chain.values().map(|kept| kept.signed.bytes.clone());
        files.insert(names::chain(dev), jsonl(lines));
        let mut private = chain.values().filter_map(|kept| kept.private.clone()).peekable();
        if private.peek().is_some() {
            files.insert(names::private(dev), jsonl(private));
        }
    }
    Ok(quoted)
}

fn note_quoted(line: &Line, quoted: &mut Quoted) {
    if let Some(head) = &line.head {
        quoted.insert((head.origin.clone(), head.size), head.root);
    }
}

fn parse(signed: &SignedLine) -> Result<Line, WriteFault> {
    serde_json::from_slice(&signed.bytes)
        .map_err(|error| WriteFault::Line { says: error.to_string() })
}

fn put_log(
    files: &mut Files,
    number: usize,
    log: &LogParts<'_>,
    quoted: &Quoted,
    places: &mut BTreeMap<ledger::LineId, (usize, u64)>,
) -> Result<(), WriteFault> {
    let signed = SignedHead::parse(&log.head).map_err(WriteFault::Head)?;
    let head = signed.claimed();
    if log.tree.root_at(head.size) != Some(head.root) {
        return Err(WriteFault::Tree);
    }
    let mut older = BTreeMap::new();
    for ((origin, size), root) in quoted {
        let is_ours = *origin == head.origin && (1..head.size).contains(size);
        if is_ours && log.tree.root_at(*size) == Some(*root) {
            older.insert(*size, *root);
        }
    }
    for stamp in &log.stamps {
        let stamped = SignedHead::parse(&stamp.note).map_err(WriteFault::Head)?;
        let stamped = stamped.claimed();
        if stamped.size < head.size {
            older.insert(stamped.size, stamped.root);
        }
        let name = |ending| names::log(number, &format!("stamps/{}.{ending}", stamped.size));
        files.insert(name("note"), stamp.note.clone().into_bytes());
        files.insert(name("tsr"), stamp.tsr.clone());
    }
    let mut shown = BTreeMap::new();
    for bytes in &log.leaves {
        let leaf = Leaf::parse(bytes).map_err(WriteFault::Leaf)?;
        if let Leaf::Entry(entry) = &leaf {
            places.insert(entry.e, (number, entry.i));
        }
        if leaf.index() < head.size {
            shown.insert(leaf.index(), bytes.clone());
        }
    }
    let older_rows =
        older.iter().map(|(size, root)| canonical_bytes(&json!({"root": root, "size": size})));
    files.insert(names::log(number, "heads.jsonl"), jsonl(older_rows));
    let cuts: Vec<u64> = older.keys().copied().collect();
    files.insert(names::log(number, "log.jsonl"), jsonl(rows(log, head.size, &shown, &cuts)?));
    files.insert(names::log(number, "head.note"), log.head.clone().into_bytes());
    files.insert(names::log(number, "log.vkey"), format!("{}\n", log.vkey).into_bytes());
    Ok(())
}

/// The shown leaves, and between them the largest blocks that no older head cuts.
fn rows(
    log: &LogParts<'_>,
    size: u64,
    shown: &BTreeMap<u64, Vec<u8>>,
    cuts: &[u64],
) -> Result<Vec<Vec<u8>>, WriteFault> {
    let mut rows = Vec::with_capacity(shown.len());
    let mut cuts = cuts.iter().copied().peekable();
    let mut leaves = shown.iter().peekable();
    let mut at = 0;
    while at < size {
        while cuts.next_if(|cut| *cut <= at).is_some() {}
        if let Some((_, bytes)) = leaves.next_if(|(index, _)| **index == at) {
            rows.push(bytes.clone());
            at += 1;
            continue;
        }
        let stop = leaves.peek().map_or(size, |(index, _)| **index);
        let stop = cuts.peek().map_or(stop, |cut| stop.min(*cut));
        let count = largest_block(at, stop);
        let node = log.tree.node(count.trailing_zeros(), at / count).ok_or(WriteFault::Tree)?;
        rows.push(canonical_bytes(&Others::new(at, count, node)));
        at += count;
    }
    Ok(rows)
}

fn org(
    lines: &[SignedLine],
    places: &BTreeMap<ledger::LineId, (usize, u64)>,
) -> Result<Vec<u8>, WriteFault> {
    let mut ordered = BTreeMap::new();
    for line in lines {
        let place = places.get(&line.id()).ok_or(WriteFault::NoLeaf)?;
        ordered.insert(*place, line.bytes.clone());
    }
    Ok(jsonl(ordered.into_values()))
}

fn manifest(files: &Files) -> Vec<u8> {
    jsonl(files.iter().map(|(name, bytes)| {
        let row = json!({"bytes": bytes.len(), "name": name, "sha256": Digest::of(bytes)});
        canonical_bytes(&row)
    }))
}

fn canonical_bytes<T: serde::Serialize>(value: &T) -> Vec<u8> {
    canonical::to_bytes(value).expect("digests, ids, names and counts are canonical")
}

fn jsonl(lines: impl IntoIterator<Item = Vec<u8>>) -> Vec<u8> {
    let mut out = Vec::new();
    for line in lines {
        out.extend(line);
        out.push(b'\n');
    }
    out
}
