//! `GET /api/delivery`: what went to whom and when.

use super::rfc3339;
use crate::delivery::Delivery;
use crate::problem::Problem;
use crate::server::App;
use axum::Json;
use axum::extract::State;
use serde::Serialize;
use utoipa::ToSchema;

/// A report on its way.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DeliveryRow {
    id: String,
    watch: String,
    /// The address.
    to: String,
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
    let row = |(id, delivery): (String, Delivery)| DeliveryRow {
        id,
        watch: delivery.watch.to_string(),
        to: delivery.to,
        number: delivery.number,
        sent: delivery.sent_ms.map(rfc3339),
        due: delivery.due_ms.map(rfc3339),
        tries: delivery.tries,
        fault: delivery.fault,
    };
    Ok(Json(all.into_iter().map(row).collect()))
}
