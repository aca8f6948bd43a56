//! What was erased must not be here. Only bundles with erasures are read a second time for this, so
//! that the others need not remember which line had which private line.

use super::Case;
use super::chains::short;
use crate::names;
use crate::source::{NextLine, Source};
use crate::verdict::FaultKind;
use ledger::{Digest, LineId, canonical};
use std::collections::BTreeMap;
use std::io;

pub(super) fn check<S: Source + ?Sized>(case: &mut Case<'_, S>) -> io::Result<()> {
    if case.facts.erased_lines().is_empty() {
        return Ok(());
    }
    let mut erased: BTreeMap<Digest, LineId> = BTreeMap::new();
    for name in files_in(case, "chains") {
        each_line(case, &name, |case, _, bytes| {
            let id = LineId(Digest::of(bytes));
            if case.facts.erased_lines().contains(&id)
                && let Some(digest) = private_of(bytes)
            {
                erased.insert(digest, id);
            }
        })?;
    }
    for name in files_in(case, "private") {
        each_line(case, &name, |case, number, bytes| {
            if let Some(id) = erased.get(&Digest::of(bytes)) {
                let says =
                    format!("the private line of {}… was erased and is still here", short(id));
                case.faults.add(FaultKind::Erased, &name, number, says);
            }
        })?;
    }
    Ok(())
}

fn files_in<S: Source + ?Sized>(case: &Case<'_, S>, folder: &str) -> Vec<String> {
    let names = case.files.names().filter(|name| names::device(name, folder).is_some());
    names.map(str::to_owned).collect()
}

fn each_line<S: Source + ?Sized>(
    case: &mut Case<'_, S>,
    name: &str,
    mut look: impl FnMut(&mut Case<'_, S>, u64, &[u8]),
) -> io::Result<()> {
    let Some(mut stream) = case.files.open(name) else { return Ok(()) };
    for number in 1.. {
        match stream.line()? {
            NextLine::Line(bytes) => look(case, number, &bytes),
            NextLine::TooLong => {}
            NextLine::Unended | NextLine::End => break,
        }
    }
    Ok(())
}

fn private_of(bytes: &[u8]) -> Option<Digest> {
    canonical::parse(bytes).ok()?.get("priv")?.as_str()?.parse().ok()
}
