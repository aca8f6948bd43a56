//! The announcement by mail, to the addresses of whoever answers for the dispatchers. The desk shows it
//! from the first moment.

use super::{Act, What};
use crate::alerts::Address;
use crate::alerts::ladder::Whom;
use crate::delivery::mail::{self, Mail};
use crate::page::time;
use crate::problem::Problem;
use crate::server::App;
use jiff::tz::TimeZone;
use std::time::Duration;
use words::{Lang, second};

/// How often it is looked whether something was asked.
const LOOK_EVERY: Duration = Duration::from_secs(2);
/// A mail server that did not take it is asked again after so long, ms (our own default).
const AGAIN_MS: i64 = 60_000;

/// Announces for as long as the server runs.
pub(crate) async fn run(app: App) {
    let mut not_before_ms = i64::MIN;
    loop {
        tokio::time::sleep(LOOK_EVERY).await;
        let quiet: Vec<(String, Act)> = {
            let book = app.book();
            let quiet = book.acts.iter().filter(|(_, act)| act.announced_ms.is_none());
            quiet.map(|(id, act)| (id.clone(), act.clone())).collect()
        };
        if app.clock.mono_ms() < not_before_ms {
            continue;
        }
        for (id, act) in quiet {
            if let Err(problem) = announce(&app, &id, &act).await {
                tracing::warn!(%problem, "what waits for a second person could not be announced");
                not_before_ms = app.clock.mono_ms() + AGAIN_MS;
            }
        }
    }
}

/// Writes to everybody; the wait begins once each mail was taken. Without a mail server or an address
/// the desk alone announces it, and its page says so.
async fn announce(app: &App, id: &str, act: &Act) -> Result<(), Problem> {
    let to = match app.options.smtp {
        Some(_) => receivers(app),
        None => Vec::new(),
    };
    for (address, lang) in &to {
        let lang = lang.unwrap_or(app.house().lang);
        let text = [
            says(app, lang, act),
            act.why.clone(),
            second::mail_next(lang, format!("{}/second", app.public())),
        ];
        let mail = Mail {
            key: Some(format!(
                "{id}-{}",
                &ledger::Digest::of(address.as_bytes()).to_string()[..16]
            )),
            to: address.clone(),
            subject: second::mail_subject(lang, &app.house().name),
            text: text.join("\n"),
            pdf: None,
        };
        mail::send(app, mail).await?;
    }
    let Some(kept) = app.settings.get::<Act>(id).await? else { return Ok(()) };
    let announced_ms = Some(app.clock.now_ms());
    let kept = Act { announced_ms, mails: to.len() as u32, ..kept };
    app.settings.put(id, &kept).await?;
    if let Some(act) = app.book_mut().acts.get_mut(id) {
        *act = kept;
    }
    app.tell(None);
    Ok(())
}

fn receivers(app: &App) -> Vec<(String, Option<Lang>)> {
    let book = app.book();
    let steps = book.ladders.house().steps.iter().filter(|step| step.whom == Whom::Supervisor);
    let typed = steps.flat_map(|step| &step.to).filter_map(|typed| Address::read(typed));
    let mails = typed.filter_map(|address| match address {
        Address::Mail { to, lang } => Some((to, lang)),
        _ => None,
    });
    mails.collect()
}

/// What is to be done, in words: no words of the record itself.
pub(super) fn says(app: &App, lang: Lang, act: &Act) -> String {
    let book = app.book();
    let tz = TimeZone::get(&app.house().tz).unwrap_or(TimeZone::UTC);
    let at = time::when(act.asked_ms, &tz, app.clock.now_ms(), lang);
    let who = match super::is_server(&act.by) {
        true => words::desk::the_server(lang),
        false => book.name(&act.by).unwrap_or_default(),
    };
    match &act.what {
        What::Erase { watch, .. } => {
            let name = book.watch(watch).map_or(watch.as_str(), |live| live.documents.name());
            second::says_erase(lang, at, name, who)
        }
        What::RenewKey => second::says_key(lang, at, who),
        What::Restored if super::is_server(&act.by) => second::says_restored(lang, at),
        What::Restored => second::says_restored_seen(lang, at, who),
    }
}
