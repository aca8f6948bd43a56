//! Instants as people write them: local time of the site, or with an offset.

use super::fault::{Kind, Wrong};
use jiff::civil::DateTime;
use jiff::tz::{AmbiguousOffset, TimeZone};
use jiff::{SignedDuration, Timestamp};

/// Which of two instants is meant when the clocks were put back and the local time came twice. Terms take the one that
/// makes the stretch longer, so that doubt never shortens what is owed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Twice {
    Earlier,
    Later,
}

pub(super) fn instant(given: &str, zone: &TimeZone, twice: Twice) -> Result<Timestamp, Wrong> {
    let not_a_time = || Wrong::NotA { kind: Kind::Time, given: given.into() };
    // A day alone would silently mean midnight.
    if !given.contains(':') {
        return Err(not_a_time());
    }
    let found = match given.parse::<Timestamp>() {
        Ok(instant) => instant,
        Err(_) => {
            let civil = given.parse().map_err(|_| not_a_time())?;
            local(civil, zone, twice).ok_or_else(|| Wrong::NoSuchLocalTime {
                given: given.into(),
                example: put_forward(civil, zone),
            })?
        }
    };
    if in_range(found) { Ok(found) } else { Err(Wrong::TooLarge { given: given.into() }) }
}

fn local(civil: DateTime, zone: &TimeZone, twice: Twice) -> Option<Timestamp> {
    let offset = match zone.to_ambiguous_timestamp(civil).offset() {
        AmbiguousOffset::Unambiguous { offset } => offset,
        AmbiguousOffset::Fold { before, after } => match twice {
            Twice::Earlier => before,
            Twice::Later => after,
        },
        AmbiguousOffset::Gap { .. } => return None,
    };
    offset.to_timestamp(civil).ok()
}

/// What the clocks showed in place of a time that they were put forward over.
fn put_forward(civil: DateTime, zone: &TimeZone) -> String {
    let shown = zone.to_ambiguous_zoned_datetime(civil).compatible().map(|zoned| zoned.datetime());
    shown.unwrap_or(civil).to_string()
}

/// An hour after an instant, on the clock of the site.
pub(super) fn hour_after(instant: Timestamp, zone: &TimeZone) -> String {
    let after = instant.checked_add(SignedDuration::from_hours(1)).unwrap_or(instant);
    after.to_zoned_datetime(zone.clone()).datetime().to_string()
}

/// Years 1900 to 2199: no sum of terms can leave the calendar from there.
fn in_range(instant: Timestamp) -> bool {
    const FIRST_S: i64 = -2_208_988_800;
    const LAST_S: i64 = 7_258_118_400;
    (FIRST_S..LAST_S).contains(&instant.as_second())
}
