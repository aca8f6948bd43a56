//! Times as the reader sees them: always in a named zone.

use super::Reader;
use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use words::{Lang, desk};

/// `04:39` in a zone.
pub(crate) fn clock(at_ms: i64, tz: &TimeZone) -> String {
    let at = zoned(at_ms, tz);
    format!("{:02}:{:02}", at.hour(), at.minute())
}

/// `Tuesday 3 March` in a zone.
pub(crate) fn date(at_ms: i64, tz: &TimeZone, lang: Lang) -> String {
    let at = zoned(at_ms, tz);
    let weekday = words::weekday(lang, at.weekday().to_monday_one_offset().unsigned_abs());
    let (day, month) = (at.day().unsigned_abs(), at.month().unsigned_abs());
    format!("{weekday} {}", words::day_and_month(lang, day, month))
}

/// Days from which on a date says its year: before that nobody takes it for another one.
const YEAR_SAID_DAYS: i32 = 180;

/// `04:39`, with the date before it when it is not the reader's today, and with the year when that is
/// far away.
pub(crate) fn when(at_ms: i64, tz: &TimeZone, now_ms: i64, lang: Lang) -> String {
    let (at, today) = (zoned(at_ms, tz).date(), zoned(now_ms, tz).date());
    let days = (at - today).get_days();
    match days.abs() {
        0 => clock(at_ms, tz),
        ..YEAR_SAID_DAYS => format!("{} {}", date(at_ms, tz, lang), clock(at_ms, tz)),
        _ => {
            let (day, month) = (at.day().unsigned_abs(), at.month().unsigned_abs());
            format!("{} {}", words::date(lang, day, month, at.year()), clock(at_ms, tz))
        }
    }
}

/// `Monday 30 November 23:07 to 23:15`: [`when`] it begins and ends, the day said once. A night that ends on the
/// morning after needs no second day; an end that is later says its day even when that is the reader's today.
pub(crate) fn from_to(
    from_ms: i64,
    until_ms: i64,
    tz: &TimeZone,
    now_ms: i64,
    lang: Lang,
) -> String {
    let from = when(from_ms, tz, now_ms, lang);
    let days = (zoned(until_ms, tz).date() - zoned(from_ms, tz).date()).get_days();
    let until = match days {
        0 if clock(from_ms, tz) == clock(until_ms, tz) => return from,
        0 | 1 => clock(until_ms, tz),
        _ if day(until_ms, tz) == day(now_ms, tz) => {
            format!("{} {}", date(until_ms, tz, lang), clock(until_ms, tz))
        }
        _ => when(until_ms, tz, now_ms, lang),
    };
    desk::from_to(lang, from, until)
}

/// The day of an instant in a zone.
pub(crate) fn day(at_ms: i64, tz: &TimeZone) -> jiff::civil::Date {
    zoned(at_ms, tz).date()
}

/// What a `datetime-local` field sends, as an instant of a zone. A time that a clock change skips
/// or repeats is taken as the zone's rules say.
pub(crate) fn from_field(text: &str, tz: &TimeZone) -> Option<i64> {
    let civil: DateTime = text.parse().ok()?;
    let at = tz.to_ambiguous_zoned_datetime(civil).compatible().ok()?;
    Some(at.timestamp().as_millisecond())
}

/// An instant as a `datetime-local` field shows it.
pub(crate) fn to_field(at_ms: i64, tz: &TimeZone) -> String {
    zoned(at_ms, tz).strftime("%Y-%m-%dT%H:%M").to_string()
}

fn zoned(at_ms: i64, tz: &TimeZone) -> jiff::ZonedDateTime {
    Timestamp::from_millisecond(at_ms).unwrap_or_default().to_zoned_datetime(tz.clone())
}

impl Reader {
    /// `04:39` in the house's zone.
    pub(crate) fn clock(&self, at_ms: i64) -> String {
        clock(at_ms, &self.tz)
    }

    /// As [`when`], in the house's zone.
    pub(crate) fn when(&self, at_ms: i64) -> String {
        when(at_ms, &self.tz, self.now_ms, self.lang)
    }

    /// As [`from_to`], in another zone.
    pub(crate) fn stretch(&self, from_ms: i64, until_ms: i64, tz: &TimeZone) -> String {
        from_to(from_ms, until_ms, tz, self.now_ms, self.lang)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_carry_their_zone() {
        let tz = TimeZone::get("America/Chicago").unwrap();
        // 2026-03-03 10:39:07 UTC is 04:39:07 in Chicago (UTC-6 until 8 March 2026).
        let at_ms = 1_772_534_347_000;
        assert_eq!(clock(at_ms, &tz), "04:39");
        assert_eq!(date(at_ms, &tz, Lang::En), "Tuesday 3 March");
        assert_eq!(date(at_ms, &tz, Lang::Es), "martes 3 de marzo");
        assert_eq!(from_field(&to_field(at_ms, &tz), &tz), Some(at_ms - 7_000));
        assert_eq!(from_field("tonight", &tz), None);
    }

    #[test]
    fn a_day_that_is_far_away_says_its_year() {
        let tz = TimeZone::get("America/Chicago").unwrap();
        let now_ms = 1_772_534_347_000;
        let in_days = |days: i64| when(now_ms + days * 86_400_000, &tz, now_ms, Lang::En);
        assert_eq!(in_days(0), "04:39");
        assert_eq!(in_days(7), "Tuesday 10 March 05:39", "summer time began on 8 March 2026");
        assert_eq!(in_days(365), "3 March 2027 04:39");
        assert_eq!(in_days(-365), "3 March 2025 04:39");
    }

    #[test]
    fn a_stretch_says_its_day_once_and_a_late_end_its_own() {
        let tz = TimeZone::get("America/Chicago").unwrap();
        // 04:39:07 on Tuesday 3 March 2026.
        let now_ms = 1_772_534_347_000;
        let (minute, hour, day) = (60_000, 3_600_000, 86_400_000);
        let says =
            |from: i64, until: i64| from_to(now_ms + from, now_ms + until, &tz, now_ms, Lang::En);
        assert_eq!(says(-hour, 0), "03:39 to 04:39");
        assert_eq!(says(-8 * hour, 0), "Monday 2 March 20:39 to 04:39");
        assert_eq!(says(-8 * hour, -7 * hour), "Monday 2 March 20:39 to 21:39");
        assert_eq!(says(-8 * hour, 30_000 - 8 * hour), "Monday 2 March 20:39", "within a minute");
        assert_eq!(says(-8 * hour, minute - 8 * hour), "Monday 2 March 20:39 to 20:40");
        assert_eq!(says(-2 * day, 0), "Sunday 1 March 04:39 to Tuesday 3 March 04:39");
        assert_eq!(says(0, 3 * day), "04:39 to Friday 6 March 04:39");
        assert_eq!(says(-2 * day, -hour / 6), "Sunday 1 March 04:39 to Tuesday 3 March 04:29");
    }

    #[test]
    fn the_hour_that_the_clock_skips_is_still_a_time() {
        let tz = TimeZone::get("America/Chicago").unwrap();
        let skipped = from_field("2026-03-08T02:30", &tz).unwrap();
        assert_eq!(clock(skipped, &tz), "03:30");
    }
}
