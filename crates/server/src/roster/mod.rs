//! Who is where: now, tonight and this week; who has said yes, who is missing, who could come instead.

mod act;
mod calendar;
mod hours;
mod page;

pub(crate) use act::{confirm, replace};
pub(crate) use calendar::calendar;
pub(crate) use hours::hours;
pub(crate) use page::show;

use crate::book::Book;
use crate::server::App;
use crate::settings::Kept;
use jiff::tz::TimeZone;
use ledger::{LineId, PersonId, WatchId};
use serde::{Deserialize, Serialize};

/// A planned stretch that has not ended.
pub(crate) struct Planned {
    pub(crate) watch: WatchId,
    pub(crate) site: String,
    pub(crate) line: LineId,
    pub(crate) who: PersonId,
    pub(crate) from_ms: i64,
    pub(crate) until_ms: i64,
    /// Since when this person is on duty there.
    pub(crate) on_duty_ms: Option<i64>,
    /// They came and have handed over or ended.
    pub(crate) gone: bool,
    pub(crate) tz: TimeZone,
}

/// Somebody has said yes to a stretch. Kept as a setting under the id of the line that planned it.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Confirmed {
    pub(crate) at_ms: i64,
    pub(crate) by: PersonId,
}

impl Kept for Confirmed {
    const COLLECTION: &'static str = "confirmed";
}

/// Every stretch that has not ended, by its beginning.
pub(crate) fn planned(app: &App, now_ms: i64) -> Vec<Planned> {
    let book = app.book();
    let open = book.watches().filter(|(_, live)| !live.standing.is_over(now_ms));
    let mut planned: Vec<Planned> = open
        .flat_map(|(id, live)| {
            let standing = &live.standing;
            let plans = standing.planned.iter().zip(&standing.plan_lines);
            let open = plans.filter(|((.., until_ms), _)| *until_ms > now_ms);
            open.map(|((who, from_ms, until_ms), line)| Planned {
                watch: id.clone(),
                site: live.documents.name().to_owned(),
                line: *line,
                who: who.clone(),
                from_ms: *from_ms,
                until_ms: *until_ms,
                on_duty_ms: standing
                    .on_duty
                    .iter()
                    .find(|duty| duty.who == *who)
                    .map(|duty| duty.since_ms),
                gone: standing.has_gone(who, *from_ms, *until_ms),
                tz: TimeZone::get(&standing.tz).unwrap_or(TimeZone::UTC),
            })
        })
        .collect();
    planned.sort_by(|a, b| (a.from_ms, &a.site, a.line).cmp(&(b.from_ms, &b.site, b.line)));
    planned
}

/// Guards for a stretch: free ones first, then those who are planned elsewhere in that time.
pub(crate) fn could_come(
    book: &Book,
    all: &[Planned],
    shift: &Planned,
) -> Vec<(PersonId, String, bool)> {
    let busy = |id: &PersonId| {
        all.iter().any(|other| {
            other.who == *id && other.from_ms < shift.until_ms && shift.from_ms < other.until_ms
        })
    };
    let mut guards: Vec<_> = book
        .people
        .iter()
        .filter(|(id, person)| {
            let walks = matches!(person.role, record::Role::Guard | record::Role::ShiftLead);
            walks && !person.left && **id != shift.who
        })
        .map(|(id, person)| (id.clone(), person.name.clone(), busy(id)))
        .collect();
    guards.sort_by(|a, b| (a.2, &a.1).cmp(&(b.2, &b.1)));
    guards
}
