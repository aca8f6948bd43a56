//! NFC tags, where the browser reads them: what stands on one is handed in like a scanned code.

use crate::engine::{happen, window};
use js_sys::{Array, Function, Promise, Reflect};
use phone::What;
use std::cell::Cell;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};

thread_local! {
    static READING: Cell<bool> = const { Cell::new(false) };
}

/// Says so if this browser reads tags.
pub(crate) fn start() {
    if maker().is_some() {
        happen(What::ReadsTags);
    }
}

fn maker() -> Option<Function> {
    Reflect::get(&window(), &"NDEFReader".into()).ok()?.dyn_into().ok()
}

/// Begins to read; asked again while it reads, it goes on.
pub(crate) fn read() {
    if READING.replace(true) {
        return;
    }
    spawn_local(async {
        // Refused or switched off: the camera and the typed code are on the same screen.
        if begin().await.is_err() {
            READING.set(false);
        }
    });
}

async fn begin() -> Result<(), JsValue> {
    let reader = Reflect::construct(&maker().ok_or("no reader here")?, &Array::new())?;
    let heard = Closure::<dyn FnMut(JsValue)>::new(|event: JsValue| {
        if let Ok(text) = text_of(&event) {
            happen(What::Scanned(text));
        }
    });
    Reflect::set(&reader, &"onreading".into(), heard.as_ref())?;
    heard.forget();
    let scan: Function = Reflect::get(&reader, &"scan".into())?.dyn_into()?;
    JsFuture::from(scan.call0(&reader)?.dyn_into::<Promise>()?).await?;
    Ok(())
}

/// The first record of the tag, text or address.
fn text_of(event: &JsValue) -> Result<String, JsValue> {
    let message = Reflect::get(event, &"message".into())?;
    let records: Array = Reflect::get(&message, &"records".into())?.dyn_into()?;
    let data = Reflect::get(&records.get(0), &"data".into())?;
    let decoder: Function = Reflect::get(&window(), &"TextDecoder".into())?.dyn_into()?;
    let decoder = Reflect::construct(&decoder, &Array::new())?;
    let decode: Function = Reflect::get(&decoder, &"decode".into())?.dyn_into()?;
    decode.call1(&decoder, &data)?.as_string().ok_or_else(|| "no text on the tag".into())
}
