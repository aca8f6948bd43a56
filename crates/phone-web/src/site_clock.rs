//! The clock of the place that is watched: the browser knows every zone of the tz database.

use js_sys::{Date, Object, Reflect};
use std::cell::RefCell;
use wasm_bindgen::prelude::*;

/// So long an answer holds: no zone changes its clock between two quarters of an hour.
const QUARTER_MS: i64 = 15 * 60_000;

struct Asked {
    zone: String,
    quarter: i64,
    offset_min: Option<i64>,
}

thread_local! {
    static ASKED: RefCell<Option<Asked>> = const { RefCell::new(None) };
}

/// Local time in a zone minus UTC, minutes; none where the browser does not know the zone.
pub(crate) fn offset_min(zone: &str, at_ms: i64) -> Option<i64> {
    let quarter = at_ms.div_euclid(QUARTER_MS);
    ASKED.with_borrow_mut(|asked| {
        let known = asked.take().filter(|asked| asked.zone == zone && asked.quarter == quarter);
        let asked = asked.insert(known.unwrap_or_else(|| Asked {
            zone: zone.to_owned(),
            quarter,
            offset_min: ask(zone, at_ms),
        }));
        asked.offset_min
    })
}

fn ask(zone: &str, at_ms: i64) -> Option<i64> {
    let shape = Object::new();
    for (name, value) in [("timeZone", zone), ("timeZoneName", "longOffset")] {
        Reflect::set(&shape, &name.into(), &value.into()).ok()?;
    }
    let date = Date::new(&JsValue::from_f64(at_ms as f64));
    // A zone that it does not know is an exception.
    let said = Reflect::get(&date, &"toLocaleTimeString".into()).ok()?;
    let said = said.dyn_into::<js_sys::Function>().ok()?;
    let said = said.call2(&date, &"en-GB".into(), &shape).ok()?.as_string()?;
    read(&said)
}

/// Of `08:53:00 GMT-06:00`; Greenwich itself is told without numbers.
fn read(said: &str) -> Option<i64> {
    let (_, offset) = said.split_once("GMT")?;
    let Some(sign) = offset.chars().next() else { return Some(0) };
    let (hours, minutes) = offset.get(1..)?.split_once(':')?;
    let minutes = hours.parse::<i64>().ok()? * 60 + minutes.get(..2)?.parse::<i64>().ok()?;
    match sign {
        '+' => Some(minutes),
        '-' | '\u{2212}' => Some(-minutes),
        _ => None,
    }
}
