//! `GET /api/delivery`: what went to whom and when.

use super::rfc3339;
use crate::delivery::{Delivery, Report};
use crate::problem::Problem;
use crate::server::App;
use axum::Json;
use axum::extract::State;
use record::ReviewOf;
use serde::Serialize;
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// A report on its way.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DeliveryRow {
    id: String,
    watch: String,
    /// The address.
    to: String,
    /// What it covers: shift, day or watch.
    of: Option<String>,
    /// From when, RFC 3339.
    from: Option<String>,
    /// Until when, RFC 3339.
    until: Option<String>,
    /// The report's number; amendments count on.
    number: u32,
    /// When it went out, RFC 3339.
    sent: Option<String>,
    /// When it is tried next.
    due: Option<String>,
    tries: u32,
    /// What went wrong last.
    fault: Option<String>,
}

/// Every report, newest first
#[utoipa::path(get, operation_id = "deliveries", path = "/api/delivery", tag = "delivery",
    responses((status = 200, body = Vec<DeliveryRow>), (status = 401, description = "No account and no token")))]
pub(crate) async fn list(State(app): State<App>) -> Result<Json<Vec<DeliveryRow>>, Problem> {
    let mut all = app.settings.all::<Delivery>().await?;
    all.sort_by_key(|(_, delivery)| std::cmp::Reverse(delivery.planned_ms));
    let reports: BTreeMap<String, Report> =
        app.settings.all::<Report>().await?.into_iter().collect();
    let of = |report: &Report| match report.of {
        ReviewOf::Shift => "shift".to_owned(),
        ReviewOf::Day => "day".to_owned(),
        ReviewOf::Watch => "watch".to_owned(),
    };
    let row = |(id, delivery): (String, Delivery)| {
        let report = delivery.report.as_ref().and_then(|id| reports.get(id));
        DeliveryRow {
            id,
            watch: delivery.watch.to_string(),
            of: report.map(of),
            from: report.map(|report| rfc3339(report.from_ms)),
            until: report.map(|report| rfc3339(report.until_ms)),
            to: delivery.to,
            number: delivery.number,
            sent: delivery.sent_ms.map(rfc3339),
            due: delivery.due_ms.map(rfc3339),
            tries: delivery.tries,
            fault: delivery.fault,
        }
    };
    Ok(Json(all.into_iter().map(row).collect()))
}
