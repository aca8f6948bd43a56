//! What may be forgotten: whole watches that were released long ago, and only once every line of them
//! has a receipt and a head later than that receipt was verified. Where the own chains end is never
//! forgotten.

use crate::effect::Effect;
use crate::kept::Kept;
use crate::model::{Effects, Model};
use crate::moment::Moment;
use crate::pictures::blob_of;
use crate::stored::Put;
use ledger::{Digest, LineId, WatchId, order};
use record::Entry;

/// A released watch stays so long, ms (ours): until the talk about it is over.
const STAYS_MS: i64 = 30 * 86_400_000;

/// So often it is looked for, ms.
const EVERY_MS: i64 = 3_600_000;

/// Forgets what may be forgotten.
pub(crate) fn step(model: &mut Model, at: &Moment, effects: &mut Effects) {
    if at.mono_ms < model.prune_mono_ms || model.writing.unsaved() > 0 {
        return;
    }
    model.prune_mono_ms = at.mono_ms + EVERY_MS;
    let old: Vec<WatchId> =
        model.watches.keys().filter(|watch| is_over(model, watch)).cloned().collect();
    for watch in old {
        forget(model, &watch, effects);
    }
}

fn is_over(model: &Model, watch: &WatchId) -> bool {
    if model.choices.watch.as_ref() == Some(watch) && model.log.watches.len() > 1 {
        return false;
    }
    let state = model.watches.get(watch).map(|held| held.about(model.now_ms));
    let released = state.as_ref().and_then(|state| state.released().map(|release| release.at_ms));
    let held = state.as_ref().is_some_and(watch::State::is_held);
    let long_ago = released.is_some_and(|at_ms| model.now_ms - at_ms > STAYS_MS);
    long_ago && !held && lines(model, watch).all(|kept| is_covered(model, kept))
}

fn lines<'a>(model: &'a Model, watch: &'a WatchId) -> impl Iterator<Item = &'a Kept> {
    model.lines.values().filter(move |kept| kept.line.watch == *watch)
}

/// Whether the line is in the log and, if it is one of ours, a head later than its receipt was verified.
fn is_covered(model: &Model, kept: &Kept) -> bool {
    let Some(leaf) = &kept.leaf else { return false };
    let own = model.device.as_ref().is_some_and(|own| own.key.device() == kept.line.dev);
    let Some(newest) = model.log.head.as_ref() else { return !own };
    // A head of the log that goes on is later than any of the log before it.
    let later = match kept.stored.receipt_head() {
        Some(receipt) => receipt.origin != newest.origin || receipt.size < newest.size,
        None => leaf.i + 1 < newest.size,
    };
    !own || later
}

fn forget(model: &mut Model, watch: &WatchId, effects: &mut Effects) {
    let ids: Vec<LineId> = lines(model, watch).map(|kept| kept.line.id()).collect();
    let named: order::Set<Digest> =
        lines(model, watch).filter_map(|kept| blob_of(&Entry::of(&kept.line).ok()?)).collect();
    let sent = |digest: &Digest| model.blobs.get(digest).is_some_and(|blob| blob.sent);
    let blobs: Vec<Digest> = named.into_iter().filter(sent).collect();
    let mut puts: Vec<Put> = ids.iter().copied().map(Put::ForgetLine).collect();
    puts.extend(blobs.iter().copied().map(Put::ForgetBlob));
    for id in &ids {
        model.lines.remove(id);
    }
    for blob in &blobs {
        model.blobs.remove(blob);
    }
    model.watches.remove(watch);
    if model.choices.watch.as_ref() == Some(watch) {
        model.choices.watch = model.log.watches.iter().find(|other| *other != watch).cloned();
    }
    let ticket = model.ticket();
    effects.push(Effect::Save { ticket, guard: None, puts });
}
