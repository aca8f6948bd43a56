//! What came in after a report went out makes an amendment by itself: a phone that was without signal,
//! a page of paper that was typed, a correction.

use super::planning::plan_amendment;
use super::{Delivery, Report};
use crate::book::Live;
use crate::problem::Problem;
use crate::server::App;
use ledger::WatchId;
use record::ReviewOf;
use std::collections::{BTreeMap, BTreeSet};

/// A phone that comes back sends page after page; so long after the last line it is taken to be done
/// (our own figure), so that one amendment lists all of it.
const QUIET_MS: i64 = 60_000;

/// What was looked at: a report whose watch has as many lines as then needs no other look.
#[derive(Debug, Default)]
pub(super) struct Looked {
    /// By report.
    lines: BTreeMap<String, usize>,
    /// By watch: how many lines it had when its shifts were looked at.
    shifts: BTreeMap<WatchId, usize>,
}

impl Looked {
    /// The watches whose shifts may have ended since they were asked for last.
    pub(super) fn grown(&mut self, app: &App) -> Vec<WatchId> {
        let mut grown = Vec::new();
        for (id, live) in app.book().watches() {
            let Some(lines) = live.fold.as_ref().map(watch::Watch::len) else { continue };
            if self.shifts.get(id) != Some(&lines) {
                self.shifts.insert(id.clone(), lines);
                grown.push(id.clone());
            }
        }
        grown
    }

    /// Plans what is owed because of lines that came in since.
    pub(super) async fn look(
        &mut self,
        app: &App,
        reports: &[(String, Report)],
        deliveries: &[(String, Delivery)],
    ) -> Result<(), Problem> {
        let now_ms = app.clock.now_ms();
        for (id, report) in newest(reports) {
            let Some(outcome) = self.judge(app, id, report, now_ms) else { continue };
            if outcome == Outcome::Differs {
                let reached = deliveries.iter().any(|(_, delivery)| {
                    delivery.report.as_deref() == Some(id) && delivery.sent_ms.is_some()
                });
                if reached {
                    plan_amendment(app, (id, report), deliveries).await?;
                } else {
                    // Nobody has it yet: the same report takes in what came.
                    let report = Report { issued: None, ..report.clone() };
                    app.settings.put(id, &report).await?;
                }
            }
        }
        Ok(())
    }

    /// Notes of which watches no report is owed another look, so that they can be put away.
    pub(super) fn note_settled(&self, app: &App, reports: &[(String, Report)]) {
        let settled = self.settled(app, reports);
        if settled.is_empty() {
            return;
        }
        let mut book = app.book_mut();
        for (id, lines) in settled {
            book.live(&id).reported = Some(lines);
        }
    }

    /// The watches that became so, each with how many lines it had then.
    fn settled(&self, app: &App, reports: &[(String, Report)]) -> Vec<(WatchId, usize)> {
        let book = app.book();
        let lines_of = |live: &Live| live.fold.as_ref().map(watch::Watch::len);
        let mut open = BTreeSet::new();
        for (id, report) in reports.iter().filter(|(_, report)| report.issued.is_some()) {
            let lines = book.watch(&report.watch).and_then(lines_of);
            if lines.is_some() && self.lines.get(id).copied() != lines {
                open.insert(&report.watch);
            }
        }
        let released = book.watches().filter(|(_, live)| live.standing.released_ms.is_some());
        let settled = released.filter_map(|(id, live)| {
            let lines = lines_of(live).filter(|lines| live.reported != Some(*lines))?;
            (!open.contains(id)).then(|| (id.clone(), lines))
        });
        settled.collect()
    }

    /// None if nothing has come in since it was looked at, or it may still be coming in.
    fn judge(&mut self, app: &App, id: &str, report: &Report, now_ms: i64) -> Option<Outcome> {
        let book = app.book();
        let live = book.watch(&report.watch)?;
        let lines = live.fold.as_ref()?.len();
        if self.lines.get(id) == Some(&lines) {
            return None;
        }
        let last_ms = differs_since(live, report)?;
        if last_ms.is_some_and(|last_ms| now_ms - last_ms < QUIET_MS) {
            return None;
        }
        self.lines.insert(id.to_owned(), lines);
        Some(if last_ms.is_some() { Outcome::Differs } else { Outcome::Same })
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Outcome {
    Same,
    Differs,
}

/// When the last line was received that makes the report say something else; the outer none if it was
/// not issued yet.
fn differs_since(live: &Live, report: &Report) -> Option<Option<i64>> {
    let fold = live.fold.as_ref()?;
    let earlier = fold.as_counted(report.issued?.counted)?;
    let from_ms = if report.of == ReviewOf::Watch { i64::MIN } else { report.from_ms };
    let changes = fold.changes_since(&earlier, from_ms, report.until_ms);
    let received = changes.iter().map(|change| {
        let told = fold.effective(change.line);
        let by = told.and_then(|told| told.withdrawn_by.or(told.corrected_by));
        let line = by.filter(|by| earlier.line(*by).is_none()).unwrap_or(change.line);
        fold.sealing(line).map_or(0, |sealing| sealing.rx_ms)
    });
    Some(received.max())
}

/// The newest report of each stretch.
fn newest(reports: &[(String, Report)]) -> impl Iterator<Item = (&str, &Report)> {
    let mut newest: BTreeMap<(&WatchId, ReviewOf, i64), (&str, &Report)> = BTreeMap::new();
    for (id, report) in reports {
        let key = (&report.watch, report.of, report.from_ms);
        let known = newest.entry(key).or_insert((id, report));
        if report.number > known.1.number {
            *known = (id, report);
        }
    }
    newest.into_values()
}
