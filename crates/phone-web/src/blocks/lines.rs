//! Lines of the record, newest first.

use leptos::prelude::*;
use phone::view::LineView;

pub(crate) fn lines(list: Vec<LineView>) -> AnyView {
    let rows = list.into_iter().map(|line| {
        let words = line.words.map(|words| view! { <small>{words}</small> });
        view! {
            <li>
                <time>{line.time}</time>
                <span class="what">{line.what}{words}</span>
                <span class="state">{line.state}</span>
            </li>
        }
    });
    view! { <ul class="lines" id="lines">{rows.collect_view()}</ul> }.into_any()
}
