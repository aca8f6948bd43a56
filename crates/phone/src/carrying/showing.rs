//! What waits here, as codes on the screen.

use crate::kept::Kept;
use crate::model::Model;
use crate::moment::Moment;
use crate::sync::SentLine;
use crate::tap::Page;
use ledger::order;

/// A code stays on the screen so long, ms (ours): three looks of a slow camera.
const CODE_MS: i64 = 900;

/// Lines shown at a time (ours): some ten minutes of holding two phones together. The rest is shown
/// after these have gone up.
const LINES_MAX: usize = 1_000;

/// The codes on the screen.
#[derive(Debug, Default)]
pub(crate) struct Showing {
    /// Their texts; none until they are cut.
    pub(crate) codes: Vec<String>,
    /// Which is on the screen.
    pub(crate) at: usize,
    /// It stays.
    pub(crate) held: bool,
    /// How many lines they hold.
    pub(crate) lines: usize,
    next_mono_ms: i64,
}

impl Showing {
    /// So many lines, whose codes are being cut.
    pub(super) fn of(lines: usize) -> Showing {
        Showing { lines, ..Showing::default() }
    }
}

/// Lines of this phone that another phone may take along: what the desk keeps aside it would keep aside
/// again, and what is of the house alone travels with its own phone.
pub(super) fn to_show(model: &Model) -> Vec<SentLine> {
    let waiting = model.waiting().filter(|kept| !kept.is_aside() && !kept.line.watch.is_org());
    let mut waiting: Vec<&Kept> = waiting.collect();
    order::sort_by_key(&mut waiting, |kept| (kept.line.watch.clone(), kept.line.seq));
    let waiting = waiting.into_iter().take(LINES_MAX);
    waiting.map(|kept| SentLine::of(&kept.stored.signed(), kept.stored.private.clone())).collect()
}

/// How many lines could be shown.
pub(crate) fn count(model: &Model) -> usize {
    to_show(model).len()
}

/// The codes are there.
pub(crate) fn cut(model: &mut Model, at: &Moment, codes: Vec<String>) {
    if let Some(showing) = &mut model.carrying.showing {
        (showing.codes, showing.at) = (codes, 0);
        showing.next_mono_ms = at.mono_ms + CODE_MS;
    }
}

pub(super) fn turn(model: &mut Model, at: &Moment, on: bool) {
    let Some(showing) = &mut model.carrying.showing else { return };
    let count = showing.codes.len();
    if count > 0 {
        showing.at = (showing.at + if on { 1 } else { count - 1 }) % count;
        showing.next_mono_ms = at.mono_ms + CODE_MS;
    }
}

/// Turns to the next code when its time has come.
pub(crate) fn step(model: &mut Model, at: &Moment) {
    if model.page != Some(Page::Pieces) {
        return;
    }
    let due = |showing: &Showing| !showing.held && at.mono_ms >= showing.next_mono_ms;
    if model.carrying.showing.as_ref().is_some_and(due) {
        turn(model, at, true);
    }
}
