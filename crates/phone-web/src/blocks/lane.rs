//! The burning lane and the tally.

use leptos::prelude::*;
use phone::Stroke;
use phone::view::Lane;

pub(crate) fn lane(lane: &Lane) -> AnyView {
    let says = format!("{} {}", lane.big, lane.small);
    let svg = picture::ring(lane.allowed_s, lane.left_s, &says);
    let class = if lane.over { "lane over" } else { "lane" };
    let (big, small) = (lane.big.clone(), lane.small.clone());
    view! {
        <div class=class id="lane">
            <div class="picture" inner_html=svg></div>
            <p class="inside" aria-hidden="true"><b>{big}</b><span>{small}</span></p>
        </div>
    }
    .into_any()
}

pub(crate) fn tally(strokes: &[Stroke], says: String) -> AnyView {
    let strokes = strokes.iter().map(|stroke| {
        let class = match stroke {
            Stroke::Seen => "stroke seen",
            Stroke::Refused => "stroke refused",
            Stroke::Here => "stroke here",
            Stroke::ToCome => "stroke",
        };
        view! { <i class=class></i> }
    });
    view! {
        <div class="tally" id="tally">
            <span class="strokes" aria-hidden="true">{strokes.collect_view()}</span>
            <span class="says">{says}</span>
        </div>
    }
    .into_any()
}
