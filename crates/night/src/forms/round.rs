//! Rounds: beginning, looks, refused stops, structures, the statement at the end.

use super::Tell;
use crate::form::Blanks;
use crate::head::{code, id};
use crate::teller::Teller;
use ledger::{Digest, LineId};
use record::*;

pub(super) const FORMS: &[(&str, Tell)] = &[
    ("<who> begins a round", begins),
    ("<who> sees <zone> at <stop> by <how>", sees),
    ("<who> sees <zone> at <stop>", sees),
    ("<who> sees <zone> by <how>", sees),
    ("<who> sees the last spark", super::hot_work::last_spark),
    ("<who> sees the engine", super::emergency::engine),
    ("<who> sees fire in <zone>", super::emergency::seen),
    ("<who> sees fire", super::emergency::seen),
    ("<who> sees <zone> on the phone of <other>", sees_on),
    ("<who> sees <zone>", sees),
    ("<who> cannot reach <stop>, <why>", refused),
    ("<who> enters <place>", enters),
    ("<who> ends the round with findings", ends_with_findings),
    ("<who> ends the round", ends),
    ("<who> takes back the last line", takes_back),
    ("<who> corrects the last line to <zone>", corrects_place),
    ("<who> corrects the time of the last line", corrects_time),
];

fn begins(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let round = teller.memory.rounds.entry(blanks.get("who").to_owned()).or_default();
    (round.number, round.open, round.seen) = (round.number + 1, true, 0);
    let began = RoundBegan { round: round.number };
    teller.write(blanks.get("who"), at_ms, began, Words::default())?;
    Ok(())
}

fn sees(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let seen = seen(teller, blanks)?;
    let line = teller.write(blanks.get("who"), at_ms, seen, Words::default())?;
    teller.memory.last.insert(blanks.get("who").to_owned(), line);
    Ok(())
}

fn sees_on(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let seen = seen(teller, blanks)?;
    let (owner, who) = (blanks.get("other"), blanks.get("who"));
    teller.write_on(owner, who, at_ms, seen.into(), Words::default())?;
    Ok(())
}

/// The body of a look; a stop that is not named is the first of its zone.
pub(super) fn seen(teller: &mut Teller, blanks: &Blanks) -> Result<Seen, String> {
    let zone: ZoneId = id(blanks.get("zone"))?;
    if !teller.head.gaps.contains_key(&zone) {
        return Err(format!("no zone {zone}: the head has no `gap {zone}: …`"));
    }
    let stop = match blanks.get("stop") {
        "" => teller.head.stops.iter().find(|(_, of)| **of == zone).map(|(stop, _)| stop.clone()),
        stop => Some(id(stop)?),
    };
    let stop = stop.ok_or_else(|| format!("zone {zone} has no stop"))?;
    let how = match blanks.get("how") {
        "" => HowSeen::Tag,
        how => code(how)?,
    };
    let round = teller.memory.rounds.entry(blanks.get("who").to_owned()).or_default();
    round.number = round.number.max(1);
    round.seen += 1;
    Ok(Seen {
        tag: (how == HowSeen::Tag).then(|| Digest::of(stop.as_str().as_bytes())),
        stop,
        zone,
        how,
        round: round.number,
        fix: false,
    })
}

fn refused(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let stop: StopId = id(blanks.get("stop"))?;
    let zone = teller.head.stops.get(&stop).cloned().ok_or_else(|| format!("no stop {stop}"))?;
    let round = teller.memory.rounds.get(blanks.get("who")).map_or(1, |round| round.number.max(1));
    let refused = AccessRefused { stop, zone, why: code(blanks.get("why"))?, round };
    teller.write(blanks.get("who"), at_ms, refused, Words::default())?;
    Ok(())
}

fn enters(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let entered = StructureEntered { place: id(blanks.get("place"))? };
    teller.write(blanks.get("who"), at_ms, entered, Words::default())?;
    Ok(())
}

fn ends(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    end(teller, blanks, at_ms, true)
}

fn ends_with_findings(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    end(teller, blanks, at_ms, false)
}

fn end(teller: &mut Teller, blanks: &Blanks, at_ms: i64, all_clear: bool) -> Result<(), String> {
    let round = teller.memory.rounds.entry(blanks.get("who").to_owned()).or_default();
    round.open = false;
    let ended = RoundEnded { round: round.number.max(1), all_clear, seen: round.seen };
    teller.write(blanks.get("who"), at_ms, ended, Words::default())?;
    Ok(())
}

fn takes_back(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let correction =
        Corrected { withdrawn: true, ..correction(teller, blanks, WhyCorrected::TakenBack)? };
    teller.write(blanks.get("who"), at_ms, correction, Words::default())?;
    Ok(())
}

fn corrects_place(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let zone: ZoneId = id(blanks.get("zone"))?;
    let stop = teller.head.stops.iter().find(|(_, of)| **of == zone).map(|(stop, _)| stop.clone());
    let correction = Corrected {
        zone: Some(zone),
        stop,
        ..correction(teller, blanks, WhyCorrected::WrongPlace)?
    };
    teller.write(blanks.get("who"), at_ms, correction, Words::default())?;
    Ok(())
}

fn corrects_time(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let as_of_ms = blanks.as_of_ms().ok_or("say the right time with `as of`")?;
    let correction =
        Corrected { at_ms: Some(as_of_ms), ..correction(teller, blanks, WhyCorrected::WrongTime)? };
    teller.write(blanks.get("who"), at_ms, correction, Words::default())?;
    Ok(())
}

fn correction(teller: &Teller, blanks: &Blanks, why: WhyCorrected) -> Result<Corrected, String> {
    let of: LineId = *teller.memory.last.get(blanks.get("who")).ok_or("nothing to correct yet")?;
    Ok(Corrected { of, why, at_ms: None, zone: None, stop: None, severity: None, withdrawn: false })
}
