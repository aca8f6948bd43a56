//! What goes to whom and when: reports by mail, kept until they were taken.
//!
//! A report is planned at the end of a shift, at the end of each day whose log the terms want delivered,
//! and at release; lines that come in afterwards make an amendment for the same receivers.

mod amending;
pub(crate) mod mail;
mod mailing;
mod page;
mod planning;
mod printing;
pub(crate) mod push;
mod report;
pub(crate) mod subscribe;
pub(crate) mod ways;
pub(crate) mod webhook;

pub(crate) use mailing::run;
pub(crate) use page::{again, list, settings};
pub(crate) use planning::plan_release;
pub(crate) use printing::{Print, print};
pub(crate) use report::Report;

use crate::settings::{DELIVERIES, Kept};
use ledger::WatchId;
use serde::{Deserialize, Serialize};

/// A report on its way to one receiver.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Delivery {
    pub(crate) watch: WatchId,
    /// The address.
    pub(crate) to: String,
    /// The report's number; amendments count on.
    pub(crate) number: u32,
    /// The id of its [`Report`].
    #[serde(default)]
    pub(crate) report: Option<String>,
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
