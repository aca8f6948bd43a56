//! The browser's side: shows the model, hands events in, keeps the drawing, asks the worker. Decides nothing.
//!
//! `desk` is the one loop; `board` the drawing, `bar` the tools, `side` what stands beside; `bridge` the few functions
//! that `static/draw.js` lends.

mod answer;
mod bar;
mod board;
mod bridge;
mod chosen;
mod desk;
mod field;
mod levels;
mod list;
mod said;
mod zones;

use desk::Desk;
use leptos::mount::mount_to;
use leptos::prelude::*;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;

/// Begins in the page's element with the id `draw`.
#[wasm_bindgen]
pub fn begin() {
    let root = desk::element("draw");
    let desk = Desk::begin(&root);
    root.set_text_content(None);
    let place = root.unchecked_into::<web_sys::HtmlElement>();
    mount_to(place, move || view! { <Whole desk/> }).forget();
    desk.start();
}

/// Takes an answer of the worker.
#[wasm_bindgen]
pub fn thought(ticket: f64, text: &str) {
    desk::with(|desk| desk.thought(ticket as u64, text));
}

/// Thinks, in the worker: plan and measures as JSON, the pass, the answer as JSON.
#[wasm_bindgen]
pub fn think(plan: &[u8], measures: &str, pass: usize) -> String {
    let plan = floorplan::Plan::read(plan);
    let measures = serde_json::from_str(measures);
    match (plan, measures) {
        (Ok(plan), Ok(measures)) => {
            let thought = crate::think(&plan, &measures, pass);
            serde_json::to_string(&thought).unwrap_or_default()
        }
        _ => String::new(),
    }
}

/// How many passes there are.
#[wasm_bindgen]
pub fn passes() -> usize {
    crate::thinking::PASSES.len()
}

/// Takes a file that was dropped on the page.
#[wasm_bindgen]
pub fn dropped(file: JsValue) {
    desk::with(|desk| desk.picture(file));
}

#[component]
fn Whole(desk: Desk) -> impl IntoView {
    view! {
        <bar::Offer desk/>
        <bar::Bar desk/>
        <div class="table">
            <board::Board desk/>
            <div class="side">
                <answer::Answer desk/>
                <chosen::Chosen desk/>
                <zones::Zones desk/>
                <levels::Levels desk/>
                <list::List desk/>
            </div>
        </div>
    }
}
