//! A phone that is lost or no longer wanted is trusted no longer.

use crate::account::Caller;
use crate::problem::Problem;
use crate::server::App;
use axum::extract::{Path, State};
use axum::response::Redirect;
use ledger::{DeviceId, WatchId};
use record::Revoked;

/// `POST /device/{device}/revoke`
pub(crate) async fn revoke(
    State(app): State<App>,
    Path(device): Path<String>,
    caller: Caller,
) -> Result<Redirect, Problem> {
    let device: DeviceId = device.parse().map_err(|_| Problem::NotFound)?;
    let known = app.book().device(device).cloned().ok_or(Problem::NotFound)?;
    if app.scribe.is_ours(device) {
        return Err(Problem::Forbidden);
    }
    let entry = Revoked { device, by: caller.id.clone() };
    app.scribe.write(&app, &WatchId::org(), &caller.id, vec![entry.into()]).await?;
    Ok(match known.person {
        Some(person) => Redirect::to(&format!("/people/{person}")),
        None => Redirect::to("/people"),
    })
}
