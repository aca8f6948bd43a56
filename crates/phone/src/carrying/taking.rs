//! Another phone's codes, read with the camera: whole sets are unpacked, verified and kept.

use super::Said;
use crate::effect::{Effect, Ticket};
use crate::kept::Kept;
use crate::model::{Effects, Model};
use crate::moment::Moment;
use crate::pieces::{Parcel, ParcelFault, Piece, Taken};
use crate::stored::{Name, Put, StoredLine, note};
use crate::sync::{LineFrom, SentLine};
use crate::tap::Page;
use ledger::{LineId, PublicKey};

#[derive(Debug)]
pub(super) struct Keeping {
    ticket: Ticket,
    set: String,
    lines: Vec<Kept>,
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
