//! A field to sign in with the finger. Drawn again, it replaces what was drawn.

use crate::effects::signature::{self as effect, Stroke};
use leptos::html::Canvas;
use leptos::prelude::*;
use web_sys::PointerEvent;

pub(crate) fn signature(words: String) -> AnyView {
    let canvas = NodeRef::<Canvas>::new();
    let drawing = StoredValue::new(false);
    let at = move |event: &PointerEvent, stroke: Stroke| {
        event.prevent_default();
        if let Some(canvas) = canvas.get_untracked() {
            effect::draw(&canvas, event, stroke);
        }
    };
    let down = move |event: PointerEvent| {
        drawing.set_value(true);
        at(&event, Stroke::Begins);
    };
    let moved = move |event: PointerEvent| {
        if drawing.get_value() {
            at(&event, Stroke::GoesOn);
        }
    };
    let up = move |event: PointerEvent| {
        if drawing.get_value() {
            drawing.set_value(false);
            at(&event, Stroke::GoesOn);
            if let Some(canvas) = canvas.get_untracked() {
                effect::keep(&canvas);
            }
        }
    };
    view! {
        <p class="legend">{words.clone()}</p>
        <canvas id="signature" node_ref=canvas width="656" height="240" role="img" aria-label=words
            on:pointerdown=down on:pointermove=moved on:pointerup=up on:pointerleave=up></canvas>
    }
    .into_any()
}
