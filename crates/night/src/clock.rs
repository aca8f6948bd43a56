//! The times of a night: local clock times of the site, running forward over midnight.

use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;

/// Turns clock times into instants.
#[derive(Debug, Clone)]
pub(crate) struct NightClock {
    pub(crate) zone: TimeZone,
    date: Date,
    last_ms: Option<i64>,
}

impl NightClock {
    pub(crate) fn new(zone: TimeZone, date: Date) -> NightClock {
        NightClock { zone, date, last_ms: None }
    }

    /// The instant of a sentence: the first after the one before. A clock time more than twelve
    /// hours back is the next day's; a smaller step back is a fault, since stories run forward.
    pub(crate) fn next(&mut self, text: &str) -> Result<i64, String> {
        let time = parse(text)?;
        let mut at_ms = self.on(self.date, time)?;
        if let Some(last_ms) = self.last_ms.filter(|last_ms| at_ms < *last_ms) {
            if last_ms - at_ms < 12 * 3_600_000 {
                return Err("times run forward: say `as of` for what happened earlier".to_owned());
            }
            self.date = self.date.tomorrow().map_err(|error| error.to_string())?;
            at_ms = self.on(self.date, time)?;
        }
        self.last_ms = Some(at_ms);
        Ok(at_ms)
    }

    /// A clock time near an instant: the one at most twelve hours from it.
    pub(crate) fn near(&self, text: &str, near_ms: i64) -> Result<i64, String> {
        let time = parse(text)?;
        let day = |date: Result<Date, jiff::Error>| self.on(date.map_err(|e| e.to_string())?, time);
        let days = [day(self.date.yesterday())?, day(Ok(self.date))?, day(self.date.tomorrow())?];
        Ok(days.into_iter().min_by_key(|at_ms| at_ms.abs_diff(near_ms)).unwrap_or(near_ms))
    }

    /// A clock time at or after an instant.
    pub(crate) fn after(&self, text: &str, from_ms: i64) -> Result<i64, String> {
        let time = parse(text)?;
        let mut date = self.date;
        loop {
            let at_ms = self.on(date, time)?;
            if at_ms >= from_ms {
                return Ok(at_ms);
            }
            date = date.tomorrow().map_err(|error| error.to_string())?;
        }
    }

    /// Begins another day.
    pub(crate) fn begin(&mut self, date: Date) {
        self.date = date;
        self.last_ms = None;
    }

    /// Local time minus UTC at an instant, minutes.
    pub(crate) fn offset_min(&self, at_ms: i64) -> i64 {
        let at = jiff::Timestamp::from_millisecond(at_ms).expect("nights lie in this era");
        i64::from(self.zone.to_offset(at).seconds()) / 60
    }

    fn on(&self, date: Date, time: Time) -> Result<i64, String> {
        let at = date
            .to_datetime(time)
            .to_zoned_datetime(self.zone.clone())
            .map_err(|e| e.to_string())?;
        Ok(at.timestamp().as_millisecond())
    }
}

/// `20:04` or `20:04:30`.
fn parse(text: &str) -> Result<Time, String> {
    let wrong = || format!("{text:?} is no time of day: write 20:04 or 20:04:30");
    let numbers: Result<Vec<i8>, _> = text.split(':').map(str::parse).collect();
    match numbers.map_err(|_| wrong())?.as_slice() {
        [hour, minute] => Time::new(*hour, *minute, 0, 0),
        [hour, minute, second] => Time::new(*hour, *minute, *second, 0),
        _ => return Err(wrong()),
    }
    .map_err(|_| wrong())
}

/// `15 min`, `90 s`, `2 h`, in s.
pub(crate) fn span_s(text: &str) -> Result<u32, String> {
    let wrong = || format!("{text:?} is no length of time: write 15 min, 90 s or 2 h");
    let (number, unit) = text.split_once(' ').ok_or_else(wrong)?;
    let number: u32 = number.parse().map_err(|_| wrong())?;
    let of_a_unit = match unit {
        "s" => 1,
        "min" => 60,
        "h" => 3600,
        _ => return Err(wrong()),
    };
    number.checked_mul(of_a_unit).ok_or_else(|| format!("{text:?} is longer than any watch"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_too_long_to_count_is_told() {
        assert_eq!(span_s("15 min"), Ok(900));
        assert!(span_s("4294967295 h").unwrap_err().contains("longer"));
    }
}
