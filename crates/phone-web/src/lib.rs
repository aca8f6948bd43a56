//! Shows the phone's screens in a browser and carries out its effects. Decides nothing: events go into
//! [`phone::update`], what [`phone::view`] says is drawn block by block.
//!
//! Start with `engine` (the one loop), then one file per family of effects under `effects` and one
//! per kind of block under `blocks`. `static/start.js` loads this program; `static/card.js` and
//! `static/sw.js` work without it.
#![cfg(target_arch = "wasm32")]

mod blocks;
mod effects;
mod engine;
mod frame;
mod keyed;
mod site_clock;

use wasm_bindgen::prelude::*;

/// Starts the phone in this page.
#[wasm_bindgen(start)]
pub fn start() {
    engine::start();
}

/// Hands in something that `start.js` noticed.
#[wasm_bindgen]
pub fn noticed(what: &str) {
    match what {
        "stamped" => effects::stamps::read(),
        "update" => engine::happen(phone::What::UpdateWaits),
        _ => engine::happen(phone::What::Woke),
    }
}

/// Hands in the token of a link.
#[wasm_bindgen]
pub fn enrol(token: &str) {
    engine::happen(phone::What::Did(phone::Tap::Enrol(token.to_owned())));
}
