//! The small dial of a row: the worst zone alone.

use crate::standing::Standing;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use picture::{DialInput, DialZone, Span};
use record::ZoneId;

/// A shift without a planned end is drawn as twelve hours.
const FACE_MS: i64 = 12 * 3_600_000;

/// Draws the zone that is due first. `says` is its text alternative.
pub(crate) fn draw(
    standing: &Standing,
    silent_since_ms: Option<i64>,
    now_ms: i64,
    says: &str,
) -> String {
    let worst = standing.due.first();
    let zone = worst.map(|due| ring(standing, &due.zone, due.allowed_s, silent_since_ms, now_ms));
    let (from_ms, until_ms) = window(standing, now_ms);
    picture::dial::small_dial(&DialInput {
        from_ms,
        until_ms,
        now_ms: Some(now_ms),
        tz_min: tz_min(&standing.tz, now_ms),
        zones: zone.into_iter().collect(),
        emergencies_ms: standing.fire.iter().map(|fire| fire.at_ms).collect(),
        says: says.to_owned(),
        ..DialInput::default()
    })
}

/// What the face shows: the watch, or of a long one the last twelve hours.
pub(crate) fn window(standing: &Standing, now_ms: i64) -> (i64, i64) {
    // Before anybody had begun nothing was looked at: that hole stands in the cover line.
    let begins_ms = standing.begun_ms.map_or(standing.from_ms, |at| at.max(standing.from_ms));
    let until_ms = standing.until_ms.unwrap_or(begins_ms + FACE_MS).max(begins_ms + 1);
    if until_ms - begins_ms <= FACE_MS {
        return (begins_ms, until_ms);
    }
    let from_ms = (now_ms - FACE_MS + 3_600_000).max(begins_ms);
    (from_ms, from_ms + FACE_MS)
}

fn ring(
    standing: &Standing,
    zone: &ZoneId,
    allowed_s: u32,
    silent_since_ms: Option<i64>,
    now_ms: i64,
) -> DialZone {
    let looks_ms = standing.looks_ms.get(zone).cloned().unwrap_or_default();
    let unheard = silent_since_ms.map(|from_ms| Span { from_ms, to_ms: now_ms });
    DialZone {
        allowed_s: i64::from(allowed_s),
        looks_ms,
        unclear: Vec::new(),
        unheard: unheard.into_iter().collect(),
    }
}

/// Local time minus UTC, minutes.
pub(crate) fn tz_min(tz: &str, at_ms: i64) -> i64 {
    let zone = TimeZone::get(tz).unwrap_or(TimeZone::UTC);
    let at = Timestamp::from_millisecond(at_ms).unwrap_or_default();
    i64::from(zone.to_offset(at).seconds()) / 60
}
