//! A photo: the draft is kept before the camera opens, since the camera may kill the page.

use crate::effects;
use leptos::prelude::*;
use phone::Purpose;
use wasm_bindgen::JsCast;

pub(crate) fn camera(words: String, purpose: Purpose) -> AnyView {
    let taken = move |event: web_sys::Event| {
        let input = event.target().and_then(|t| t.dyn_into::<web_sys::HtmlInputElement>().ok());
        let Some(input) = input else { return };
        if let Some(file) = input.files().and_then(|files| files.get(0)) {
            effects::photo::take(file, purpose);
        }
        // The same photo may be chosen again.
        input.set_value("");
    };
    view! {
        <label class="plain photo" for="photo"><span>{words}</span></label>
        <input id="photo" class="aside" type="file" accept="image/*" capture="environment"
            on:change=taken/>
    }
    .into_any()
}
