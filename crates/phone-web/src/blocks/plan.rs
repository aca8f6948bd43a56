//! One level of the plan, as a picture of its own: its style stays inside it.

use leptos::prelude::*;
use phone::floorplan::{LevelId, Plan, Point};
use picture::{Over, plan_svg};

pub(crate) fn plan(plan: &Plan, level: &LevelId, stops: Vec<Point>, says: String) -> AnyView {
    let over = Over { viewpoints: stops, ..Over::default() };
    let Some(svg) = plan_svg(plan, level, &over) else {
        return view! { <p class="words">{says}</p> }.into_any();
    };
    let svg: String = js_sys::encode_uri_component(&svg).into();
    let source = format!("data:image/svg+xml;charset=utf-8,{svg}");
    view! { <img class="level" id="level" src=source alt=says/> }.into_any()
}
