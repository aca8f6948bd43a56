//! One level of the plan, as a picture of its own: its style stays inside it.

use leptos::prelude::*;
use phone::Stroke;
use phone::view::PlanView;
use picture::plan::{StopIs, Way, WayStop};
use picture::{Over, plan_svg};

pub(crate) fn plan(view: PlanView) -> AnyView {
    let PlanView { plan, level, walks, ahead, stops, near, says } = view;
    let stops = stops.into_iter().map(|stop| WayStop {
        at: stop.at,
        number: stop.number,
        is: match stop.stroke {
            Stroke::Seen => StopIs::Seen,
            Stroke::Refused => StopIs::Refused,
            Stroke::Here => StopIs::Next,
            Stroke::ToCome => StopIs::ToCome,
        },
    });
    let way = Some(Way { walks, ahead, near, stops: stops.collect() });
    let Some(svg) = plan_svg(&plan, &level, &Over { way, ..Over::default() }) else {
        return view! { <p class="words">{says}</p> }.into_any();
    };
    let svg: String = js_sys::encode_uri_component(&svg).into();
    let source = format!("data:image/svg+xml;charset=utf-8,{svg}");
    view! { <img class="level" id="level" src=source alt=says/> }.into_any()
}
