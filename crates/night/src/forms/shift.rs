//! Shifts: beginning, reading, checking, relief, breaks, ending.

use super::{Round, Tell};
use crate::form::Blanks;
use crate::head::{code, id};
use crate::teller::{Teller, named};
use ledger::Digest;
use record::*;

pub(super) const FORMS: &[(&str, Tell)] = &[
    ("<who> begins until <time>", begins),
    ("<who> begins", begins),
    ("<who> reads the instructions", reads_instructions),
    ("<who> reads the notice", reads_notice),
    ("<who> checks the kit without <items>", checks_kit),
    ("<who> checks the kit", checks_kit),
    ("<who> tries the call in <zone>", tries_call),
    ("<who> offers relief to <other>", offers),
    ("<who> offers relief", offers),
    ("<who> relieves <other>", relieves),
    ("<who> ends without signing", ends_unsigned),
    ("<who> ends and signs", ends),
    ("<who> takes a break, covered by <other>", break_begins),
    ("<who> takes a break", break_begins),
    ("<who> ends the break", break_ends),
    ("<who> is given another duty", duty_begins),
    ("<who> ends the other duty", duty_ends),
];

fn begins(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let until_ms = match blanks.get("time") {
        "" => None,
        time => Some(teller.clock.after(time, at_ms)?),
    };
    teller.memory.rounds.insert(blanks.get("who").to_owned(), Round::default());
    teller.write(
        blanks.get("who"),
        at_ms,
        ShiftBegan { until_ms, silent: false },
        named("guard", blanks.get("who")),
    )?;
    Ok(())
}

fn reads_instructions(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let read = InstructionsRead { instructions: teller.memory.instructions, version: 1 };
    teller.write(blanks.get("who"), at_ms, read, Words::default())?;
    Ok(())
}

fn reads_notice(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let read = NoticeRead { notice: Digest::of(b"notice"), language: "en".to_owned() };
    teller.write(blanks.get("who"), at_ms, read, Words::default())?;
    Ok(())
}

fn checks_kit(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let missing: Vec<CheckedItem> = match blanks.get("items") {
        "" => Vec::new(),
        items => items.split(" and ").map(code).collect::<Result<_, _>>()?,
    };
    let items = CheckedItem::ALL.into_iter().map(|item| (item, !missing.contains(&item))).collect();
    teller.write(
        blanks.get("who"),
        at_ms,
        EquipmentChecked { items, zone: None },
        Words::default(),
    )?;
    Ok(())
}

fn tries_call(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let items = [(CheckedItem::Signal, true)].into_iter().collect();
    let checked = EquipmentChecked { items, zone: Some(id(blanks.get("zone"))?) };
    teller.write(blanks.get("who"), at_ms, checked, Words::default())?;
    Ok(())
}

fn offers(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let to = match blanks.get("other") {
        "" => None,
        other => Some(teller.person(other)?),
    };
    let open = teller.memory.open_observations();
    let offered =
        teller.write(blanks.get("who"), at_ms, ReliefOffered { to, open }, Words::default())?;
    teller.memory.offer = Some(offered);
    Ok(())
}

fn relieves(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let from = teller.person(blanks.get("other"))?;
    let (offered, open) = (teller.memory.offer.take(), teller.memory.open_observations());
    teller.memory.rounds.insert(blanks.get("who").to_owned(), Round::default());
    teller.write(
        blanks.get("who"),
        at_ms,
        ReliefTaken { offered, from, open },
        named("guard", blanks.get("who")),
    )?;
    Ok(())
}

fn ends(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let drawn = teller.blob(format!("signature of {}", blanks.get("who")).into_bytes());
    end(teller, blanks, at_ms, Some(drawn))
}

fn ends_unsigned(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    end(teller, blanks, at_ms, None)
}

fn end(
    teller: &mut Teller,
    blanks: &Blanks,
    at_ms: i64,
    signature: Option<Digest>,
) -> Result<(), String> {
    let who = blanks.get("who");
    let all_clear = teller.memory.open_observations().is_empty();
    let rounds = teller.memory.rounds.get(who).map_or(0, |round| round.number);
    let lines = teller.phone(who)?.watch.seq;
    teller.write(
        who,
        at_ms,
        ShiftEnded { all_clear, signature, rounds, lines },
        Words::default(),
    )?;
    Ok(())
}

fn break_begins(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let covered_by = match blanks.get("other") {
        "" => None,
        other => Some(teller.person(other)?),
    };
    teller.write(blanks.get("who"), at_ms, BreakBegan { covered_by }, Words::default())?;
    Ok(())
}

fn break_ends(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    teller.write(blanks.get("who"), at_ms, BreakEnded {}, Words::default())?;
    Ok(())
}

fn duty_begins(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    teller.write(blanks.get("who"), at_ms, OtherDuty { began: true }, Words::default())?;
    Ok(())
}

fn duty_ends(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    teller.write(blanks.get("who"), at_ms, OtherDuty { began: false }, Words::default())?;
    Ok(())
}
