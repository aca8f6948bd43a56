//! Fields: a label and a control that hands its value on once it is left.

use leptos::prelude::*;

/// A text.
pub(crate) fn text(
    id: String,
    label: &'static str,
    value: impl Fn() -> String + Send + Sync + 'static,
    change: impl Fn(String) + 'static,
) -> AnyView {
    view! {
        <p class="in">
            <label for=id.clone()>{label}</label>
            <input id=id type="text" maxlength="120" autocomplete="off" prop:value=value
                on:change=move |event| change(event_target_value(&event))/>
        </p>
    }
    .into_any()
}

/// A number, kept as text until it is left.
pub(crate) fn number(
    id: String,
    label: &'static str,
    placeholder: &'static str,
    step: &'static str,
    value: impl Fn() -> String + Send + Sync + 'static,
    change: impl Fn(Option<f64>) + 'static,
) -> AnyView {
    view! {
        <p class="in short">
            <label for=id.clone()>{label}</label>
            <input id=id type="number" step=step placeholder=placeholder autocomplete="off" prop:value=value
                on:change=move |event| change(event_target_value(&event).replace(',', ".").parse().ok())/>
        </p>
    }
    .into_any()
}

/// One of several; values are indices.
pub(crate) fn choice(
    id: String,
    label: &'static str,
    options: impl Fn() -> Vec<String> + Send + Sync + 'static,
    value: impl Fn() -> usize + Copy + Send + Sync + 'static,
    change: impl Fn(usize) + 'static,
) -> AnyView {
    let drawn = move || {
        let chosen = value();
        let options = options().into_iter().enumerate();
        options
            .map(|(i, words)| {
                view! { <option value=i.to_string() selected={i == chosen} prop:selected={i == chosen}>{words}</option> }
            })
            .collect_view()
    };
    view! {
        <p class="in">
            <label for=id.clone()>{label}</label>
            <select id=id on:change=move |event| {
                if let Ok(i) = event_target_value(&event).parse() {
                    change(i);
                }
            }>{drawn}</select>
        </p>
    }
    .into_any()
}

/// Yes or no.
pub(crate) fn check(
    label: String,
    value: impl Fn() -> bool + Send + Sync + 'static,
    change: impl Fn(bool) + 'static,
) -> AnyView {
    view! {
        <label class="check">
            <input type="checkbox" prop:checked=value on:change=move |event| change(event_target_checked(&event))/>
            <span>{label}</span>
        </label>
    }
    .into_any()
}

/// A plain button.
pub(crate) fn button(id: &'static str, words: &'static str, press: impl Fn() + 'static) -> AnyView {
    view! { <button type="button" id=id on:click=move |_| press()>{words}</button> }.into_any()
}
