//! The position, asked for at stops only while the screen is lit; there is no track.

use crate::engine::{happen, window};
use phone::{Fix, What};
use wasm_bindgen::prelude::*;

/// So often a fix is renewed, ms.
const EVERY_MS: i32 = 60_000;

/// Asks now and then every minute.
pub(crate) fn watch() {
    ask();
    let again = Closure::<dyn FnMut()>::new(ask);
    let again_ref = again.as_ref().unchecked_ref();
    let _ = window().set_interval_with_callback_and_timeout_and_arguments_0(again_ref, EVERY_MS);
    again.forget();
}

fn ask() {
    let Ok(positions) = window().navigator().geolocation() else {
        return happen(What::NoPosition);
    };
    let found = Closure::once_into_js(|position: web_sys::Position| {
        let place = position.coords();
        let age_ms = (js_sys::Date::now() - position.timestamp()).max(0.0);
        happen(What::Position(Fix {
            lat_e7: (place.latitude() * 1e7).round() as i64,
            lon_e7: (place.longitude() * 1e7).round() as i64,
            accuracy_m: place.accuracy().round() as u32,
            age_ms: age_ms as u64,
        }));
    });
    let refused = Closure::once_into_js(|_: JsValue| happen(What::NoPosition));
    let wanted = web_sys::PositionOptions::new();
    wanted.set_timeout(20_000);
    wanted.set_maximum_age(30_000);
    let asked = positions.get_current_position_with_error_callback_and_options(
        found.unchecked_ref(),
        Some(refused.unchecked_ref()),
        &wanted,
    );
    if asked.is_err() {
        happen(What::NoPosition);
    }
}
