//! The stamps of the emergency card, and drills.

use super::Tell;
use crate::form::Blanks;
use crate::head::id;
use crate::teller::Teller;
use record::*;

pub(super) const FORMS: &[(&str, Tell)] = &[
    ("<who> opens the card", opens),
    ("<who> calls the fire service", calls),
    ("<who> gives the alarm", alarms),
    ("<who> says everyone is out", out),
    ("<who> says it is over", over),
    ("<who> begins a drill", drill_begins),
    ("<who> says this is real", drill_real),
    ("<who> ends the drill", drill_ends),
];

fn stamp(
    teller: &mut Teller,
    blanks: &Blanks,
    at_ms: i64,
    stage: EmergencyStage,
) -> Result<(), String> {
    let zone = match blanks.get("zone") {
        "" => None,
        zone => Some(id(zone)?),
    };
    let drill = teller.memory.drill;
    let stamp = Emergency { stage, stop: None, zone, at_ms: blanks.as_of_ms(), drill };
    teller.write(blanks.get("who"), at_ms, stamp, Words::default())?;
    Ok(())
}

fn opens(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    stamp(teller, blanks, at_ms, EmergencyStage::Opened)
}

pub(super) fn seen(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    stamp(teller, blanks, at_ms, EmergencyStage::Seen)
}

fn calls(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    stamp(teller, blanks, at_ms, EmergencyStage::Called)
}

fn alarms(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    stamp(teller, blanks, at_ms, EmergencyStage::Alarmed)
}

fn out(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    stamp(teller, blanks, at_ms, EmergencyStage::Out)
}

pub(super) fn engine(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    stamp(teller, blanks, at_ms, EmergencyStage::EngineHere)
}

fn over(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    stamp(teller, blanks, at_ms, EmergencyStage::StoodDown)
}

fn drill(
    teller: &mut Teller,
    blanks: &Blanks,
    at_ms: i64,
    stage: DrillStage,
) -> Result<(), String> {
    teller.write(blanks.get("who"), at_ms, Drill { stage }, Words::default())?;
    teller.memory.drill = stage == DrillStage::Began;
    Ok(())
}

fn drill_begins(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    drill(teller, blanks, at_ms, DrillStage::Began)
}

fn drill_real(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    drill(teller, blanks, at_ms, DrillStage::Real)
}

fn drill_ends(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    drill(teller, blanks, at_ms, DrillStage::Ended)
}
