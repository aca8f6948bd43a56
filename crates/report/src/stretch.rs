//! What a report covers: one shift, one day, any stretch. A whole watch needs none of this.

use crate::times::Local;
use record::ReviewOf;
use thiserror::Error;
use watch::{Delivery, State, Watch};

/// A stretch of a watch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// Whether it is a shift or a day; none for any other.
    pub of: Option<ReviewOf>,
    /// From, ms UTC.
    pub from_ms: i64,
    /// Until, ms UTC.
    pub until_ms: i64,
}

/// Which shift, in the order in which they began.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Nth {
    /// From 1.
    Number(u32),
    /// The last one.
    Last,
}

/// There is no such stretch in the record.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NoStretch {
    /// No such shift.
    #[error("there is no such shift: the record holds {0}; count them from 1, or say `last`")]
    Shift(usize),
    /// No such day.
    #[error(
        "no day of this watch begins on that date: its days begin on {0}. A day is 24 hours from the \
         beginning of the watch"
    )]
    Day(String),
}

impl Stretch {
    /// One shift, up to its signature; up to `about_ms` while it lasts.
    pub fn shift(watch: &Watch, about_ms: i64, nth: Nth) -> Result<Stretch, NoStretch> {
        let shifts = watch.about(about_ms).shifts;
        let shift = match nth {
            Nth::Number(number) => (number as usize).checked_sub(1).and_then(|n| shifts.get(n)),
            Nth::Last => shifts.last(),
        };
        let shift = shift.ok_or(NoStretch::Shift(shifts.len()))?;
        Ok(Stretch {
            of: Some(ReviewOf::Shift),
            from_ms: shift.from_ms,
            until_ms: shift.until_signed_ms().unwrap_or(about_ms),
        })
    }

    /// The day of the watch that began on a date (`2026-03-02`) by the site's clock.
    pub fn day(watch: &Watch, about_ms: i64, date: &str) -> Result<Stretch, NoStretch> {
        let state = watch.about(about_ms);
        let local = Local::of(state.opening.as_ref().map(|opening| opening.tz.as_str()));
        let mut begun = Vec::new();
        for (from_ms, until_ms) in days(&state) {
            let begins = local.day(from_ms);
            if begins == date {
                return Ok(Stretch { of: Some(ReviewOf::Day), from_ms, until_ms });
            }
            begun.push(begins);
        }
        Err(NoStretch::Day(match begun.as_slice() {
            [] => "no date".to_owned(),
            [one] => one.clone(),
            [first, .., last] => format!("{first} to {last}"),
        }))
    }
}

/// The days that have begun.
fn days(state: &State) -> impl Iterator<Item = (i64, i64)> {
    (1..).map_while(|day| state.day_ms(day)).take_while(|(from_ms, _)| *from_ms <= state.about_ms)
}

/// The report of a stretch with a number, as the record says that it went out.
pub fn issued(state: &State, stretch: Option<Stretch>, number: u32) -> Option<&Delivery> {
    let of = stretch.map_or(Some(ReviewOf::Watch), |stretch| stretch.of);
    state.deliveries.iter().find(|delivery| {
        delivery.report.as_ref().is_some_and(|report| {
            delivery.number == number
                && Some(report.of) == of
                && stretch.is_none_or(|stretch| stretch.from_ms == report.from_ms)
        })
    })
}
