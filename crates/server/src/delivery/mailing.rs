//! Sends reports that are due: prints, mails, and writes down whether it was taken.

use super::amending::Looked;
use super::report::Issued;
use super::{Delivery, Print, Report, mail, planning, print};
use crate::alerts::Address;
use crate::export;
use crate::problem::Problem;
use crate::scribe::nobody;
use crate::server::App;
use crate::settings::Remembered;
use jiff::tz::TimeZone;
use ledger::{Digest, WatchId};
use record::{Channel, Delivered};
use std::collections::BTreeMap;
use std::time::Duration;
use words::Lang;

const LOOK_EVERY: Duration = Duration::from_secs(1);
/// Waits between tries, ms: a minute, then longer each time, at most six hours (our own default).
const FIRST_WAIT_MS: i64 = 60_000;
const WAIT_MAX_MS: i64 = 6 * 3_600_000;

/// Runs until the server stops.
pub(crate) async fn run(app: App) {
    let mut looked = Looked::default();
    let mut kept = (Remembered::default(), Remembered::default());
    let mut every = tokio::time::interval(LOOK_EVERY);
    every.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        every.tick().await;
        if let Err(problem) = look(&app, &mut looked, &mut kept).await {
            tracing::error!(%problem, "deliveries could not be looked at");
        }
    }
}

/// Plans what is owed, then sends what is due.
async fn look(
    app: &App,
    looked: &mut Looked,
    (reports, deliveries): &mut (Remembered<Report>, Remembered<Delivery>),
) -> Result<(), Problem> {
    let reports = reports.all(&app.settings).await?;
    for watch in looked.grown(app) {
        planning::plan_shifts(app, &watch, &reports).await?;
    }
    planning::plan_days(app, &reports).await?;
    let planned = deliveries.all(&app.settings).await?;
    looked.look(app, &reports, &planned).await?;
    looked.note_settled(app, &reports);
    let now_ms = app.clock.now_ms();
    let planned = deliveries.all(&app.settings).await?;
    note_owed(app, &planned, now_ms);
    let due = |delivery: &Delivery| delivery.due_ms.is_some_and(|due_ms| due_ms <= now_ms);
    if app.options.smtp.is_some() {
        for (id, delivery) in planned.iter().filter(|(_, delivery)| due(delivery)) {
            send_one(app, id, delivery.clone()).await?;
        }
    }
    Ok(())
}

/// Has the alerts know of every report that should be out.
fn note_owed(app: &App, deliveries: &[(String, Delivery)], now_ms: i64) {
    let mut owed: BTreeMap<WatchId, i64> = BTreeMap::new();
    for (_, delivery) in deliveries.iter().filter(|(_, d)| d.sent_ms.is_none()) {
        let Some(since_ms) = delivery.planned_ms.or(delivery.due_ms) else { continue };
        let first = owed.entry(delivery.watch.clone()).or_insert(since_ms);
        *first = since_ms.min(*first);
    }
    let mut book = app.book_mut();
    if book.undelivered != owed {
        let before = std::mem::replace(&mut book.undelivered, owed.clone());
        let changed: Vec<WatchId> = before.into_keys().chain(owed.into_keys()).collect();
        changed.iter().for_each(|watch| book.plan_look(watch, now_ms));
    }
}

async fn send_one(app: &App, id: &str, mut delivery: Delivery) -> Result<(), Problem> {
    let sent = send(app, &delivery).await;
    let now_ms = app.clock.now_ms();
    delivery.tries += 1;
    let fault = sent.err().map(|problem| problem.to_string());
    app.ways.note(Channel::Mail, now_ms, fault.clone());
    match &fault {
        None => (delivery.sent_ms, delivery.due_ms) = (Some(now_ms), None),
        Some(fault) => {
            tracing::warn!(fault, "a report was not sent; it is tried again");
            let wait_ms = FIRST_WAIT_MS << (delivery.tries - 1).min(9);
            delivery.due_ms = Some(now_ms + wait_ms.min(WAIT_MAX_MS));
        }
    }
    delivery.fault = fault;
    app.settings.put(id, &delivery).await?;
    app.tell(None);
    Ok(())
}

async fn send(app: &App, delivery: &Delivery) -> Result<(), Problem> {
    let lang = language(app, &delivery.to);
    let export::Packed { bytes, counted } = export::packed(app, &delivery.watch, &nobody()).await?;
    let mut report = delivery.report(app).await?;
    if let (Some(report), Some(id)) = (&mut report, &delivery.report)
        && report.issued.is_none()
    {
        report.issued = Some(Issued { at_ms: app.clock.now_ms(), counted });
        app.settings.put(id, report).await?;
    }
    let report = report.as_ref();
    let pdf = print(app, &bytes, Print { lang, report }).await?;
    let what = Digest::of(&pdf);
    let mailed = mail_report(app, delivery, report, lang, pdf).await;
    let entry = Delivered {
        what,
        number: delivery.number,
        channel: Channel::Mail,
        to: Digest::of(bare(&delivery.to).as_bytes()),
        ok: mailed.is_ok(),
        report: report.and_then(Report::reported),
    };
    app.scribe.write(app, &delivery.watch, &nobody(), vec![entry.into()]).await?;
    mailed
}

/// The address without the language that may stand behind it.
fn bare(to: &str) -> &str {
    to.split_whitespace().next().unwrap_or(to)
}

/// The reader's language if it was named with the address, else the house's.
fn language(app: &App, to: &str) -> Lang {
    match Address::read(to) {
        Some(Address::Mail { lang: Some(lang), .. }) => lang,
        _ => app.house().lang,
    }
}

async fn mail_report(
    app: &App,
    delivery: &Delivery,
    report: Option<&Report>,
    lang: Lang,
    pdf: Vec<u8>,
) -> Result<(), Problem> {
    let (name, tz) = app.book().watch(&delivery.watch).map_or_else(Default::default, |live| {
        (live.documents.name().to_owned(), live.standing.tz.clone())
    });
    let tz = TimeZone::get(&tz).unwrap_or(TimeZone::UTC);
    let what = match report {
        Some(report) => report.says(lang, &tz),
        None => words::delivery::report(lang).to_owned(),
    };
    let mail = mail::Mail {
        key: None,
        to: bare(&delivery.to).to_owned(),
        subject: words::delivery::mail_subject(lang, &name, &what),
        text: words::delivery::mail_text(lang, app.house().name.clone(), &name, &what),
        pdf: Some((format!("{}.pdf", delivery.watch), pdf)),
    };
    mail::send(app, mail).await
}
