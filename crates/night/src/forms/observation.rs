//! Observations: what was found, what was done, who was told; questions and notes.

use super::Tell;
use crate::form::Blanks;
use crate::head::{code, id};
use crate::teller::Teller;
use ledger::LineId;
use record::*;
use std::collections::BTreeMap;

pub(super) const FORMS: &[(&str, Tell)] = &[
    ("<who> finds <class> in <zone>, <severity>: <text>", finds),
    ("<who> finds <class> in <zone>: <text>", finds),
    ("<who> finds <class> in <zone>, <severity>", finds),
    ("<who> finds <class> in <zone>", finds),
    // Before *does*, which would take it for something done.
    ("<who> does not reach <party> by <means>", does_not_reach),
    ("<who> does <done> about <class>", acts),
    ("<who> does <done>", acts),
    ("<who> closes <class> with <done>", closes),
    ("<who> tells <party> by <means> about it", tells_about),
    ("<who> tells <party> by <means>", tells),
    ("<who> photographs it", photographs),
    ("<who> sends the same photo again", same_photo),
    ("<who> asks: <text>", asks),
    ("<who> answers: <text>", answers),
    ("<who> notes: <text>", notes),
    ("<who> marks <class> fixed", marks_fixed),
];

fn finds(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let class: HazardClass = code(blanks.get("class"))?;
    let severity = match blanks.get("severity") {
        "" => class.default_severity(),
        severity => code(severity)?,
    };
    let observed = Observed {
        class,
        severity,
        zone: Some(id(blanks.get("zone"))?),
        stop: None,
        place: None,
        at_ms: blanks.as_of_ms(),
        again: None,
    };
    let line =
        teller.write(blanks.get("who"), at_ms, observed, Words::from_text(blanks.get("text")))?;
    teller.memory.observations.push((line, class, true));
    teller.memory.last.insert(blanks.get("who").to_owned(), line);
    Ok(())
}

fn done(blanks: &Blanks) -> Result<Vec<WhatDone>, String> {
    blanks.get("done").split(" and ").map(code).collect()
}

fn about(teller: &Teller, blanks: &Blanks) -> Result<LineId, String> {
    match blanks.get("class") {
        "" => teller.memory.observation(None),
        class => teller.memory.observation(Some(code(class)?)),
    }
}

fn acts(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let acted = Acted { of: about(teller, blanks)?, done: done(blanks)?, at_ms: blanks.as_of_ms() };
    teller.write(blanks.get("who"), at_ms, acted, Words::default())?;
    Ok(())
}

fn closes(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let of = about(teller, blanks)?;
    teller.write(
        blanks.get("who"),
        at_ms,
        ClosedObservation { of, done: done(blanks)? },
        Words::default(),
    )?;
    teller.memory.observations.iter_mut().filter(|(id, ..)| *id == of).for_each(|o| o.2 = false);
    Ok(())
}

fn told(
    teller: &mut Teller,
    blanks: &Blanks,
    at_ms: i64,
    of: Option<LineId>,
    reached: bool,
) -> Result<(), String> {
    let communication = Communication {
        party: code(blanks.get("party").trim_start_matches("the "))?,
        means: code(blanks.get("means"))?,
        of,
        at_ms: blanks.as_of_ms(),
        reached,
    };
    let names = BTreeMap::from([("told".to_owned(), "A. Person".to_owned())]);
    teller.write(blanks.get("who"), at_ms, communication, Words { names, ..Words::default() })?;
    Ok(())
}

fn tells(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    told(teller, blanks, at_ms, None, true)
}

fn tells_about(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let of = teller.memory.observation(None)?;
    told(teller, blanks, at_ms, Some(of), true)
}

fn does_not_reach(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    told(teller, blanks, at_ms, None, false)
}

fn photographs(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    teller.memory.photos += 1;
    photo(teller, blanks, at_ms)
}

fn same_photo(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    photo(teller, blanks, at_ms)
}

fn photo(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let bytes = format!("photo {}", teller.memory.photos).into_bytes();
    let (len, blob) = (bytes.len() as u64, teller.blob(bytes));
    let of = teller.memory.observation(None).ok();
    let photo = Photo { of, blob, len, mime: "image/jpeg".to_owned() };
    teller.write(blanks.get("who"), at_ms, photo, Words::default())?;
    Ok(())
}

fn asks(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let line = teller.write(
        blanks.get("who"),
        at_ms,
        Asked { of: None },
        Words::from_text(blanks.get("text")),
    )?;
    teller.memory.question = Some(line);
    Ok(())
}

fn answers(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let of = teller.memory.question.ok_or("nothing has been asked yet")?;
    teller.write(
        blanks.get("who"),
        at_ms,
        Answered { of },
        Words::from_text(blanks.get("text")),
    )?;
    Ok(())
}

fn notes(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    teller.write(
        blanks.get("who"),
        at_ms,
        Note { of: None },
        Words::from_text(blanks.get("text")),
    )?;
    Ok(())
}

fn marks_fixed(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let of = about(teller, blanks)?;
    teller.write(blanks.get("who"), at_ms, MarkedFixed { of, photo: None }, Words::default())?;
    Ok(())
}
