//! The card: mirrored to where the static page finds it without this program, and opened there.

use crate::engine::{document, window};
use phone::CardRecord;
use wasm_bindgen::JsCast;

/// The name that `static/card.js` reads.
const NAME: &str = "rattlewatch-card";

/// Leaves every word of the card in the browser's plain storage, which opens at once.
pub(crate) fn mirror(card: &CardRecord) {
    let Ok(Some(storage)) = window().local_storage() else { return };
    let json = serde_json::to_string(card).expect("a card holds text");
    // Full or forbidden storage leaves the card's own words, which need none.
    let _ = storage.set_item(NAME, &json);
}

/// As if the fire bar were touched: `static/start.js` shows the card over this page.
pub(crate) fn open() {
    let bar = document().get_element_by_id("fire");
    if let Some(bar) = bar.and_then(|bar| bar.dyn_into::<web_sys::HtmlElement>().ok()) {
        bar.click();
    }
}
