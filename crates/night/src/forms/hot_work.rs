//! Hot work: permit, work, last spark, looks back.

use super::Tell;
use crate::clock::span_s;
use crate::form::Blanks;
use crate::head::id;
use crate::teller::Teller;
use ledger::LineId;
use record::*;

pub(super) const FORMS: &[(&str, Tell)] = &[
    ("<who> reads a permit for <zone>, watch <watch>, looks <looks> every <every>", permit),
    ("<who> reads a permit for <zone>, watch <watch>", permit),
    ("<who> notes hot work in <zone>", begins),
    ("<who> notes that the work goes on", goes_on),
    ("<who> looks back, not clear", looks_back_not_clear),
    ("<who> looks back", looks_back),
    ("<who> stops the work", stops),
    ("<who> closes the hot work without a survey", closes_without),
    ("<who> closes the hot work", closes),
];

fn permit(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let span = |name: &str| match blanks.get(name) {
        "" => Ok(None),
        text => span_s(text).map(Some),
    };
    let permitted = HotWorkPermitted {
        permit: None,
        place: None,
        zone: Some(id(blanks.get("zone"))?),
        blob: None,
        until_ms: None,
        checks: PermitCheck::ALL.into_iter().map(|check| (check, true)).collect(),
        watch_s: span("watch")?,
        looks_s: span("looks")?,
        look_every_s: span("every")?,
    };
    let line = teller.write(blanks.get("who"), at_ms, permitted, Words::default())?;
    teller.memory.permit = Some(line);
    Ok(())
}

fn begins(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let began = HotWorkBegan {
        permitted: teller.memory.permit,
        place: None,
        zone: Some(id(blanks.get("zone"))?),
        again: None,
    };
    let line = teller.write(blanks.get("who"), at_ms, began, Words::default())?;
    teller.memory.work = Some(line);
    Ok(())
}

fn goes_on(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let again = Some(work(teller)?);
    let goes_on = HotWorkBegan { permitted: teller.memory.permit, place: None, zone: None, again };
    teller.write(blanks.get("who"), at_ms, goes_on, Words::default())?;
    Ok(())
}

fn work(teller: &Teller) -> Result<LineId, String> {
    teller.memory.work.ok_or_else(|| "no hot work has begun yet".to_owned())
}

pub(super) fn last_spark(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let spark = LastSpark { work: work(teller)?, at_ms: blanks.as_of_ms() };
    teller.write(blanks.get("who"), at_ms, spark, Words::default())?;
    Ok(())
}

fn looks_back(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let looked = LookedBack { work: work(teller)?, zone: None, clear: true };
    teller.write(blanks.get("who"), at_ms, looked, Words::default())?;
    Ok(())
}

fn looks_back_not_clear(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let looked = LookedBack { work: work(teller)?, zone: None, clear: false };
    teller.write(blanks.get("who"), at_ms, looked, Words::default())?;
    Ok(())
}

fn stops(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let stopped = WorkStopped { work: teller.memory.work, place: None };
    teller.write(blanks.get("who"), at_ms, stopped, Words::default())?;
    Ok(())
}

fn closes(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let closed = HotWorkClosed { work: work(teller)?, surveyed: true };
    teller.write(blanks.get("who"), at_ms, closed, Words::default())?;
    Ok(())
}

fn closes_without(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let closed = HotWorkClosed { work: work(teller)?, surveyed: false };
    teller.write(blanks.get("who"), at_ms, closed, Words::default())?;
    Ok(())
}
