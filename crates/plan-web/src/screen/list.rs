//! The drawing in words: every part of the level as a line that can be chosen.

use super::desk::Desk;
use crate::listing::{Heading, Line, listed};
use crate::{Event, Part};
use leptos::prelude::*;
use words::drawing as said;

#[component]
pub(super) fn List(desk: Desk) -> impl IntoView {
    let lang = desk.lang;
    let headings = Memo::new(move |_| {
        desk.version.track();
        desk.model.with_untracked(|m| listed(&m.drawing, &m.level, lang))
    });
    let titles = Memo::new(move |_| {
        headings.with(|all| all.iter().map(|heading| heading.words).collect::<Vec<_>>())
    });
    let drawn = move || {
        let titles = titles.get();
        match titles.is_empty() {
            true => view! { <p class="soft">{said::list_empty(lang)}</p> }.into_any(),
            false => titles
                .into_iter()
                .map(|title| under(desk, headings, title))
                .collect_view()
                .into_any(),
        }
    };
    view! {
        <section id="list" aria-labelledby="list-h">
            <h2 id="list-h">{said::list(lang)}</h2>
            <p class="small">{said::list_why(lang)}</p>
            {drawn}
        </section>
    }
}

/// One heading; its lines keep their elements, and with them the focus, while words change.
fn under(desk: Desk, headings: Memo<Vec<Heading>>, title: &'static str) -> AnyView {
    let lines = move || -> Vec<Line> {
        headings.with(|all| {
            let own = all.iter().find(|heading| heading.words == title);
            own.map(|heading| heading.lines.clone()).unwrap_or_default()
        })
    };
    view! {
        <h3>{title}</h3>
        <ul class="parts">
            <For each=lines key=|line| line.part.clone() children=move |line| row(desk, headings, line)/>
        </ul>
    }
    .into_any()
}

fn row(desk: Desk, headings: Memo<Vec<Heading>>, line: Line) -> AnyView {
    let (shown, own) = (line.part.clone(), line.part.clone());
    let words = move || {
        headings.with(|all| {
            let mut lines = all.iter().flat_map(|heading| &heading.lines);
            lines.find(|line| line.part == shown).map(|line| line.words.clone()).unwrap_or_default()
        })
    };
    let here = Memo::new(move |_| {
        desk.model.with(|m| match (&m.chosen, &own) {
            (Some(Part::Corner(room, _)), Part::Room(id)) => room == id,
            (chosen, own) => chosen.as_ref() == Some(own),
        })
    });
    let press = move |_| {
        desk.happen(Event::Choose(Some(line.part.clone())));
        // The fields are beside the list; a hand on the keyboard goes on there.
        if let Some(field) = super::desk::document().get_element_by_id("part-name") {
            use wasm_bindgen::JsCast;
            let field: web_sys::HtmlElement = field.unchecked_into();
            let _ = field.focus();
        }
    };
    view! {
        <li><button type="button" aria-pressed=move || here.get().to_string() on:click=press>{words}</button></li>
    }
    .into_any()
}
