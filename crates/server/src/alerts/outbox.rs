//! What must still be sent: an item for every alert and address, kept until it was taken, always
//! under one key. The record says that the alert was raised; this says how far it has come.

use super::address::{self, Address};
use super::steps;
use crate::problem::Problem;
use crate::server::App;
use crate::settings::Kept;
use crate::standing::Standing;
use ledger::{Digest, LineId, WatchId};
use record::{AlertCause, SiteId};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Nobody is helped by an alert that is older, ms (our own default).
pub(crate) const TOO_OLD_MS: i64 = 6 * 3_600_000;

/// One alert to one address.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Outgoing {
    pub(crate) watch: WatchId,
    /// The line that states it.
    pub(crate) line: LineId,
    /// The alert that it belongs to.
    pub(crate) alert: LineId,
    pub(crate) cause: AlertCause,
    pub(crate) zone: Option<record::ZoneId>,
    pub(crate) due_ms: i64,
    pub(crate) step: u16,
    /// It takes the alert back.
    pub(crate) withdrawn: bool,
    pub(crate) to: Address,
    pub(crate) made_ms: i64,
    /// When it is tried next, ms UTC; none once it was taken or given up.
    pub(crate) next_ms: Option<i64>,
    pub(crate) tries: u32,
    pub(crate) sent_ms: Option<i64>,
    pub(crate) fault: Option<String>,
}

impl Kept for Outgoing {
    const COLLECTION: &'static str = "outgoing";
}

/// The key under which whoever receives an alert recognises it when it comes twice.
pub(crate) fn key(line: LineId, to: &Address) -> String {
    let digest = Digest::of(format!("{line} {}", to.text()).as_bytes()).to_string();
    format!("a-{}", &digest[..32])
}

/// How many statements of a watch may belong into the outbox.
pub(crate) fn stated(standing: &Standing) -> usize {
    let told = |alert: &&crate::standing::Raised| alert.withdrawn || steps::is_warning(alert.cause);
    standing.climbed.len() + standing.alerts.iter().filter(told).count()
}

/// Makes an item for everything that the record of a watch states and that has none yet. Called after
/// every alert and at every start, so that nothing between the line and the item is lost.
pub(crate) async fn fill(app: &App, watch: &WatchId) -> Result<(), Problem> {
    let (standing, site, ladder) = {
        let book = app.book();
        let Some(live) = book.watch(watch) else { return Ok(()) };
        (live.standing.clone(), live.standing.site.clone(), book.ladders.of(watch).clone())
    };
    let now_ms = app.clock.now_ms();
    let mut wanted: Vec<Outgoing> = Vec::new();
    for (number, step) in (1u16..).zip(&ladder.steps) {
        let climbed = standing.climbed.iter().filter(|climbed| climbed.step == number);
        let fresh: Vec<_> = climbed.filter(|c| now_ms - c.at_ms < TOO_OLD_MS).collect();
        if fresh.is_empty() {
            continue;
        }
        let addresses = address::of_step(app, &standing, site.as_ref(), step).await?;
        for climbed in fresh {
            let alert = standing.alerts.iter().find(|alert| alert.line == climbed.of);
            let Some(alert) = alert else { continue };
            let by_channel = addresses.iter().filter(|a| a.channel() == climbed.channel);
            wanted
                .extend(by_channel.map(|to| item(watch, climbed.line, alert, number, to, now_ms)));
        }
    }
    wanted.extend(warnings(app, watch, &standing, site.as_ref(), now_ms).await?);
    wanted.extend(withdrawals(app, &standing, now_ms).await?);
    let mut new = false;
    for item in wanted {
        match app.settings.add(&key(item.line, &item.to), &item).await {
            Ok(()) => new = true,
            Err(Problem::Changed) => {}
            Err(problem) => return Err(problem),
        }
    }
    if new {
        app.outbox.notify_one();
    }
    Ok(())
}

fn item(
    watch: &WatchId,
    line: LineId,
    alert: &crate::standing::Raised,
    step: u16,
    to: &Address,
    now_ms: i64,
) -> Outgoing {
    Outgoing {
        watch: watch.clone(),
        line,
        alert: alert.line,
        cause: alert.cause,
        zone: alert.zone.clone(),
        due_ms: alert.due_ms,
        step,
        withdrawn: false,
        to: to.clone(),
        made_ms: now_ms,
        next_ms: Some(now_ms),
        tries: 0,
        sent_ms: None,
        fault: None,
    }
}

/// What the guard's phone alone is told, while it still helps.
async fn warnings(
    app: &App,
    watch: &WatchId,
    standing: &Standing,
    site: Option<&SiteId>,
    now_ms: i64,
) -> Result<Vec<Outgoing>, Problem> {
    let warned = standing.alerts.iter().filter(|a| steps::is_warning(a.cause) && a.due_ms > now_ms);
    let warned: Vec<_> = warned.collect();
    if warned.is_empty() {
        return Ok(Vec::new());
    }
    let ladder = app.book().ladders.of(watch).clone();
    let phone = ladder.steps.iter().find(|step| step.whom == super::ladder::Whom::Phone);
    let Some(phone) = phone else { return Ok(Vec::new()) };
    let addresses: BTreeSet<Address> = address::of_step(app, standing, site, phone).await?;
    let phones = addresses.iter().filter(|to| matches!(to, Address::Push { phone: true, .. }));
    Ok(phones
        .flat_map(|to| warned.iter().map(|alert| item(watch, alert.line, alert, 0, to, now_ms)))
        .collect())
}

/// Whoever was told of an alert is told that it proved needless.
async fn withdrawals(
    app: &App,
    standing: &Standing,
    now_ms: i64,
) -> Result<Vec<Outgoing>, Problem> {
    let taken_back: BTreeSet<LineId> = standing
        .alerts
        .iter()
        .filter(|alert| alert.withdrawn && now_ms - alert.at_ms < TOO_OLD_MS)
        .map(|alert| alert.line)
        .collect();
    if taken_back.is_empty() {
        return Ok(Vec::new());
    }
    let sent = app.settings.all::<Outgoing>().await?;
    let told = sent.into_iter().filter(|(_, item)| {
        taken_back.contains(&item.alert) && !item.withdrawn && item.sent_ms.is_some()
    });
    Ok(told
        .filter_map(|(_, item)| {
            let back = standing.alerts.iter().find(|alert| alert.line == item.alert)?.back?;
            let next_ms = Some(now_ms);
            let (tries, sent_ms, fault) = (0, None, None);
            Some(Outgoing {
                line: back,
                withdrawn: true,
                made_ms: now_ms,
                next_ms,
                tries,
                sent_ms,
                fault,
                ..item
            })
        })
        .collect())
}
