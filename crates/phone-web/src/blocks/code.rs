//! A code for another phone: black on white whatever the theme, as large as the screen allows.

use crate::effects::camera;
use leptos::prelude::*;
use wasm_bindgen_futures::spawn_local;

pub(crate) fn code(text: String, says: String) -> AnyView {
    let drawn = RwSignal::new(String::new());
    spawn_local(async move {
        if let Some(svg) = camera::drawn(&text).await {
            // The screen may have gone on meanwhile.
            drawn.try_set(svg);
        }
    });
    view! {
        <div class="code" id="code" role="img" aria-label=says inner_html=move || drawn.get()></div>
    }
    .into_any()
}
