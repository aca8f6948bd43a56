//! When the phone fails: the desk is told or it is written down, somebody allows paper, the night goes
//! on by hand; back on a phone the gap is named and pictures of the pages are taken along. What stands
//! on the pages is typed by the desk.

use crate::model::{Model, Notice};
use crate::moment::Moment;
use crate::stored::{Put, StoredBlob};
use crate::tap::{Field, Page, Place};
use crate::writing::{Then, say, say_as, say_with};
use ledger::{Digest, LineId};
use record::{
    Communication, Means, Note, PaperAllowed, PaperHandedOver, PaperWhy, Party, Photo, Words,
};
use watch::{Allowed, State};

/// What a person can say about paper.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PaperTap {
    /// Why.
    Why(PaperWhy),
    /// The desk was told by telephone, or was not reached.
    Told {
        /// Whether somebody answered.
        reached: bool,
    },
    /// This contact of the site's card allows it.
    By(usize),
    /// The night goes on on paper.
    Begin,
    /// Back on a phone: the gap is named and the pages are handed over.
    Back,
}

/// Paper that was allowed and whose pages nobody has handed over yet.
pub(crate) fn out(state: &State) -> Option<&Allowed> {
    state.paper.to_collect()
}

/// From when the night was kept on paper, ms UTC: as it was allowed, else since the guard's last look.
pub(crate) fn since_ms(model: &Model) -> Option<i64> {
    let state = model.state.as_ref()?;
    let last_look = || {
        let looks = state.zones.iter().flat_map(|zone| zone.looks.iter());
        looks.map(|look| look.written.when.at_ms).max()
    };
    out(state).map(|allowed| allowed.written.when.at_ms).or_else(last_look)
}

/// Pictures of pages since paper was allowed.
pub(crate) fn pages(state: &State) -> usize {
    let of = out(state).map(|allowed| allowed.written.line);
    state.pictures.iter().filter(|picture| of.is_some() && picture.of == of).count()
}

/// Something was touched.
pub(crate) fn did(model: &mut Model, at: &Moment, tap: PaperTap) {
    match tap {
        PaperTap::Why(why) => model.draft.paper_why = Some(why),
        PaperTap::Told { reached } => {
            let (party, means) = (Party::Dispatcher, Means::Phone);
            let told = Communication { party, means, of: None, at_ms: None, reached };
            say(model, at, told, Then::Nothing);
            model.notice = Some(Notice::Saved);
        }
        PaperTap::By(place) => {
            let name = contact_name(model, place);
            model.draft.text.insert(Field::AllowedBy, name.unwrap_or_default());
        }
        PaperTap::Begin => begin(model, at),
        PaperTap::Back => back(model, at),
    }
}

fn contact_name(model: &Model, place: usize) -> Option<String> {
    let state = model.state.as_ref()?;
    let site = crate::site::Site::of(model, state)?;
    site.card()?.contacts.get(place).map(|contact| contact.name.clone())
}

fn begin(model: &mut Model, at: &Moment) {
    let why = model.draft.paper_why.take().unwrap_or(PaperWhy::PhoneFaulty);
    allow(model, at, why);
    model.page = Some(Page::Notepad);
}

fn allow(model: &mut Model, at: &Moment, why: PaperWhy) {
    let mut words = Words::default();
    if let Some(name) = model.draft.text.remove(&Field::AllowedBy) {
        words.names.insert("allowed_by".to_owned(), name);
    }
    let guard = model.person().cloned();
    say_with(model, at, PaperAllowed { why, guard }, words, Then::Nothing);
}

/// A picture of a page lies in the blob store. The first one on a phone to which nobody had said that
/// paper was allowed says so itself, late.
pub(crate) fn page(model: &mut Model, at: &Moment, blob: Digest, len: u64, mime: String) {
    let (Some(watch), Some(who)) = (model.choices.watch.clone(), model.person().cloned()) else {
        return;
    };
    let stored = StoredBlob { blob, len, mime: mime.clone(), sent: false };
    model.blobs.or_insert_with(blob, || stored.clone());
    let of: Option<LineId> = model.state.as_ref().and_then(|state| Some(out(state)?.written.line));
    let photo = Photo { of, blob, len, mime };
    let puts = vec![Put::Blob(stored)];
    say_as(model, at, watch, who, photo.into(), Words::default(), Then::Nothing, puts);
    model.notice = Some(Notice::Saved);
}

fn back(model: &mut Model, at: &Moment) {
    let Some(state) = &model.state else { return };
    let of = out(state).map(|allowed| allowed.written.line);
    let typed = model.draft.typed(Field::Sheets).and_then(|typed| typed.parse().ok());
    let sheets = typed.unwrap_or_else(|| u16::try_from(pages(state)).unwrap_or(u16::MAX));
    let lang = model.lang();
    let clock = |at_ms| words::clock(at_ms, model.tz_min);
    let from = since_ms(model).map(clock).unwrap_or_default();
    let mut text = words::paper::gap(lang, from, clock(model.now_ms));
    if let Some(typed) = model.draft.typed(Field::Gap) {
        text += "\n";
        text += typed;
    }
    if of.is_none() {
        allow(model, at, PaperWhy::PhoneDead);
    }
    say_with(model, at, Note { of }, Words::from_text(&text), Then::Nothing);
    say(model, at, PaperHandedOver { sheets, to: None }, Then::Nothing);
    for field in [Field::Gap, Field::Sheets] {
        model.draft.text.remove(&field);
    }
    (model.place, model.page) = (Place::Round, None);
    model.notice = Some(Notice::Saved);
}
