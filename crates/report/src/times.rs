//! Times as the site's clocks show them.

use jiff::tz::TimeZone;
use jiff::{Timestamp, civil};
use words::{Lang, report};

/// The site's zone of time.
pub(crate) struct Local {
    zone: TimeZone,
    name: String,
}

impl Local {
    /// A zone that is not in the database reads as UTC, and says so by its name.
    pub(crate) fn of(iana: Option<&str>) -> Local {
        let known = iana.and_then(|name| Some((TimeZone::get(name).ok()?, name.to_owned())));
        let (zone, name) = known.unwrap_or((TimeZone::UTC, "UTC".to_owned()));
        Local { zone, name }
    }

    pub(crate) fn name(&self) -> &str {
        &self.name
    }

    fn civil(&self, at_ms: i64) -> civil::DateTime {
        let instant = Timestamp::from_millisecond(at_ms).unwrap_or(Timestamp::UNIX_EPOCH);
        self.zone.to_datetime(instant)
    }

    pub(crate) fn offset_min(&self, at_ms: i64) -> i64 {
        let instant = Timestamp::from_millisecond(at_ms).unwrap_or(Timestamp::UNIX_EPOCH);
        i64::from(self.zone.to_offset(instant).seconds() / 60)
    }

    pub(crate) fn clock(&self, at_ms: i64) -> String {
        words::clock(at_ms, self.offset_min(at_ms))
    }

    /// `2 March, 20:04`.
    pub(crate) fn day_and_clock(&self, lang: Lang, at_ms: i64) -> String {
        let day = self.civil(at_ms);
        let month = day.month().unsigned_abs();
        let day = words::day_and_month(lang, day.day().unsigned_abs(), month);
        words::papers::on(lang, day, self.clock(at_ms))
    }

    pub(crate) fn clock_with_seconds(&self, at_ms: i64) -> String {
        words::clock_with_seconds(at_ms, self.offset_min(at_ms))
    }

    /// `2026-03-02T20:04:00-06:00`, to the second (RFC 3339).
    pub(crate) fn machine(&self, at_ms: i64) -> String {
        let offset = self.offset_min(at_ms);
        let day = self.civil(at_ms);
        let sign = if offset < 0 { '-' } else { '+' };
        let (hours, minutes) = (offset.abs() / 60, offset.abs() % 60);
        format!("{}{sign}{hours:02}:{minutes:02}", day.strftime("%Y-%m-%dT%H:%M:%S"))
    }

    /// `2026-03-02`.
    pub(crate) fn day(&self, at_ms: i64) -> String {
        self.civil(at_ms).date().to_string()
    }

    pub(crate) fn date(&self, lang: Lang, at_ms: i64) -> String {
        let day = self.civil(at_ms);
        words::date(lang, day.day().unsigned_abs(), day.month().unsigned_abs(), day.year())
    }

    /// `night of 2 to 3 March 2026, 20:00 to 08:00`.
    pub(crate) fn span(&self, lang: Lang, from_ms: i64, until_ms: Option<i64>) -> String {
        let from = self.clock(from_ms);
        let Some(until_ms) = until_ms else {
            return report::until_now(lang, self.date(lang, from_ms), from);
        };
        let (first, last) = (self.civil(from_ms), self.civil(until_ms));
        let until = self.clock(until_ms);
        if first.date() == last.date() {
            return report::night_one_day(lang, self.date(lang, from_ms), from, until);
        }
        let day = first.day().unsigned_abs();
        let day1 = match (first.month(), first.year()) == (last.month(), last.year()) {
            true => day.to_string(),
            false => words::day_and_month(lang, day, first.month().unsigned_abs()),
        };
        report::night_two_days(lang, day1, self.date(lang, until_ms), from, until)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2026-03-02T20:00-06:00 and twelve hours later, in Chicago (tz database: CST until 8 March 2026).
    #[test]
    fn a_night_names_both_its_days() {
        let local = Local::of(Some("America/Chicago"));
        let from_ms = 1_772_503_200_000;
        let said = local.span(Lang::En, from_ms, Some(from_ms + 43_200_000));
        assert_eq!(said, "night of 2 to 3 March 2026, 20:00 to 08:00");
        let said = local.span(Lang::Es, from_ms, Some(from_ms + 43_200_000));
        assert_eq!(said, "noche del 2 al 3 de marzo de 2026, de 20:00 a 08:00");
    }

    #[test]
    fn an_unknown_zone_is_utc_and_says_so() {
        let local = Local::of(Some("Nowhere/Else"));
        assert_eq!((local.name(), local.clock(0).as_str()), ("UTC", "00:00"));
    }
}
