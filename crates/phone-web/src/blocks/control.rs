//! Something to touch.

use crate::engine::happen;
use leptos::prelude::*;
use phone::What;
use phone::view::{Control, Weight};

pub(crate) fn control(control: Control) -> AnyView {
    let Control { id, words, second, tap, weight, chosen } = control;
    let class = match weight {
        Weight::Main => "main",
        Weight::Plain => "plain",
        Weight::Quiet => "quiet",
    };
    let pressed = chosen.map(|chosen| if chosen { "true" } else { "false" });
    let second = second.map(|second| view! { <small>{second}</small> });
    let touched = move |_| happen(What::Did(tap.clone()));
    view! {
        <button type="button" id=id class=class aria-pressed=pressed on:click=touched>
            <span>{words}</span>{second}
        </button>
    }
    .into_any()
}
