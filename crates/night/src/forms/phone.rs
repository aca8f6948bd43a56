//! What happens to a phone: its clock is moved, it starts anew, its battery runs down.

use super::Tell;
use crate::clock::span_s;
use crate::form::Blanks;
use crate::teller::Teller;
use record::*;

pub(super) const FORMS: &[(&str, Tell)] = &[
    ("the phone of <who> is set back <span>", set_back),
    ("the phone of <who> is set forward <span>", set_forward),
    ("the phone of <who> starts anew", restarts),
    ("the phone of <who> tells <n> %", battery),
    ("the phone of <who> holds something unknown", unknown),
];

fn set_back(teller: &mut Teller, blanks: &Blanks, _at_ms: i64) -> Result<(), String> {
    let span_ms = i64::from(span_s(blanks.get("span"))?) * 1000;
    teller.phone(blanks.get("who"))?.ahead_ms -= span_ms;
    Ok(())
}

fn set_forward(teller: &mut Teller, blanks: &Blanks, _at_ms: i64) -> Result<(), String> {
    let span_ms = i64::from(span_s(blanks.get("span"))?) * 1000;
    teller.phone(blanks.get("who"))?.ahead_ms += span_ms;
    Ok(())
}

fn restarts(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    teller.phone(blanks.get("who"))?.restart(at_ms);
    Ok(())
}

fn battery(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let charge =
        blanks.get("n").parse().map_err(|_| format!("{:?} is no charge", blanks.get("n")))?;
    let heartbeat = Heartbeat { battery: Some(charge), waiting: 0, free_kib: None };
    teller.write(blanks.get("who"), at_ms, heartbeat, Words::default())?;
    Ok(())
}

fn unknown(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let entry = Entry::Unknown { kind: "of_next_year".to_owned(), body: serde_json::Map::new() };
    teller.write(blanks.get("who"), at_ms, entry, Words::default())?;
    Ok(())
}
