//! What a person is qualified for and until when.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// A certificate, card or course.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Qualification {
    pub(crate) name: String,
    /// The last day on which it holds, `2026-05-31`; none if it does not run out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) until: Option<Date>,
}

impl Qualification {
    /// Whether it holds on a day.
    pub(crate) fn holds(&self, on: Date) -> bool {
        self.until.is_none_or(|until| until >= on)
    }

    /// `F-01 2026-05-31`: as it is typed.
    pub(crate) fn typed(&self) -> String {
        match self.until {
            Some(until) => format!("{} {until}", self.name),
            None => self.name.clone(),
        }
    }
}

/// A line that begins as a date and is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct NoDate;

/// Reads one a line: a name, and at its end the last day on which it holds.
pub(crate) fn read(typed: &str) -> Result<Vec<Qualification>, NoDate> {
    let lines = record::Words::from_text(typed).words;
    lines.iter().map(|line| one(line.trim())).collect()
}

fn one(line: &str) -> Result<Qualification, NoDate> {
    let last = line.rsplit(' ').next().unwrap_or_default();
    let like_a_date = last.len() >= 8
        && last.matches('-').count() == 2
        && last.chars().all(|c| c.is_ascii_digit() || c == '-');
    if !like_a_date {
        return Ok(Qualification { name: line.to_owned(), until: None });
    }
    let until: Date = last.parse().map_err(|_| NoDate)?;
    let name = line[..line.len() - last.len()].trim().to_owned();
    if name.is_empty() { Err(NoDate) } else { Ok(Qualification { name, until: Some(until) }) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn a_line_is_a_name_and_maybe_a_day() {
        let read = read("F-01 certificate 2026-05-31\nFirst aid").unwrap();
        assert_eq!(read[0].until, Some(date(2026, 5, 31)));
        assert!(read[0].holds(date(2026, 5, 31)) && !read[0].holds(date(2026, 6, 1)));
        assert_eq!((read[1].name.as_str(), read[1].until), ("First aid", None));
        assert_eq!(read[0].typed(), "F-01 certificate 2026-05-31");
        assert_eq!(super::read("F-01 2026-13-31"), Err(NoDate));
    }
}
