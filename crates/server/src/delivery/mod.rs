//! What goes to whom and when: reports by mail, kept until they were taken.

pub(crate) mod mail;
mod mailing;
mod page;
mod printing;
pub(crate) mod push;
pub(crate) mod subscribe;
pub(crate) mod ways;
pub(crate) mod webhook;

pub(crate) use mailing::run;
pub(crate) use page::{again, list, settings};
pub(crate) use printing::print;

use crate::problem::Problem;
use crate::secret;
use crate::server::App;
use crate::settings::{DELIVERIES, Kept};
use ledger::WatchId;
use serde::{Deserialize, Serialize};

/// A report on its way.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Delivery {
    pub(crate) watch: WatchId,
    /// The address.
    pub(crate) to: String,
    /// The report's number; amendments count on.
    pub(crate) number: u32,
    /// When it is tried next, ms UTC; none once it went out.
    pub(crate) due_ms: Option<i64>,
    /// When it was owed first, ms UTC.
    #[serde(default)]
    pub(crate) planned_ms: Option<i64>,
    pub(crate) tries: u32,
    /// When it went out, ms UTC.
    pub(crate) sent_ms: Option<i64>,
    /// What went wrong last.
    pub(crate) fault: Option<String>,
}

impl Kept for Delivery {
    const COLLECTION: &'static str = DELIVERIES;
}

/// Photos and the signature follow their lines; a report that does not wait for them would call them
/// missing (our own figure).
const BLOBS_FOLLOW_MS: i64 = 20_000;

/// Plans the night report of a watch for everybody who gets it.
pub(crate) async fn plan(app: &App, watch: &WatchId) -> Result<(), Problem> {
    plan_at(app, watch, app.clock.now_ms()).await
}

/// The same at the end of a shift.
pub(crate) async fn plan_shift_end(app: &App, watch: &WatchId) -> Result<(), Problem> {
    plan_at(app, watch, app.clock.now_ms() + BLOBS_FOLLOW_MS).await
}

async fn plan_at(app: &App, watch: &WatchId, due_ms: i64) -> Result<(), Problem> {
    let earlier = app.settings.all::<Delivery>().await?;
    let last = earlier.iter().filter(|(_, d)| d.watch == *watch).map(|(_, d)| d.number).max();
    for to in &app.house().report_to {
        let delivery = Delivery {
            watch: watch.clone(),
            to: to.clone(),
            number: last.unwrap_or(0) + 1,
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
