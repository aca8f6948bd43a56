//! Lines of a phone that cannot send: shown as codes there, read and taken along here. What was taken
//! along is kept and sent like this phone's own lines, each with the signature of whoever wrote it.

use crate::effect::{Effect, Ticket};
use crate::kept::Kept;
use crate::model::{Effects, Model};
use crate::moment::Moment;
use crate::pieces::{Gathering, Parcel, ParcelFault, Piece, PieceFault, Taken};
use crate::stored::{Name, Put, StoredLine, note};
use crate::sync::{LineFrom, SentLine};
use crate::tap::Page;
use ledger::{LineId, PublicKey, order};

/// A code stays on the screen so long, ms (ours): three looks of a slow camera.
const CODE_MS: i64 = 900;

/// Lines shown at a time (ours): some ten minutes of holding two phones together. The rest is shown
/// after these have gone up.
const LINES_MAX: usize = 1_000;

/// What a person can say about codes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CarryTap {
    /// Show what waits here as codes.
    Show,
    /// One code on, or back.
    Turn {
        /// Forwards.
        on: bool,
    },
    /// Keep this code on the screen, or go on by itself.
    Hold(bool),
}

/// What is going on with codes.
#[derive(Debug, Default)]
pub(crate) struct Carrying {
    pub(crate) showing: Option<Showing>,
    pub(crate) gathering: Gathering,
    pub(crate) said: Option<Said>,
    opening: Option<String>,
    keeping: Option<Keeping>,
}

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

/// What the last code led to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Said {
    /// It is no piece.
    No(PieceFault),
    /// The set was spoiled and begins anew.
    Spoiled,
    /// The set is whole and holds no lines.
    Unreadable(ParcelFault),
    /// So many lines of this person's phone are on the disk here.
    Kept {
        /// How many.
        lines: usize,
        /// Whose.
        who: String,
    },
    /// All of them were here before.
    Known,
    /// They are of watches in which this phone has no part.
    Strange,
    /// They are this phone's own.
    Own,
    /// They do not verify.
    Unverified,
    /// The disk did not take them.
    NotKept,
}

#[derive(Debug)]
struct Keeping {
    ticket: Ticket,
    set: String,
    lines: Vec<Kept>,
}

/// Lines of this phone that another phone may take along: what the desk keeps aside it would keep aside
/// again, and what is of the house alone travels with its own phone.
fn to_show(model: &Model) -> Vec<SentLine> {
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

/// Something was touched.
pub(crate) fn did(model: &mut Model, at: &Moment, tap: CarryTap, effects: &mut Effects) {
    match tap {
        CarryTap::Show => {
            let Some(device) = &model.device else { return };
            let (key, lines) = (device.key, to_show(model));
            model.carrying.showing = Some(Showing { lines: lines.len(), ..Showing::default() });
            crate::update::open(model, Page::Pieces, effects);
            if !lines.is_empty() {
                effects.push(Effect::CutPieces { key, lines });
            }
        }
        CarryTap::Turn { on } => turn(model, at, on),
        CarryTap::Hold(held) => {
            if let Some(showing) = &mut model.carrying.showing {
                showing.held = held;
            }
        }
    }
}

/// The codes are there.
pub(crate) fn cut(model: &mut Model, at: &Moment, codes: Vec<String>) {
    if let Some(showing) = &mut model.carrying.showing {
        (showing.codes, showing.at) = (codes, 0);
        showing.next_mono_ms = at.mono_ms + CODE_MS;
    }
}

fn turn(model: &mut Model, at: &Moment, on: bool) {
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

/// The camera read a code.
pub(crate) fn scanned(model: &mut Model, text: &str, effects: &mut Effects) {
    if model.page != Some(Page::Gather) {
        crate::update::open(model, Page::Gather, effects);
    }
    let carrying = &mut model.carrying;
    match Piece::read(text).map(|piece| carrying.gathering.take(piece)) {
        Err(fault) => carrying.said = Some(Said::No(fault)),
        Ok(Taken::Spoiled) => carrying.said = Some(Said::Spoiled),
        Ok(Taken::Whole(set, packed)) => {
            // One after the other: a code read again while it is opened changes nothing.
            if carrying.opening.is_none() && carrying.keeping.is_none() {
                carrying.opening = Some(set);
                effects.push(Effect::OpenParcel { packed });
            }
        }
        Ok(Taken::New) => carrying.said = None,
        Ok(Taken::Again | Taken::Done) => {}
    }
}

/// A whole set was unpacked.
pub(crate) fn opened(
    model: &mut Model,
    parcel: Result<Parcel, ParcelFault>,
    effects: &mut Effects,
) {
    let Some(set) = model.carrying.opening.take() else { return };
    let said = match parcel {
        Ok(parcel) => match take(model, &parcel) {
            Ok(lines) => {
                keep(model, set, parcel.key, lines, effects);
                return;
            }
            Err(said) => said,
        },
        Err(fault) => Said::Unreadable(fault),
    };
    match said {
        Said::Known => model.carrying.gathering.kept(&set),
        _ => model.carrying.gathering.forget(&set),
    }
    model.carrying.said = Some(said);
}

/// The lines of a parcel that are worth keeping here, each verified.
fn take(model: &Model, parcel: &Parcel) -> Result<Vec<Kept>, Said> {
    let device = parcel.key.device();
    if model.device.as_ref().is_some_and(|own| own.key.device() == device) {
        return Err(Said::Own);
    }
    let verified: Vec<Kept> =
        parcel.lines.iter().filter_map(|sent| verified(sent, &parcel.key)).collect();
    if verified.is_empty() {
        return Err(Said::Unverified);
    }
    let (ours, strange): (Vec<Kept>, Vec<Kept>) =
        verified.into_iter().partition(|kept| model.log.watches.contains(&kept.line.watch));
    if ours.is_empty() && !strange.is_empty() {
        return Err(Said::Strange);
    }
    let fresh = ours.into_iter().filter(|kept| !model.lines.contains_key(&kept.line.id()));
    let fresh: Vec<Kept> = fresh.collect();
    if fresh.is_empty() { Err(Said::Known) } else { Ok(fresh) }
}

fn verified(sent: &SentLine, key: &PublicKey) -> Option<Kept> {
    let id: LineId = sent.signed().id();
    let (line, private) = (sent.line.clone(), sent.private.clone());
    let stored =
        StoredLine { id, line, sig: sent.sig, private, receipt: None, leaf: None, aside: None };
    Kept::read(stored, key).ok()
}

fn keep(model: &mut Model, set: String, key: PublicKey, lines: Vec<Kept>, effects: &mut Effects) {
    let mut puts: Vec<Put> =
        lines.iter().map(|kept| Put::Line(Box::new(kept.stored.clone()))).collect();
    if !model.log.carried.contains(&key) {
        model.log.carried.push(key);
    }
    puts.push(note(Name::Log, &model.log));
    let ticket = model.ticket();
    model.carrying.keeping = Some(Keeping { ticket, set, lines });
    effects.push(Effect::Save { ticket, guard: None, puts });
}

/// The lines are on the disk: only now are they said to be here.
pub(crate) fn saved(model: &mut Model, at: &Moment, ticket: Ticket) {
    let Some(keeping) = model.carrying.keeping.take_if(|keeping| keeping.ticket == ticket) else {
        return;
    };
    model.carrying.gathering.kept(&keeping.set);
    let who = keeping.lines.first().map(|kept| model.name_of(&kept.line.who));
    let lines = keeping.lines.len();
    model.carrying.said = Some(Said::Kept { lines, who: who.unwrap_or_default() });
    for kept in keeping.lines {
        model.take(kept);
    }
    crate::syncing::hurry(model, at);
}

/// Nothing was kept: the set stays whole, and any of its codes asks again.
pub(crate) fn save_failed(model: &mut Model, ticket: Ticket) {
    if model.carrying.keeping.take_if(|keeping| keeping.ticket == ticket).is_some() {
        model.carrying.said = Some(Said::NotKept);
    }
}
