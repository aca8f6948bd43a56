//! The day that it is where the phone is, for people: nothing is computed from it.

use crate::model::Model;

/// Today in words, in the language on the screen.
pub(crate) fn today(model: &Model) -> String {
    let local_ms = model.now_ms + model.tz_min * 60_000;
    let (year, month, day) = civil(local_ms.div_euclid(86_400_000));
    words::date(model.lang(), day, month, year)
}

/// Year, month and day of a day counted from 1970-01-01 in the Gregorian calendar, by counting in
/// years that begin in March, so that the leap day is the last one.
fn civil(days: i64) -> (i16, u8, u8) {
    let shifted = days + 719_468;
    let (era, of_era) = (shifted.div_euclid(146_097), shifted.rem_euclid(146_097));
    let year_of_era = (of_era - of_era / 1_460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let march_month = (5 * of_year + 2) / 153;
    let day = of_year - (153 * march_month + 2) / 5 + 1;
    let month = if march_month < 10 { march_month + 3 } else { march_month - 9 };
    let year = year_of_era + era * 400 + i64::from(month <= 2);
    let small = "a calendar date of a phone's clock";
    let part = |n: i64| u8::try_from(n).expect(small);
    (i16::try_from(year).unwrap_or(i16::MAX), part(month), part(day))
}

#[cfg(test)]
mod tests {
    use super::civil;

    /// Day numbers by `date -u -d DATE +%s` of GNU coreutils, divided by 86,400.
    #[test]
    fn days_become_dates() {
        assert_eq!(civil(0), (1970, 1, 1));
        assert_eq!(civil(11_016), (2000, 2, 29));
        assert_eq!(civil(20_782), (2026, 11, 25));
        assert_eq!(civil(47_540), (2100, 2, 28));
        assert_eq!(civil(47_541), (2100, 3, 1));
        assert_eq!(civil(-1), (1969, 12, 31));
    }
}
