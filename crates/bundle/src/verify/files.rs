//! The files of the bundle: which there must be, and that each is what the manifest says.

use super::canonical_row;
use crate::archive::File;
use crate::source::{NextLine, Source, Stream};
use crate::verdict::{FaultKind, Faults};
use crate::{KNOWN_INSIDE, names};
use ledger::Digest;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::io;

/// Small files are read whole; none of them has a reason to be larger.
const SMALL_BYTES_MAX: usize = 64 * 1024 * 1024;

pub(super) struct Files<'s, S: Source + ?Sized> {
    source: &'s S,
    list: BTreeMap<String, File>,
    /// Digest and CRC-32 of every file that was read to its end.
    read: BTreeMap<String, (Digest, u32)>,
}

/// One line of `manifest.jsonl`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    bytes: u64,
    name: String,
    sha256: Digest,
}

impl<'s, S: Source + ?Sized> Files<'s, S> {
    pub(super) fn new(source: &'s S, list: Vec<File>) -> Files<'s, S> {
        let list = list.into_iter().map(|file| (file.name.clone(), file)).collect();
        Files { source, list, read: BTreeMap::new() }
    }

    pub(super) fn names(&self) -> impl Iterator<Item = &str> {
        self.list.keys().map(String::as_str)
    }

    pub(super) fn has(&self, name: &str) -> bool {
        self.list.contains_key(name)
    }

    pub(super) fn len(&self, name: &str) -> u64 {
        self.list.get(name).map_or(0, |file| file.len)
    }

    /// How many logs there are.
    pub(super) fn logs(&self) -> usize {
        let numbers = self.names().filter_map(|name| Some(names::log_file(name)?.0));
        numbers.max().unwrap_or(0)
    }

    pub(super) fn open(&self, name: &str) -> Option<Stream<'s, S>> {
        Some(Stream::new(self.source, self.list.get(name)?))
    }

    /// Takes back a stream, so that its digest is known.
    pub(super) fn close(&mut self, name: &str, stream: Stream<'s, S>) -> io::Result<()> {
        self.read.insert(name.to_owned(), stream.finish()?);
        Ok(())
    }

    /// All lines of a small file, numbered from 1. A missing file has none and was named before.
    pub(super) fn lines(
        &mut self,
        name: &str,
        faults: &mut Faults,
    ) -> io::Result<Vec<(u64, Vec<u8>)>> {
        let mut lines = Vec::new();
        let Some(mut stream) = self.open(name) else { return Ok(lines) };
        let mut number = 0;
        loop {
            number += 1;
            match stream.line()? {
                NextLine::Line(bytes) => lines.push((number, bytes)),
                other if ended(&other, name, number, faults) => break,
                _ => {}
            }
        }
        self.close(name, stream)?;
        Ok(lines)
    }

    /// The text of a small file.
    pub(super) fn text(&mut self, name: &str, faults: &mut Faults) -> io::Result<Option<String>> {
        let Some(mut stream) = self.open(name) else { return Ok(None) };
        let bytes = stream.whole(SMALL_BYTES_MAX)?;
        self.close(name, stream)?;
        let text = bytes.and_then(|bytes| String::from_utf8(bytes).ok());
        if text.is_none() {
            faults.add(FaultKind::FileForm, name, None, "not a short text in UTF-8");
        }
        Ok(text)
    }

    /// The bytes of a small file.
    pub(super) fn bytes(&mut self, name: &str) -> io::Result<Option<Vec<u8>>> {
        let Some(mut stream) = self.open(name) else { return Ok(None) };
        let bytes = stream.whole(SMALL_BYTES_MAX)?;
        self.close(name, stream)?;
        Ok(bytes)
    }

    /// Names what every bundle has and this one has not, and what it has without a use.
    pub(super) fn check_presence(&self, faults: &mut Faults) {
        let always =
            [names::README, names::ABOUT, names::KEYS, names::MANIFEST, names::ORG, names::VERIFY];
        let mut needed: Vec<String> = always.map(str::to_owned).to_vec();
        for number in 1..=self.logs().max(1) {
            let files = ["head.note", "heads.jsonl", "log.jsonl", "log.vkey"];
            needed.extend(files.map(|file| names::log(number, file)));
        }
        for name in self.names() {
            if let Some((dev, _)) = names::device(name, "private") {
                needed.push(names::chain(&dev));
            }
            if let Some(stem) = name.strip_suffix(".tsr") {
                needed.push(format!("{stem}.note"));
            } else if let Some(stem) = name.strip_suffix(".note")
                && name.contains("/stamps/")
            {
                needed.push(format!("{stem}.tsr"));
            }
        }
        for name in needed {
            if !self.has(&name) {
                faults.add(FaultKind::FileMissing, &name, None, "the file is missing");
            }
        }
    }

    /// Compares every file with the manifest, the archive and its own name.
    pub(super) fn check_contents(&mut self, faults: &mut Faults) -> io::Result<()> {
        let mut rows = BTreeMap::new();
        let mut before = String::new();
        for (line, bytes) in self.lines(names::MANIFEST, faults)? {
            match canonical_row::<Row>(&bytes) {
                Ok(row) => {
                    if row.name <= before {
                        let says = "files stand in order of name, each once";
                        faults.add(FaultKind::FileForm, names::MANIFEST, line, says);
                    }
                    before.clone_from(&row.name);
                    if !self.has(&row.name) || row.name == names::MANIFEST {
                        let says = format!("it lists {:?}, which is not a file here", row.name);
                        faults.add(FaultKind::Manifest, names::MANIFEST, line, says);
                    }
                    rows.insert(row.name.clone(), row);
                }
                Err(says) => faults.add(FaultKind::FileForm, names::MANIFEST, line, says),
            }
        }
        let files: Vec<File> = self.list.values().cloned().collect();
        for file in &files {
            let found = match self.read.get(&file.name) {
                Some(found) => *found,
                None => Stream::new(self.source, file).finish()?,
            };
            check_file(file, found, rows.get(&file.name), faults);
        }
        Ok(())
    }
}

fn check_file(file: &File, found: (Digest, u32), row: Option<&Row>, faults: &mut Faults) {
    let (digest, crc) = found;
    let name = file.name.as_str();
    let mut fault = |kind, says: &str| faults.add(kind, name, None, says);
    if crc != file.crc {
        fault(FaultKind::Manifest, "the archive's CRC-32 does not fit: a damaged or changed file");
    }
    match row {
        None if name == names::MANIFEST => {}
        None => fault(FaultKind::Manifest, "the manifest does not list this file"),
        Some(row) if (row.bytes, row.sha256) != (file.len, digest) => {
            fault(FaultKind::Manifest, "length or SHA-256 is not what the manifest says");
        }
        Some(_) => {}
    }
    if names::blob_digest(name).is_some_and(|named| named != digest) {
        fault(FaultKind::BlobChanged, "its SHA-256 is not its name: it was changed");
    }
    let is_inside = matches!(name, names::README | names::VERIFY);
    let known = KNOWN_INSIDE.iter().any(|(of, sha)| *of == name && sha.parse() == Ok(digest));
    if is_inside && !known {
        let says = "not one that bundles are written with: do not trust or run it";
        fault(FaultKind::Inside, says);
    }
}

/// Says what is wrong with a line that is none, and whether the file ends here.
pub(super) fn ended(next: &NextLine, file: &str, line: u64, faults: &mut Faults) -> bool {
    match next {
        NextLine::Line(_) | NextLine::End => {}
        NextLine::TooLong => {
            let says = "the line is longer than a line may be";
            faults.add(FaultKind::Canonical, file, line, says);
        }
        NextLine::Unended => {
            let says = "the file does not end with a newline: it was cut off";
            faults.add(FaultKind::FileForm, file, line, says);
        }
    }
    !matches!(next, NextLine::Line(_) | NextLine::TooLong)
}
