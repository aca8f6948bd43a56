//! What was seen, what was done about it, who was told.

use crate::draft::Telling;
use crate::effect::Effect;
use crate::model::{Effects, Model, Notice};
use crate::moment::Moment;
use crate::site::Site;
use crate::stored::{Put, StoredBlob};
use crate::tap::{Field, Page};
use crate::writing::{Then, say, say_as, say_with};
use ledger::{Digest, LineId};
use record::{
    Acted, Asked, ClosedObservation, Communication, Corrected, HazardClass, Means, Note, Observed,
    Party, Photo, Severity, StopId, WhatDone, WhyCorrected, Words, ZoneId,
};

/// A class was chosen. Fire, smoke, heat or an unknown smell lead to the card first.
pub(crate) fn class(model: &mut Model, class: HazardClass, effects: &mut Effects) {
    model.page = Some(Page::Where(class));
    if class == HazardClass::Fire {
        effects.push(Effect::OpenCard);
    }
}

/// A place was chosen: the observation is said. Everything else adds to it.
pub(crate) fn at_place(model: &mut Model, at: &Moment, zone: ZoneId, stop: Option<StopId>) {
    let Some(Page::Where(class)) = model.page.clone() else { return };
    let observed = Observed {
        class,
        severity: class.default_severity(),
        zone: Some(zone),
        stop,
        place: None,
        at_ms: None,
        again: None,
    };
    say(model, at, observed, Then::OpenObservation);
}

/// The guard may raise the severity.
pub(crate) fn raise(model: &mut Model, at: &Moment, severity: Severity) {
    let Some(of) = model.draft.observation else { return };
    let entry = Corrected {
        of,
        why: WhyCorrected::Severity,
        at_ms: None,
        zone: None,
        stop: None,
        severity: Some(severity),
        withdrawn: false,
    };
    say(model, at, entry, Then::Nothing);
}

/// Something was done about it, or not after all.
pub(crate) fn toggle_done(model: &mut Model, done: WhatDone) {
    if !model.draft.done.remove(&done) {
        model.draft.done.insert(done);
    }
}

/// Keeps what was done.
pub(crate) fn keep_done(model: &mut Model, at: &Moment) {
    let Some(of) = model.draft.observation else { return };
    let done: Vec<WhatDone> = std::mem::take(&mut model.draft.done).into_iter().collect();
    if !done.is_empty() {
        say(model, at, Acted { of, done, at_ms: None }, Then::Nothing);
    }
    model.notice = Some(Notice::Saved);
}

/// It is put right.
pub(crate) fn put_right(model: &mut Model, at: &Moment, of: LineId) {
    let done: Vec<WhatDone> = std::mem::take(&mut model.draft.done).into_iter().collect();
    say(model, at, ClosedObservation { of, done }, Then::Nothing);
    model.page = None;
}

/// Looked again: it is still so.
pub(crate) fn still_so(model: &mut Model, at: &Moment, of: LineId) {
    say(model, at, Acted { of, done: vec![WhatDone::LookedAgain], at_ms: None }, Then::Nothing);
}

/// Words about the observation on the screen.
pub(crate) fn keep_words(model: &mut Model, at: &Moment) {
    let of = model.draft.observation;
    note_of(model, at, Field::Words, of);
}

/// A note about nothing else.
pub(crate) fn keep_note(model: &mut Model, at: &Moment) {
    note_of(model, at, Field::Note, None);
    model.page = None;
}

fn note_of(model: &mut Model, at: &Moment, field: Field, of: Option<LineId>) {
    let Some(words) = model.draft.typed(field).map(Words::from_text) else { return };
    say_with(model, at, Note { of }, words, Then::Nothing);
    model.draft.text.remove(&field);
    model.notice = Some(Notice::Saved);
}

/// A question to the desk.
pub(crate) fn ask(model: &mut Model, at: &Moment) {
    let words = model.draft.typed(Field::Question).map(Words::from_text).unwrap_or_default();
    say_with(model, at, Asked { of: None }, words, Then::Nothing);
    model.draft.text.remove(&Field::Question);
    model.page = Some(Page::Ask);
}

/// Somebody of the site's list is told.
pub(crate) fn told(model: &mut Model, place: usize) {
    let of = match &model.page {
        Some(Page::Tell(of)) => *of,
        _ => None,
    };
    let state = model.state.as_ref();
    let contact =
        state.and_then(|state| Site::of(model, state)?.card()?.contacts.get(place).cloned());
    let Some(contact) = contact else { return };
    let (name, number) = (contact.name, Some(contact.number));
    model.draft.telling =
        Some(Telling { party: contact.party, name, number, means: Means::Phone, of });
    model.page = Some(Page::TellHow);
}

/// Somebody who stands on no list is told.
pub(crate) fn party(model: &mut Model, party: Party) {
    let of = match &model.page {
        Some(Page::Tell(of)) => *of,
        _ => None,
    };
    let name = model.draft.typed(Field::Name).unwrap_or_default().to_owned();
    model.draft.text.remove(&Field::Name);
    model.draft.telling = Some(Telling { party, name, number: None, means: Means::InPerson, of });
    model.page = Some(Page::TellHow);
}

/// By these means.
pub(crate) fn by(model: &mut Model, means: Means) {
    if let Some(telling) = &mut model.draft.telling {
        telling.means = means;
    }
}

/// Keeps the communication.
pub(crate) fn keep_told(model: &mut Model, at: &Moment, reached: bool) {
    let Some(telling) = model.draft.telling.take() else { return };
    let mut words = Words::default();
    if !telling.name.is_empty() {
        words.names.insert("told".to_owned(), telling.name);
    }
    let of = telling.of;
    let entry =
        Communication { party: telling.party, means: telling.means, of, at_ms: None, reached };
    say_with(model, at, entry, words, Then::Nothing);
    model.page = of.map(Page::Observation);
    model.notice = Some(Notice::Saved);
}

/// A photo lies in the blob store: say to which observation it belongs.
pub(crate) fn photo(model: &mut Model, at: &Moment, blob: Digest, len: u64, mime: String) {
    let (Some(watch), Some(who)) = (model.choices.watch.clone(), model.person().cloned()) else {
        return;
    };
    let stored = StoredBlob { blob, len, mime: mime.clone(), sent: false };
    model.blobs.or_insert_with(blob, || stored.clone());
    let entry = Photo { of: model.draft.observation, blob, len, mime };
    let puts = vec![Put::Blob(stored)];
    say_as(model, at, watch, who, entry.into(), Words::default(), Then::Nothing, puts);
    model.notice = Some(Notice::Saved);
}
