//! The time that stands in a row of a page.

/// A time as it stands on the page, `20:31` or `2031`, on the day that brings it nearest to its row.
pub(super) fn time(typed: &str, about_ms: i64, offset_min: i64) -> Option<i64> {
    let digits: String = typed.chars().filter(char::is_ascii_digit).collect();
    let separated = typed.trim().split([':', '.', ' ', 'h']).collect::<Vec<_>>();
    let (hour, minute) = match separated.as_slice() {
        [hour, minute] => (hour.parse::<i64>().ok()?, minute.parse::<i64>().ok()?),
        _ if digits.len() == 4 => (digits[..2].parse().ok()?, digits[2..].parse().ok()?),
        _ if digits.len() == 3 => (digits[..1].parse().ok()?, digits[1..].parse().ok()?),
        _ => return None,
    };
    if !(0..24).contains(&hour) || !(0..60).contains(&minute) {
        return None;
    }
    const DAY_MS: i64 = 86_400_000;
    let of_day_ms = (hour * 60 + minute) * 60_000;
    let local_ms = about_ms + offset_min * 60_000;
    let midnight_ms = local_ms - local_ms.rem_euclid(DAY_MS);
    let days = [-DAY_MS, 0, DAY_MS].map(|day_ms| midnight_ms + day_ms + of_day_ms);
    let nearest = days.into_iter().min_by_key(|at_ms| (at_ms - local_ms).abs())?;
    Some(nearest - offset_min * 60_000)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 20:30 in Chicago on 25 November 2026 is 02:30 UTC on the 26th.
    const ROW_MS: i64 = 1_795_658_400_000 + 30 * 60_000;

    #[test]
    fn a_time_is_read_as_people_write_it_and_falls_on_the_night_of_its_row() {
        let minutes = |typed| time(typed, ROW_MS, -360).map(|at_ms| (at_ms - ROW_MS) / 60_000);
        for typed in ["20:31", "20.31", "2031", " 20:31 ", "20h31"] {
            assert_eq!(minutes(typed), Some(1), "{typed}");
        }
        assert_eq!(minutes("0:05"), Some(215), "after midnight");
        assert_eq!(minutes("005"), Some(215));
        for typed in ["", "20", "25:00", "20:61", "soon", "20:30:31"] {
            assert_eq!(minutes(typed), None, "{typed}");
        }
    }
}
