//! Pages of paper read on the phone: boxes are proposed, the guard holds the page beside them, types the
//! time that stands on it and says row by row what is right. What is kept came from paper and says so.

mod reading;
mod time;

use crate::effect::Effect;
use crate::model::{Effects, Model};
use crate::moment::Moment;
use crate::tap::{Field, Page};
use crate::writing::{Then, say};
use ledger::order::{Map, Set};
use ledger::{Digest, PersonId, WatchId};
use reading::{Reading, Row};
use record::{Entry, HowSeen, Seen, StopId, Transcribed, ZoneId};
use serde::{Deserialize, Serialize};
use time::time;
use watch::Via;

/// What a person can say about a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SheetTap {
    /// Read the boxes of this page and go through its rows.
    Read(Digest),
    /// This zone is ticked in the row on the screen, or is not after all.
    Tick(ZoneId),
    /// The row on the screen is right.
    Right,
    /// The row on the screen is left out.
    LeaveOut,
}

/// The watch that a sheet should belong to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SheetOf {
    /// The watch.
    pub watch: WatchId,
    /// Its zones.
    pub zones: Vec<ZoneId>,
    /// From when to when it lasts, ms UTC, if that is known.
    pub span_ms: Option<(i64, i64)>,
}

/// What is going on with pages.
#[derive(Debug, Default)]
pub(crate) struct Sheets {
    pub(crate) read: Map<Digest, Answer>,
    /// The page that is gone through, and which of its rows is on the screen.
    pub(crate) going: Option<(Digest, usize)>,
    /// The zones of that row that are ticked.
    pub(crate) ticked: Set<ZoneId>,
    /// So many lines were kept from this page.
    pub(crate) kept: usize,
    pub(crate) said: Option<Fault>,
}

/// What the reader made of a picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Answer {
    /// It is at work.
    Reading,
    /// It could not: the picture or the reader is not to be had.
    Failed,
    /// It read this.
    Page(Reading),
}

/// What is missing before a row can be kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fault {
    /// The time that stands on the page.
    NoTime,
    /// That time has not come yet.
    Ahead,
    /// No zone is ticked.
    NoTick,
}

/// The picture of a page lies here: it is read at once.
pub(crate) fn read(model: &mut Model, blob: Digest, effects: &mut Effects) {
    let Some(state) = &model.state else { return };
    let until_ms = state.opening.as_ref().and_then(|opening| opening.until_ms);
    let from_ms = state.opening.as_ref().map(|opening| opening.from_ms);
    let of = SheetOf {
        watch: state.watch.clone(),
        zones: state.zones.iter().map(|zone| zone.id.clone()).collect(),
        span_ms: from_ms.zip(until_ms),
    };
    let lang = model.lang();
    model.sheets.read.insert(blob, Answer::Reading);
    effects.push(Effect::ReadSheet { blob, of, lang });
}

/// The reader has answered.
pub(crate) fn answered(model: &mut Model, blob: Digest, json: Option<&str>) {
    let reading = json.and_then(|json| ledger::json::parse::<Reading>(json).ok());
    model.sheets.read.insert(blob, reading.map_or(Answer::Failed, Answer::Page));
    if model.sheets.going.is_some_and(|(going, _)| going == blob) {
        to_row(model, blob, 0);
    }
}

/// Something was touched.
pub(crate) fn did(model: &mut Model, at: &Moment, tap: SheetTap, effects: &mut Effects) {
    match tap {
        SheetTap::Read(blob) => {
            if !matches!(model.sheets.read.get(&blob), Some(Answer::Page(_) | Answer::Reading)) {
                read(model, blob, effects);
            }
            model.sheets.kept = 0;
            to_row(model, blob, 0);
            crate::update::open(model, Page::Sheet, effects);
        }
        SheetTap::Tick(zone) => {
            if !model.sheets.ticked.remove(&zone) {
                model.sheets.ticked.insert(zone);
            }
        }
        SheetTap::Right => right(model, at),
        SheetTap::LeaveOut => next(model),
    }
}

/// The row on the screen with its page.
pub(crate) fn row(model: &Model) -> Option<(&Reading, Row, usize)> {
    let (blob, at) = model.sheets.going?;
    let Some(Answer::Page(reading)) = model.sheets.read.get(&blob) else { return None };
    let rows = reading.rows(model.state.as_ref()?);
    let left = rows.len().checked_sub(at)?;
    Some((reading, rows.into_iter().nth(at)?, left))
}

fn to_row(model: &mut Model, blob: Digest, at: usize) {
    model.sheets.going = Some((blob, at));
    model.sheets.said = None;
    model.draft.text.remove(&Field::Began);
    let ticked = row(model).map(|(_, row, _)| row.zones).unwrap_or_default();
    // An unsure box is ticked only by whoever looks at it.
    let sure = ticked.into_iter().filter(|(_, ticked, unsure)| *ticked && !*unsure);
    model.sheets.ticked = sure.map(|(zone, ..)| zone).collect();
}

fn next(model: &mut Model) {
    if let Some((blob, at)) = model.sheets.going {
        to_row(model, blob, at + 1);
    }
}

/// The guard whose hand it is: the one for whom paper was allowed, else whoever holds the phone.
pub(crate) fn writer(model: &Model) -> Option<PersonId> {
    let state = model.state.as_ref()?;
    let allowed = state.paper.allowed.last().and_then(|allowed| allowed.guard.clone());
    allowed.or_else(|| model.person().cloned())
}

fn right(model: &mut Model, at: &Moment) {
    let Some((reading, row, _)) = row(model) else { return };
    let offset_min = reading.offset_min().unwrap_or(model.tz_min);
    let about_ms = row.window.as_ref().map_or(model.now_ms, |window| window.from_ms);
    let typed = model.draft.typed(Field::Began).unwrap_or_default();
    let fault = match time(typed, about_ms, offset_min) {
        None => Err(Fault::NoTime),
        Some(at_ms) if at_ms > model.now_ms => Err(Fault::Ahead),
        Some(_) if model.sheets.ticked.is_empty() => Err(Fault::NoTick),
        Some(at_ms) => Ok(at_ms),
    };
    match fault {
        Ok(at_ms) => {
            keep(model, at, at_ms, &row);
            next(model);
        }
        Err(fault) => model.sheets.said = Some(fault),
    }
}

fn keep(model: &mut Model, at: &Moment, at_ms: i64, row: &Row) {
    let (Some((blob, _)), Some(writer)) = (model.sheets.going, writer(model)) else { return };
    for zone in std::mem::take(&mut model.sheets.ticked) {
        if stands(model, &zone, at_ms, &writer) {
            continue;
        }
        let seen: Entry = Seen {
            stop: stop_of(model, &zone),
            zone,
            how: HowSeen::Hand,
            tag: None,
            round: row.number,
            fix: false,
        }
        .into();
        let line = Transcribed {
            sheet: Some(blob),
            writer: writer.clone(),
            at_ms,
            states: seen.kind().to_owned(),
            body: seen.to_body(),
        };
        say(model, at, line, Then::Nothing);
        model.sheets.kept += 1;
    }
}

/// A tick says that the zone was seen; its first stop stands for it.
fn stop_of(model: &Model, zone: &ZoneId) -> StopId {
    let known = model.state.as_ref().and_then(|state| state.zone(zone));
    let first = known.and_then(|zone| zone.stops.first().cloned());
    first.unwrap_or_else(|| StopId::new(zone.as_str()).expect("a zone's id is an id"))
}

/// Whether the same was typed from paper before, here or at the desk.
fn stands(model: &Model, zone: &ZoneId, at_ms: i64, writer: &PersonId) -> bool {
    let known = model.state.as_ref().and_then(|state| state.zone(zone));
    known.is_some_and(|zone| {
        zone.looks.iter().any(|look| {
            let written = &look.written;
            written.via == Via::Paper && written.when.at_ms == at_ms && written.who == *writer
        })
    })
}
