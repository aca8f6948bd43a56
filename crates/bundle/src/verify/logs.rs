//! The logs, oldest first: every row is hashed into the tree, every leaf is held against its line,
//! and the tree must lead to each older head and to the newest one.

use super::chains::Found;
use super::files::ended;
use super::log::{Log, check_older, check_root, open, succeed};
use super::{Case, How};
use crate::row::Row;
use crate::source::{NextLine, Source, Stream};
use crate::verdict::{FaultKind, Faults};
use crate::workers::Workers;
use crate::{HeadSeen, SealedLine, names};
use ledger::leaf::Entry;
use ledger::{HeadRef, Leaf, Line, LineFault, Private, Sealed, SignedLine, Verified, merkle};
use std::io;

/// As many rows are read before the work on them is shared out.
const BATCH_ROWS: usize = 4096;

/// What the logs came to.
#[derive(Default)]
pub(super) struct Judged {
    pub(super) keys: Vec<String>,
    /// Keys that were taken from the bundle itself.
    pub(super) keys_on_trust: Vec<String>,
    pub(super) head: Option<HeadSeen>,
    pub(super) stamps: u64,
    pub(super) open: Vec<String>,
}

/// A leaf with the line it speaks of, on its way to be checked.
struct Pair {
    leaf: Entry,
    file: String,
    found: Found,
    row: u64,
}

pub(super) fn judge<S, W>(case: &mut Case<'_, S>, mut how: How<'_, W>) -> io::Result<Judged>
where
    S: Source + ?Sized,
    W: Workers,
{
    let mut judged = Judged::default();
    let count = case.files.logs();
    let total = (1..=count).map(|n| case.files.len(&names::log(n, "log.jsonl"))).sum();
    let mut done = 0;
    let mut logs: Vec<Log> = Vec::new();
    for number in 1..=count {
        let mut log = open(case, number, &how, &mut judged)?;
        succeed(logs.last(), &log, &mut judged, &mut case.faults);
        log.last_received = logs.last().and_then(|before| before.last_received);
        let name = log.rows_name.clone();
        logs.push(log);
        let Some(mut stream) = case.files.open(&name) else { continue };
        let mut row = 0;
        loop {
            let (batch, at_end) = read_batch(&mut stream, &name, &mut row, &mut case.faults)?;
            done += batch.iter().map(|(_, bytes)| bytes.len() as u64 + 1).sum::<u64>();
            judge_batch(case, &mut logs, batch, &mut how)?;
            (how.progress)(done, total);
            if at_end {
                break;
            }
        }
        case.files.close(&name, stream)?;
        if let Some(log) = logs.last_mut() {
            check_root(log, &mut case.faults);
        }
    }
    for log in &logs {
        check_older(log, &mut case.faults);
    }
    judged.head = logs.last().and_then(|log| log.newest.as_ref()).map(|head| HeadSeen {
        origin: head.origin.clone(),
        size: head.size,
        root: head.root,
    });
    Ok(judged)
}

/// Rows with their numbers.
type Batch = Vec<(u64, Vec<u8>)>;

/// Reads rows; also whether the file ends after them.
fn read_batch<S: Source + ?Sized>(
    stream: &mut Stream<'_, S>,
    name: &str,
    row: &mut u64,
    faults: &mut Faults,
) -> io::Result<(Batch, bool)> {
    let mut batch = Vec::with_capacity(BATCH_ROWS);
    while batch.len() < BATCH_ROWS {
        *row += 1;
        match stream.line()? {
            NextLine::Line(bytes) => batch.push((*row, bytes)),
            other if ended(&other, name, *row, faults) => return Ok((batch, true)),
            _ => {}
        }
    }
    Ok((batch, false))
}

fn judge_batch<S, W>(
    case: &mut Case<'_, S>,
    logs: &mut [Log],
    batch: Batch,
    how: &mut How<'_, W>,
) -> io::Result<()>
where
    S: Source + ?Sized,
    W: Workers,
{
    let Some((log, before)) = logs.split_last_mut() else { return Ok(()) };
    let rows = how.workers.map(batch, |(number, bytes)| (number, Row::parse(&bytes)));
    let mut pairs = Vec::with_capacity(rows.len());
    let mut skipped = Vec::new();
    for (number, row) in rows {
        match row {
            Ok(row) => {
                log.push(&row, number, &mut case.faults);
                if let Row::Leaf(leaf, _) = row {
                    pair(case, log, leaf, number, &mut pairs, &mut skipped)?;
                }
            }
            Err(says) => case.faults.add(FaultKind::Leaf, &log.rows_name, number, says),
        }
    }
    let keys = &case.keys;
    let checked = how.workers.map(pairs, |pair| {
        let key = keys.get(&pair.leaf.dev).map(|(key, _)| *key);
        let Pair { leaf, file, found, row } = pair;
        let signed = SignedLine { bytes: found.bytes, signature: leaf.sig };
        let line = key.map(|key| Verified::check(signed, &key));
        Checked { leaf, file, number: found.number, row, line }
    });
    let mut skipped = skipped.into_iter().peekable();
    for checked in checked {
        while let Some(skipped) = skipped.next_if(|leaf: &Entry| leaf.i < checked.leaf.i) {
            case.chains.skip(&skipped);
        }
        take(case, log, before, checked, how)?;
    }
    skipped.for_each(|leaf| case.chains.skip(&leaf));
    Ok(())
}

/// A leaf and its line, after the work that each needs alone; no line if there is no key for it.
struct Checked {
    leaf: Entry,
    file: String,
    number: u64,
    row: u64,
    line: Option<Result<Verified<Line>, LineFault>>,
}

fn pair<S: Source + ?Sized>(
    case: &mut Case<'_, S>,
    log: &mut Log,
    leaf: Leaf,
    row: u64,
    pairs: &mut Vec<Pair>,
    skipped: &mut Vec<Entry>,
) -> io::Result<()> {
    let leaf = match leaf {
        Leaf::Entry(leaf) => leaf,
        Leaf::Close(close) => {
            log.close = Some(close);
            return Ok(());
        }
    };
    let taken = if leaf.watch.is_org() {
        case.chains.take_org(&leaf, &mut case.faults)?
    } else if case.about.as_ref().is_some_and(|about| about.watch != leaf.watch) {
        let says = format!("this leaf belongs to watch {}", leaf.watch);
        case.faults.add(FaultKind::ForeignLeaf, &log.rows_name, row, says);
        return Ok(());
    } else {
        let taken = case.chains.take(&leaf, (&log.rows_name, row), &mut case.faults)?;
        if taken.is_none() {
            skipped.push(leaf.clone());
        }
        taken
    };
    pairs.extend(taken.map(|(file, found)| Pair { leaf, file, found, row }));
    Ok(())
}

/// Judges one line in its place, in the order of the log.
fn take<S: Source + ?Sized, W: Workers>(
    case: &mut Case<'_, S>,
    log: &mut Log,
    before: &mut [Log],
    checked: Checked,
    how: &mut How<'_, W>,
) -> io::Result<()> {
    let Checked { leaf, file, number, row, line } = checked;
    let at = (file.as_str(), number);
    let line = match line {
        Some(Ok(line)) => line,
        Some(Err(fault)) => {
            case.faults.add(kind_of(&fault), at.0, at.1, fault.to_string());
            case.chains.skip(&leaf);
            return Ok(());
        }
        None => {
            let says = format!("there is no key for device {}", leaf.dev);
            case.faults.add(FaultKind::KeyMissing, at.0, at.1, says);
            case.chains.skip(&leaf);
            return Ok(());
        }
    };
    if !leaf.seals(&line) {
        let says = "the leaf states another watch or place than its line";
        case.faults.add(FaultKind::LeafOther, &log.rows_name, row, says);
    }
    if !line.watch.is_org() {
        case.chains.extend(&line, at, &mut case.faults);
        case.lines += 1;
    }
    case.facts.note(&line, &leaf, at, &case.chains, &mut case.faults);
    let private = take_private(case, &line, at)?;
    let quoted = line.head.as_ref().and_then(|head| quoted_at(case, log, before, head, &leaf, at));
    if let Some(keep) = &mut how.keep {
        let sealed = Sealed::between(quoted, Some((leaf.rx, leaf.rxe)));
        keep(SealedLine { line, leaf, log: log.number, private, sealed });
    }
    Ok(())
}

fn take_private<S: Source + ?Sized>(
    case: &mut Case<'_, S>,
    line: &Verified<Line>,
    at: (&str, u64),
) -> io::Result<Option<Vec<u8>>> {
    // Lines of the organisation are here to be trusted, not to be read: their private lines stay out.
    let Some(digest) = line.private.filter(|_| !line.watch.is_org()) else { return Ok(None) };
    let private = case.chains.take_private(&line.dev, &digest, &mut case.faults)?;
    match &private {
        None => case.facts.note_missing_private(line.id(), at),
        Some(bytes) => {
            if let Err(fault) = Private::parse(bytes) {
                let says = format!("its private line is none: {fault}");
                case.faults.add(FaultKind::PrivateOther, at.0, at.1, says);
            }
        }
    }
    Ok(private)
}

/// Checks a quoted head, and returns the time of receipt of the last shown leaf under it.
fn quoted_at<S: Source + ?Sized>(
    case: &mut Case<'_, S>,
    log: &mut Log,
    before: &mut [Log],
    head: &HeadRef,
    leaf: &Entry,
    at: (&str, u64),
) -> Option<(i64, i64)> {
    let says = if head.origin == log.origin && head.size > leaf.i {
        "it quotes a head that did not exist when it was received"
    } else if head.size == 0 {
        if head.root == merkle::empty_root() {
            return None;
        }
        "it quotes an empty log with another root than an empty log has"
    } else {
        let current = log.number;
        let of = before.iter_mut().chain([log]).find(|log| log.origin == head.origin);
        // A log that another one followed without being closed may have lost its end.
        let lost =
            |of: &Log| of.number < current && of.close.is_none() && of.ends_before(head.size);
        let Some(of) = of.filter(|of| !lost(of)) else {
            case.facts.note_unchecked_head();
            return None;
        };
        match of.heads.get_mut(&head.size) {
            Some(known) if known.root == head.root => {
                known.used = true;
                return known.received;
            }
            _ => "it quotes a head that this log never had",
        }
    };
    case.faults.add(FaultKind::QuotedHead, at.0, at.1, says);
    None
}

fn kind_of(fault: &LineFault) -> FaultKind {
    match fault {
        LineFault::Canonical(_) => FaultKind::Canonical,
        LineFault::Shape { .. } => FaultKind::Shape,
        LineFault::Version { .. } => FaultKind::Version,
        LineFault::OtherKey { .. } => FaultKind::OtherChain,
        LineFault::Signature => FaultKind::Signature,
        LineFault::Start => FaultKind::Link,
    }
}
