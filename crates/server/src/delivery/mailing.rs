//! Sends what is due: prints, mails, and writes down whether it was taken.

use super::{Delivery, print};
use crate::export;
use crate::problem::Problem;
use crate::scribe::nobody;
use crate::server::App;
use ledger::Digest;
use lettre::message::header::ContentType;
use lettre::message::{Attachment, Mailbox, MultiPart, SinglePart};
use lettre::{AsyncSmtpTransport, AsyncTransport, Message, Tokio1Executor};
use record::{Channel, Delivered};
use std::time::Duration;
use words::{Lang, desk};

const LOOK_EVERY: Duration = Duration::from_secs(1);
/// Waits between tries, ms: a minute, then longer each time, at most six hours (our own default).
const FIRST_WAIT_MS: i64 = 60_000;
const WAIT_MAX_MS: i64 = 6 * 3_600_000;
/// A mail server that says nothing for so long is not there.
const SMTP_TIMEOUT: Duration = Duration::from_secs(30);

/// Runs until the server stops.
pub(crate) async fn run(app: App) {
    let mut every = tokio::time::interval(LOOK_EVERY);
    every.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        every.tick().await;
        if let Err(problem) = send_due(&app).await {
            tracing::error!(%problem, "deliveries could not be looked at");
        }
    }
}

async fn send_due(app: &App) -> Result<(), Problem> {
    if app.options.smtp.is_none() {
        return Ok(());
    }
    let now_ms = app.clock.now_ms();
    for (id, mut delivery) in app.settings.all::<Delivery>().await? {
        if delivery.due_ms.is_none_or(|due_ms| due_ms > now_ms) {
            continue;
        }
        let sent = send(app, &delivery).await;
        delivery.tries += 1;
        match sent {
            Ok(()) => {
                (delivery.sent_ms, delivery.due_ms) = (Some(app.clock.now_ms()), None);
                delivery.fault = None;
            }
            Err(problem) => {
                tracing::warn!(%problem, "a report was not sent; it is tried again");
                let wait_ms = FIRST_WAIT_MS << (delivery.tries - 1).min(9);
                delivery.due_ms = Some(app.clock.now_ms() + wait_ms.min(WAIT_MAX_MS));
                delivery.fault = Some(problem.to_string());
            }
        }
        app.settings.put(&id, &delivery).await?;
        app.tell(None);
    }
    Ok(())
}

async fn send(app: &App, delivery: &Delivery) -> Result<(), Problem> {
    let bundle = export::bundle_of(app, &delivery.watch, &nobody()).await?;
    let pdf = print(app, &bundle).await?;
    let what = Digest::of(&pdf);
    let mailed = mail(app, delivery, pdf).await;
    let entry = Delivered {
        what,
        number: delivery.number,
        channel: Channel::Mail,
        to: Digest::of(delivery.to.as_bytes()),
        ok: mailed.is_ok(),
    };
    app.scribe.write(app, &delivery.watch, &nobody(), vec![entry.into()]).await?;
    mailed
}

async fn mail(app: &App, delivery: &Delivery, pdf: Vec<u8>) -> Result<(), Problem> {
    let failed = |error: &dyn std::fmt::Display| Problem::Machine(format!("mail: {error}"));
    let url = app.options.smtp.as_deref().unwrap_or_default();
    let transport = AsyncSmtpTransport::<Tokio1Executor>::from_url(url)
        .map_err(|e| failed(&e))?
        .timeout(Some(SMTP_TIMEOUT))
        .build();
    let name = app
        .book()
        .watch(&delivery.watch)
        .map_or(String::new(), |live| live.documents.name().to_owned());
    // The house's own language; what a single reader prefers is not known here.
    let lang = Lang::default();
    let from: Mailbox = app.options.mail_from.parse().map_err(|e| failed(&e))?;
    let to: Mailbox = delivery.to.parse().map_err(|e| failed(&e))?;
    let text = desk::mail_text(lang, app.house().name.clone(), delivery.number, &name);
    let pdf_kind = ContentType::parse("application/pdf").map_err(|e| failed(&e))?;
    let parts = MultiPart::mixed()
        .singlepart(SinglePart::plain(text))
        .singlepart(Attachment::new(format!("{}.pdf", delivery.watch)).body(pdf, pdf_kind));
    let message = Message::builder()
        .from(from)
        .to(to)
        .subject(desk::mail_subject(lang, delivery.number, &name))
        .multipart(parts)
        .map_err(|e| failed(&e))?;
    transport.send(message).await.map(|_| ()).map_err(|e| failed(&e))
}
