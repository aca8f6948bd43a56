//! A report: what it covers, which number it has, what it rests on.

use super::Delivery;
use crate::page::time;
use crate::problem::Problem;
use crate::server::App;
use crate::settings::{Kept, REPORTS};
use jiff::tz::TimeZone;
use ledger::{LineId, WatchId};
use record::{Reported, ReviewOf};
use serde::{Deserialize, Serialize};
use words::{Lang, delivery};

/// A report.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Report {
    pub(crate) watch: WatchId,
    /// A shift, a day, the whole watch.
    pub(crate) of: ReviewOf,
    /// From, ms UTC.
    pub(crate) from_ms: i64,
    /// Until, ms UTC.
    pub(crate) until_ms: i64,
    /// 1 for the first; each amendment counts on.
    pub(crate) number: u32,
    /// When it was issued first, and the `sealed` line that counts what it rests on: set when it is
    /// printed for the first receiver, so that every other one gets the same.
    pub(crate) issued: Option<Issued>,
}

/// What is fixed when a report is printed first.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub(crate) struct Issued {
    pub(crate) at_ms: i64,
    pub(crate) counted: LineId,
}

impl Kept for Report {
    const COLLECTION: &'static str = REPORTS;
}

impl Report {
    /// The key under which it is kept: one report of each number of each stretch.
    pub(crate) fn id(&self) -> String {
        let of = match self.of {
            ReviewOf::Shift => "shift",
            ReviewOf::Day => "day",
            ReviewOf::Watch => "watch",
        };
        format!("{}.{of}.{}.{}", self.watch, self.from_ms, self.number)
    }

    /// Whether it is about the same stretch of the same watch.
    pub(crate) fn is_of(&self, other: &Report) -> bool {
        (&self.watch, self.of, self.from_ms) == (&other.watch, other.of, other.from_ms)
    }

    /// What the record says of it when it goes out.
    pub(crate) fn reported(&self) -> Option<Reported> {
        let Issued { at_ms, counted } = self.issued?;
        let Report { of, from_ms, until_ms, .. } = *self;
        Some(Reported { of, from_ms, until_ms, issued_ms: at_ms, counted })
    }

    /// `Shift from Monday 2 March 20:00`, `Amendment 1 of the shift from …`.
    pub(crate) fn says(&self, lang: Lang, tz: &TimeZone) -> String {
        let from =
            || format!("{} {}", time::date(self.from_ms, tz, lang), time::clock(self.from_ms, tz));
        match (self.of, self.number) {
            (ReviewOf::Shift, 1) => delivery::shift(lang, from()),
            (ReviewOf::Day, 1) => delivery::day(lang, from()),
            (ReviewOf::Watch, 1) => delivery::watch(lang, from()),
            (ReviewOf::Shift, number) => delivery::shift_amended(lang, from(), number - 1),
            (ReviewOf::Day, number) => delivery::day_amended(lang, from(), number - 1),
            (ReviewOf::Watch, number) => delivery::watch_amended(lang, from(), number - 1),
        }
    }
}

impl Delivery {
    /// Its report; none for one that an older program planned.
    pub(crate) async fn report(&self, app: &App) -> Result<Option<Report>, Problem> {
        match &self.report {
            Some(id) => app.settings.get::<Report>(id).await,
            None => Ok(None),
        }
    }
}
