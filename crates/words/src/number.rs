//! How numbers with units and times are spelled. The unit never leaves its number: the space
//! between them does not break.

use crate::{Lang, calendar};

/// The space that does not break.
pub const NBSP: char = '\u{a0}';

/// `41 min`.
pub fn minutes(minutes: i64) -> String {
    format!("{minutes}{NBSP}min")
}

/// `50 s`.
pub fn seconds(seconds: i64) -> String {
    format!("{seconds}{NBSP}s")
}

/// `12.5 m`, from millimetres, one decimal; a comma in Spanish.
pub fn metres(lang: Lang, millimetres: i64) -> String {
    let tenths = (millimetres + 50).div_euclid(100);
    format!("{}{}{}{NBSP}m", tenths / 10, point(lang), (tenths % 10).abs())
}

fn point(lang: Lang) -> char {
    match lang {
        Lang::En => '.',
        Lang::Es => ',',
    }
}

/// `340 kB`, `1.2 MB`: a thousand bytes and a million; a comma in Spanish.
pub fn file_size(lang: Lang, bytes: u64) -> String {
    let kilobytes = bytes.div_ceil(1_000);
    if kilobytes < 1_000 {
        return format!("{kilobytes}{NBSP}kB");
    }
    let tenths = (bytes + 50_000) / 100_000;
    format!("{}{}{}{NBSP}MB", tenths / 10, point(lang), tenths % 10)
}

/// Time left on a ring: whole minutes rounded down, seconds only under two minutes.
pub fn minutes_left(left_s: i64) -> String {
    if left_s < 120 { seconds(left_s) } else { minutes(left_s / 60) }
}

/// A stretch of time in words: `50 s`, `41 min`, `1 h 36 min`, `26 h`.
pub fn duration_words(duration_s: i64) -> String {
    let total_min = duration_s / 60;
    match (total_min / 60, total_min % 60) {
        (0, 0) => seconds(duration_s),
        (0, min) => minutes(min),
        (h, 0) => format!("{h}{NBSP}h"),
        (h, min) => format!("{h}{NBSP}h{NBSP}{min}{NBSP}min"),
    }
}

/// How long something has lasted that may last for weeks: as [`duration_words`], from two days on `21 d 4 h`.
pub fn lasting(duration_s: i64) -> String {
    match (duration_s / 86_400, duration_s % 86_400 / 3_600) {
        (..2, _) => duration_words(duration_s),
        (d, 0) => format!("{d}{NBSP}d"),
        (d, h) => format!("{d}{NBSP}d{NBSP}{h}{NBSP}h"),
    }
}

/// How long a place was unseen: in minutes, as gaps are allowed; from a day on as [`lasting`].
pub fn unseen_for(unseen_min: i64) -> String {
    if unseen_min < 1440 { minutes(unseen_min) } else { lasting(unseen_min * 60) }
}

/// `04:31`, from ms UTC and the minutes that local time is ahead of UTC.
pub fn clock(at_ms: i64, tz_min: i64) -> String {
    let minute = (at_ms.div_euclid(60_000) + tz_min).rem_euclid(1440);
    format!("{:02}:{:02}", minute / 60, minute % 60)
}

/// The place that a time zone is named for, as people say it: `Chicago` of `America/Chicago`.
pub fn zone_place(tz_name: &str) -> String {
    tz_name.rsplit('/').next().unwrap_or(tz_name).replace('_', " ")
}

/// `04:31:09`, as [`clock`].
pub fn clock_with_seconds(at_ms: i64, tz_min: i64) -> String {
    format!("{}:{:02}", clock(at_ms, tz_min), at_ms.div_euclid(1000).rem_euclid(60))
}

/// A number with so many decimals: `7.50`, `7,50`.
pub fn decimal(lang: Lang, value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match lang {
        Lang::Es => text.replace('.', ","),
        Lang::En => text,
    }
}

/// The name of a month, 1 to 12.
pub fn month(lang: Lang, month: u8) -> &'static str {
    let names = [
        calendar::m1,
        calendar::m2,
        calendar::m3,
        calendar::m4,
        calendar::m5,
        calendar::m6,
        calendar::m7,
        calendar::m8,
        calendar::m9,
        calendar::m10,
        calendar::m11,
        calendar::m12,
    ];
    names[usize::from(month.clamp(1, 12)) - 1](lang)
}

/// The name of a weekday, 1 (Monday) to 7.
pub fn weekday(lang: Lang, weekday: u8) -> &'static str {
    let names = [
        calendar::d1,
        calendar::d2,
        calendar::d3,
        calendar::d4,
        calendar::d5,
        calendar::d6,
        calendar::d7,
    ];
    names[usize::from(weekday.clamp(1, 7)) - 1](lang)
}

/// `2 March`.
pub fn day_and_month(lang: Lang, day: u8, of: u8) -> String {
    calendar::date_short(lang, day, month(lang, of))
}

/// `2 March 2026`.
pub fn date(lang: Lang, day: u8, of: u8, year: i16) -> String {
    calendar::date(lang, day, month(lang, of), year)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_have_a_size_that_is_never_nothing() {
        let sizes = [(1, "1 kB"), (340_000, "340 kB"), (999_001, "1.0 MB"), (1_234_567, "1.2 MB")];
        for (bytes, says) in sizes {
            assert_eq!(file_size(Lang::En, bytes).replace(NBSP, " "), says);
        }
        assert_eq!(file_size(Lang::Es, 2_500_000), format!("2,5{NBSP}MB"));
    }

    #[test]
    fn seconds_only_when_they_matter() {
        assert_eq!(minutes_left(119), "119\u{a0}s");
        assert_eq!(minutes_left(120), "2\u{a0}min");
        assert_eq!(duration_words(96 * 60), "1\u{a0}h\u{a0}36\u{a0}min");
        assert_eq!(duration_words(7200), "2\u{a0}h");
        assert_eq!(duration_words(50), "50\u{a0}s");
    }

    #[test]
    fn weeks_are_told_in_days() {
        let said = |s: i64| lasting(s).replace(NBSP, " ");
        assert_eq!([said(50), said(47 * 3600 + 60)], ["50 s", "47 h 1 min"]);
        assert_eq!([said(48 * 3600), said(50 * 3600 + 3599)], ["2 d", "2 d 2 h"]);
        let unseen = |min: i64| unseen_for(min).replace(NBSP, " ");
        assert_eq!([unseen(1439), unseen(1440), unseen(4320)], ["1439 min", "24 h", "3 d"]);
    }

    #[test]
    fn clocks_cross_midnight_in_both_directions() {
        assert_eq!(clock(0, -300), "19:00");
        assert_eq!(clock(23 * 3_600_000 + 1_800_000, 60), "00:30");
        assert_eq!(clock(-60_000, 0), "23:59");
        assert_eq!(clock_with_seconds(61_000, 0), "00:01:01");
    }

    #[test]
    fn metres_round_to_tenths() {
        assert_eq!(metres(Lang::En, 12_449), "12.4\u{a0}m");
        assert_eq!(metres(Lang::Es, 12_450), "12,5\u{a0}m");
        assert_eq!([decimal(Lang::En, 7.5, 2), decimal(Lang::Es, 7.5, 2)], ["7.50", "7,50"]);
    }
}
