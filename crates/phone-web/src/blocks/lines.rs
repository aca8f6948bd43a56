//! Lines of the record, newest first.

use leptos::prelude::*;
use phone::view::LineView;

pub(crate) fn lines(list: Vec<LineView>) -> AnyView {
    let rows = list.into_iter().map(|line| {
        let words = line.words.map(|words| view! { <small>{words}</small> });
        let what = match line.open {
            Some(control) => super::control::control(control),
            None => view! { <span>{line.what}</span> }.into_any(),
        };
        view! {
            <li>
                <time>{line.time}</time>
                <div class="what">{what}{words}</div>
                <span class="state">{line.state}</span>
            </li>
        }
    });
    view! { <ul class="lines" id="lines">{rows.collect_view()}</ul> }.into_any()
}
