//! A camera that reads codes, started by a touch and stopped when it is no longer on the screen.

use crate::effects::scan;
use leptos::prelude::*;

pub(crate) fn scanner(says: String, goes_on: bool) -> AnyView {
    let open = RwSignal::new(false);
    on_cleanup(scan::stop);
    let begin = move |_| {
        open.set(true);
        scan::start(goes_on);
    };
    view! {
        <button type="button" id="scan-start" class="plain" on:click=begin><span>{says}</span></button>
        <video id="scanner" class="scanner" class:open=move || open.get() playsinline muted></video>
    }
    .into_any()
}
