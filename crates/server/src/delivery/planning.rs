//! When which report is owed: at the end of a shift, at the end of a day, at release, and again when
//! something came in afterwards.

use super::{Delivery, Report};
use crate::book::Live;
use crate::problem::Problem;
use crate::secret;
use crate::server::App;
use ledger::WatchId;
use record::ReviewOf;
use watch::Shift;

/// Photos and the signature follow their lines; a report that does not wait for them would call them
/// missing (our own figure).
const BLOBS_FOLLOW_MS: i64 = 20_000;

/// A shift that was taken over is reported without a signature after this (our own figure).
const SIGNATURE_FOLLOWS_MS: i64 = 900_000;

/// What ended longer ago ended before this program knew of such reports (our own figure).
const LATE_MAX_MS: i64 = 24 * 3_600_000;

/// Plans the report of a whole watch. It takes the place of reports of a part that have not begun to
/// go out.
pub(crate) async fn plan_release(app: &App, watch: &WatchId) -> Result<(), Problem> {
    let now_ms = app.clock.now_ms();
    let Some((from_ms, until_ms)) = app
        .book()
        .watch(watch)
        .and_then(|live| Some((live.standing.from_ms, live.standing.released_ms?)))
    else {
        return Ok(());
    };
    for (id, delivery) in app.settings.all::<Delivery>().await? {
        let waits = delivery.tries == 0 && delivery.sent_ms.is_none() && delivery.number == 1;
        if delivery.watch == *watch && waits {
            app.settings.remove::<Delivery>(&id).await?;
        }
    }
    let report = first(watch, ReviewOf::Watch, (from_ms, until_ms));
    plan(app, report, house_receivers(app), now_ms).await
}

/// A shift that has ended.
#[derive(Debug, Clone)]
struct Ended {
    report: Report,
    due_ms: i64,
}

/// The shifts of a watch that have ended and are not reported by its release. One that was taken over
/// and not signed waits for its signature for a while: a phone may have died.
fn ended_shifts(watch: &WatchId, live: &Live, now_ms: i64) -> Vec<Ended> {
    let state = live.about(now_ms).filter(|state| state.released().is_none());
    let Some(state) = state else { return Vec::new() };
    let ended = |shift: &Shift| {
        let until_ms = shift.until_signed_ms()?;
        let signed = shift.ended.as_ref();
        let known_ms = signed.map_or(Some(until_ms), |line| line.when.sealed.not_after_ms)?;
        if now_ms - known_ms > LATE_MAX_MS {
            return None;
        }
        let due_ms = match signed {
            Some(_) => known_ms + BLOBS_FOLLOW_MS,
            None => until_ms + SIGNATURE_FOLLOWS_MS,
        };
        Some(Ended { report: first(watch, ReviewOf::Shift, (shift.from_ms, until_ms)), due_ms })
    };
    state.shifts.iter().filter_map(ended).collect()
}

/// Plans the reports of shifts that have ended in a watch.
pub(super) async fn plan_shifts(
    app: &App,
    watch: &WatchId,
    reports: &[(String, Report)],
) -> Result<(), Problem> {
    let now_ms = app.clock.now_ms();
    let ended = match app.book().watch(watch) {
        Some(live) => ended_shifts(watch, live, now_ms),
        None => Vec::new(),
    };
    for Ended { report, due_ms } in ended {
        let known = reports.iter().find(|(_, known)| known.is_of(&report));
        match known {
            None => plan(app, report, house_receivers(app), due_ms).await?,
            // The signature came after the relief, before anything was printed.
            Some((id, known)) if known.issued.is_none() && known.until_ms != report.until_ms => {
                app.settings.put(id, &report).await?;
                for (id, delivery) in app.settings.all::<Delivery>().await? {
                    if delivery.report.as_deref() == Some(&report.id()) && delivery.tries == 0 {
                        let delivery = Delivery { due_ms: Some(due_ms), ..delivery };
                        app.settings.put(&id, &delivery).await?;
                    }
                }
            }
            Some(_) => {}
        }
    }
    Ok(())
}

/// Plans the reports of days that have ended, for watches whose terms say when a log must be out.
pub(super) async fn plan_days(app: &App, reports: &[(String, Report)]) -> Result<(), Problem> {
    let now_ms = app.clock.now_ms();
    let mut owed = Vec::new();
    for (id, live) in app.book().watches() {
        let terms = live.documents.terms.as_ref();
        let wanted = terms.is_some_and(|terms| terms.owed.deliver_within_s.is_some());
        if !wanted || live.standing.released_ms.is_some() {
            continue;
        }
        let Some(span) = ended_day(live.standing.from_ms, now_ms) else { continue };
        let report = first(id, ReviewOf::Day, span);
        if !reports.iter().any(|(_, known)| known.is_of(&report)) {
            owed.push(report);
        }
    }
    for report in owed {
        plan(app, report, house_receivers(app), now_ms).await?;
    }
    Ok(())
}

/// The last day that has ended, with the time that blobs take to follow: 24 hours each, from the
/// beginning of the watch.
fn ended_day(from_ms: i64, now_ms: i64) -> Option<(i64, i64)> {
    let day_ms = 24 * 3_600_000;
    let days = (now_ms - BLOBS_FOLLOW_MS - from_ms).div_euclid(day_ms);
    let until_ms = from_ms + days * day_ms;
    (days > 0 && now_ms - until_ms <= LATE_MAX_MS).then_some((until_ms - day_ms, until_ms))
}

/// Plans the amendment of a report, for those who were to get it.
pub(super) async fn plan_amendment(
    app: &App,
    (id, report): (&str, &Report),
    deliveries: &[(String, Delivery)],
) -> Result<(), Problem> {
    let of_it = deliveries.iter().filter(|(_, d)| d.report.as_deref() == Some(id));
    let to = of_it.map(|(_, delivery)| delivery.to.clone()).collect();
    let amended = Report { number: report.number + 1, issued: None, ..report.clone() };
    plan(app, amended, to, app.clock.now_ms()).await
}

fn house_receivers(app: &App) -> Vec<String> {
    app.house().report_to.clone()
}

fn first(watch: &WatchId, of: ReviewOf, (from_ms, until_ms): (i64, i64)) -> Report {
    Report { watch: watch.clone(), of, from_ms, until_ms, number: 1, issued: None }
}

/// One report that was planned twice, by two lines or two tasks, is planned once.
async fn plan(app: &App, report: Report, to: Vec<String>, due_ms: i64) -> Result<(), Problem> {
    let id = report.id();
    match app.settings.add(&id, &report).await {
        Ok(()) => {}
        Err(Problem::Changed) => return Ok(()),
        Err(problem) => return Err(problem),
    }
    for to in to {
        let delivery = Delivery {
            watch: report.watch.clone(),
            to,
            number: report.number,
            report: Some(id.clone()),
            due_ms: Some(due_ms),
            planned_ms: Some(due_ms),
            tries: 0,
            sent_ms: None,
            fault: None,
        };
        app.settings.add(&secret::id("d"), &delivery).await?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::ended_day;

    #[test]
    fn a_day_is_owed_once_it_has_ended_and_its_photos_could_follow() {
        let day = 86_400_000;
        assert_eq!(ended_day(1_000, 1_000 + day), None);
        assert_eq!(ended_day(1_000, 1_000 + day + 20_000), Some((1_000, 1_000 + day)));
        assert_eq!(ended_day(1_000, 1_000 + 3 * day), Some((1_000 + day, 1_000 + 2 * day)));
        assert_eq!(ended_day(5_000, 0), None);
    }
}
