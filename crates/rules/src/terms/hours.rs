//! Hours of the week: when a building is open, when a site works, and the hours in between.

use jiff::civil::{Date, Time, Weekday};
use jiff::{ToSpan, ZonedDateTime};

/// Recurring hours, such as `Mon-Fri 07:00-17:00`. A stretch that ends at or before its beginning runs past midnight.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Week(Vec<Hours>);

#[derive(Debug, Clone, PartialEq, Eq)]
struct Hours {
    days: Vec<Weekday>,
    from: Time,
    to: Time,
}

/// A stretch of absolute time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Period {
    /// Beginning.
    pub from: ZonedDateTime,
    /// End.
    pub to: ZonedDateTime,
}

const DAYS: [(&str, Weekday); 7] = [
    ("mon", Weekday::Monday),
    ("tue", Weekday::Tuesday),
    ("wed", Weekday::Wednesday),
    ("thu", Weekday::Thursday),
    ("fri", Weekday::Friday),
    ("sat", Weekday::Saturday),
    ("sun", Weekday::Sunday),
];

impl Week {
    /// Reads lines such as `Mon-Fri 07:00-17:00`, `Sat 08:00-12:00` or `07:00-17:00` for every day.
    pub fn parse<'a>(lines: impl IntoIterator<Item = &'a str>) -> Option<Self> {
        let hours: Option<Vec<Hours>> = lines.into_iter().map(Hours::parse).collect();
        hours.filter(|hours| !hours.is_empty()).map(Self)
    }

    /// Whether the instant lies in these hours.
    pub fn holds(&self, at: &ZonedDateTime) -> bool {
        self.holds_except(at, &[])
    }

    /// Whether the instant lies in these hours, with none on these days.
    pub fn holds_except(&self, at: &ZonedDateTime, off: &[Date]) -> bool {
        let stretches = self.around(at.date(), 1, at, off);
        stretches.iter().any(|period| period.from <= *at && *at < period.to)
    }

    /// The stretches outside these hours, from the one that holds `at` or follows it, for a week.
    pub fn between(&self, at: &ZonedDateTime, off: &[Date]) -> Vec<Period> {
        let mut working = self.around(at.date(), 16, at, off);
        working.sort_by(|a, b| a.from.cmp(&b.from));
        let mut gaps = Vec::new();
        let mut free_from: Option<ZonedDateTime> = None;
        for period in working {
            match free_from.take() {
                Some(free) if free < period.from && period.from > *at => {
                    gaps.push(Period { from: free, to: period.from.clone() });
                    free_from = Some(period.to);
                }
                Some(free) => free_from = Some(free.max(period.to)),
                None => free_from = Some(period.to),
            }
        }
        let week = at.checked_add(7.days()).unwrap_or_else(|_| at.clone());
        gaps.retain(|gap| gap.from < week);
        gaps
    }

    /// The stretches that begin within so many days of `date`, save on days off.
    fn around(&self, date: Date, days: i32, like: &ZonedDateTime, off: &[Date]) -> Vec<Period> {
        let mut found = Vec::new();
        for ahead in -days..=days {
            let Ok(day) = date.checked_add(ahead.days()) else { continue };
            if off.contains(&day) {
                continue;
            }
            found.extend(self.0.iter().filter_map(|hours| hours.on(day, like)));
        }
        found
    }
}

impl Hours {
    fn parse(line: &str) -> Option<Self> {
        let line = line.trim();
        let (days, times) = match line.rsplit_once(' ') {
            Some((days, times)) => (parse_days(days)?, times),
            None => (DAYS.map(|(_, day)| day).to_vec(), line),
        };
        let (from, to) = times.split_once('-')?;
        let to = if to.trim() == "24:00" { "00:00" } else { to.trim() };
        Some(Self { days, from: from.trim().parse().ok()?, to: to.parse().ok()? })
    }

    fn on(&self, day: Date, like: &ZonedDateTime) -> Option<Period> {
        if !self.days.contains(&day.weekday()) {
            return None;
        }
        let last = if self.to <= self.from { day.checked_add(1.day()).ok()? } else { day };
        let zone = like.time_zone();
        let from = zone.to_zoned_datetime(day.to_datetime(self.from)).ok()?;
        let to = zone.to_zoned_datetime(last.to_datetime(self.to)).ok()?;
        Some(Period { from, to })
    }
}

fn parse_days(text: &str) -> Option<Vec<Weekday>> {
    let mut days = Vec::new();
    for part in text.split([',', ' ']).filter(|part| !part.is_empty()) {
        match part.split_once('-') {
            None => days.push(parse_day(part)?),
            Some((first, last)) => {
                let (mut day, last) = (parse_day(first)?, parse_day(last)?);
                days.push(day);
                while day != last {
                    day = day.next();
                    days.push(day);
                }
            }
        }
    }
    (!days.is_empty()).then_some(days)
}

fn parse_day(text: &str) -> Option<Weekday> {
    let text = text.trim().to_lowercase();
    DAYS.iter().find(|(name, _)| text.starts_with(name)).map(|(_, day)| *day)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> ZonedDateTime {
        text.parse().expect("a zoned time")
    }

    #[test]
    fn a_long_weekend_is_one_stretch() {
        let week = Week::parse(["Mon-Fri 07:00-17:00"]).expect("hours");
        // Thursday 2026-11-26 is a holiday; the stretch runs from Wednesday evening to Friday morning.
        let holiday = ["2026-11-26".parse().expect("a day")];
        let gaps = week.between(&at("2026-11-25T12:00[America/Chicago]"), &holiday);
        let told: Vec<String> = gaps
            .iter()
            .take(3)
            .map(|gap| format!("{} {}", gap.from.datetime(), gap.to.datetime()))
            .collect();
        assert_eq!(
            told,
            [
                "2026-11-25T17:00:00 2026-11-27T07:00:00",
                "2026-11-27T17:00:00 2026-11-30T07:00:00",
                "2026-11-30T17:00:00 2026-12-01T07:00:00"
            ]
        );
    }

    /// New Year's Day 2027 is a Friday (ISO 8601 week 53 of 2026 ends on Sunday 3 January).
    #[test]
    fn the_calendar_goes_on_over_new_year() {
        let week = Week::parse(["Mon-Fri 07:00-17:00"]).expect("hours");
        let holiday = ["2027-01-01".parse().expect("a day")];
        let gaps = week.between(&at("2026-12-30T12:00[Europe/London]"), &holiday);
        let told: Vec<String> = gaps
            .iter()
            .take(3)
            .map(|gap| format!("{} {}", gap.from.datetime(), gap.to.datetime()))
            .collect();
        assert_eq!(
            told,
            [
                "2026-12-30T17:00:00 2026-12-31T07:00:00",
                "2026-12-31T17:00:00 2027-01-04T07:00:00",
                "2027-01-04T17:00:00 2027-01-05T07:00:00"
            ]
        );
    }

    #[test]
    fn hours_past_midnight_belong_to_the_day_they_begin() {
        let week = Week::parse(["Sat 20:00-04:00"]).expect("hours");
        assert!(week.holds(&at("2026-11-29T03:59[UTC]")));
        assert!(!week.holds(&at("2026-11-29T04:00[UTC]")));
        assert!(!week.holds(&at("2026-11-28T03:00[UTC]")));
    }

    #[test]
    fn refuses_what_it_cannot_read() {
        for text in ["", "Mon", "7-17", "Mon-Fri 25:00-26:00", "Xyz 07:00-17:00"] {
            assert_eq!(Week::parse([text]), None, "{text}");
        }
    }
}
