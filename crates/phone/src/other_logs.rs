//! The house's log goes on under another name: at New Year, or because the server came back from a
//! copy that was older than what it had signed. The phone follows, and sends again what was lost.

use crate::model::{Membership, Model};
use crate::stored::{Name, Put, note};
use crate::sync::CutLog;
use crate::sync::reading::ReadLine;
use ledger::{HeadRef, Vkey};

/// Pins the key of the log that goes on. What was counted in the log before is named as such.
pub(crate) fn follow(model: &mut Model, next: Vkey, puts: &mut Vec<Put>) {
    let Membership::In(member) = &mut model.membership else { return };
    let before = std::mem::replace(&mut member.origin, next.name().to_owned());
    member.log_key = next;
    puts.push(note(Name::Member, member));
    for watch in model.log.from.keys() {
        model.log.from_log.or_insert_with(watch.clone(), || before.clone());
    }
}

/// Moves the mark of a watch on to a line that was given.
pub(crate) fn given(model: &mut Model, line: &ReadLine) {
    let watch = line.line.watch.clone();
    let from = model.log.from.or_default(watch.clone());
    let log = model.log.from_log.insert(watch, line.log.clone());
    let same = log.is_none_or(|log| log == line.log);
    *from = if same { (*from).max(line.leaf.i + 1) } else { line.leaf.i + 1 };
}

/// The log of the head that this phone quoted lost its end: what this phone holds of the rest counts
/// as unsent again, whoever wrote it. A line of a log before may be among them; the server knows it.
pub(crate) fn cut(
    model: &mut Model,
    quoted: Option<&HeadRef>,
    cut: &[CutLog],
    puts: &mut Vec<Put>,
) {
    let Some(quoted) = quoted else { return };
    let Some(cut) = cut.iter().find(|cut| cut.origin == quoted.origin) else { return };
    let lost = model.lines.values_mut();
    for kept in lost.filter(|kept| kept.leaf.as_ref().is_some_and(|leaf| leaf.i >= cut.size)) {
        kept.leaf = None;
        (kept.stored.receipt, kept.stored.leaf) = (None, None);
        puts.push(Put::Line(Box::new(kept.stored.clone())));
    }
    for blob in model.blobs.values_mut().filter(|blob| blob.sent) {
        blob.sent = false;
        puts.push(Put::Blob(blob.clone()));
    }
    for (watch, from) in model.log.from.iter_mut() {
        if model.log.from_log.get(watch) == Some(&cut.origin) {
            *from = (*from).min(cut.size);
        }
    }
}
