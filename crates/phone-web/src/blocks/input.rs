//! A field to type into: every letter goes to the draft, which is kept.

use crate::engine::happen;
use leptos::prelude::*;
use phone::{Field, Tap, What};

pub(crate) fn input(field: Field, label: String, value: String, lines: bool) -> AnyView {
    let id = format!("field-{field:?}").to_ascii_lowercase();
    let label_for = id.clone();
    let typed = move |event| {
        happen(What::Did(Tap::Typed(field, event_target_value(&event))));
    };
    let control = if lines {
        view! { <textarea id=id rows="3" prop:value=value on:input=typed></textarea> }.into_any()
    } else {
        let mode = match field {
            Field::Reach => "tel",
            Field::Pin | Field::Sheets | Field::Began => "numeric",
            _ => "text",
        };
        let kind = if field == Field::Pin { "password" } else { "text" };
        view! {
            <input id=id type=kind inputmode=mode autocomplete="off" autocapitalize="off"
                spellcheck="false" prop:value=value on:input=typed/>
        }
        .into_any()
    };
    view! { <div class="field"><label for=label_for>{label}</label>{control}</div> }.into_any()
}
