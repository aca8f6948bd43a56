//! One file for each family of effects.

mod base;
pub(crate) mod camera;
mod card;
mod device;
mod file;
mod key;
mod network;
pub(crate) mod photo;
mod position;
mod remind;
pub(crate) mod scan;
pub(crate) mod signature;
pub(crate) mod stamps;
mod storage;
mod tag;

use crate::engine::{document, happen, on, window};
use phone::{Effect, What};
use wasm_bindgen::prelude::*;

/// So often the screen is drawn anew while it is lit, ms.
const TICK_MS: i32 = 1_000;

/// So often the browser is asked how much storage is left, ms.
const STORAGE_MS: i32 = 5 * 60_000;

/// Takes the pen, reads what is kept, begins to tick.
pub(crate) fn start() {
    on(&window(), "online", || happen(What::Woke));
    on(&window(), "pageshow", || {
        stamps::read();
        happen(What::Woke);
    });
    on(&document(), "visibilitychange", || {
        if document().visibility_state() == web_sys::VisibilityState::Visible {
            stamps::read();
            happen(What::Woke);
        }
    });
    let tick = Closure::<dyn FnMut()>::new(|| happen(What::Tick));
    let storage_tick = Closure::<dyn FnMut()>::new(device::look_at_storage);
    let look = storage_tick.as_ref().unchecked_ref();
    let _ = window().set_interval_with_callback_and_timeout_and_arguments_0(look, STORAGE_MS);
    storage_tick.forget();
    let every = tick.as_ref().unchecked_ref();
    let _ = window().set_interval_with_callback_and_timeout_and_arguments_0(every, TICK_MS);
    tick.forget();
    device::start();
    tag::start();
    storage::start();
}

/// Carries out one effect; its answer comes as an event.
pub(crate) fn carry_out(effect: Effect) {
    match effect {
        Effect::MakeKey => key::make(),
        Effect::Sign { ticket, bytes } => key::sign(ticket, bytes),
        Effect::Save { ticket, guard, puts } => storage::save(ticket, guard, puts),
        Effect::Load => storage::load(),
        Effect::Send { ticket, method, path, body, note } => {
            network::send(ticket, method, path, body, note);
        }
        Effect::MirrorCard(card) => card::mirror(&card),
        Effect::OpenCard => card::open(),
        Effect::ForgetStamps { upto } => stamps::forget(upto),
        Effect::Remind(how) => remind::remind(how),
        Effect::WatchPosition => position::watch(),
        Effect::ReadTag => tag::read(),
        Effect::PersistStorage => device::persist(),
        Effect::TakeUpdate => device::take_update(),
        Effect::CutPieces { key, lines } => camera::cut(key, lines),
        Effect::OpenParcel { packed } => camera::open(packed),
        Effect::ReadSheet { blob, of, lang } => camera::read_sheet(blob, of, lang),
        Effect::OfferFile { name, content } => file::offer(&name, &content),
        Effect::OfferPicture { blob, mime, name } => file::offer_picture(blob, mime, name),
    }
}
