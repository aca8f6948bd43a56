//! What stands around the blocks: top line, fire bar, the three places, language, theme.

use crate::blocks;
use crate::engine::{document, happen};
use crate::keyed::Keyed;
use leptos::mount::mount_to;
use leptos::prelude::*;
use phone::stored::Theme;
use phone::{Tap, View, What};
use wasm_bindgen::JsCast;

/// Draws into the places that the static page keeps for it.
pub(crate) fn mount(screen: RwSignal<View>, blocks: RwSignal<Vec<Keyed>>) {
    let place = |id: &str| {
        let element = document().get_element_by_id(id).expect("the static page has it");
        element.set_text_content(None);
        element.unchecked_into::<web_sys::HtmlElement>()
    };
    mount_to(place("top"), move || view! { <TopLine screen/> }).forget();
    mount_to(place("app"), move || view! { <Blocks blocks/> }).forget();
    mount_to(place("places"), move || view! { <Places screen/> }).forget();
    screen.with_untracked(|first| dress(None, first));
}

/// Language, theme and fire bar belong to the static page and are set by hand: only what has changed, since
/// the browser lays out anew whatever is written to.
pub(crate) fn dress(before: Option<&View>, now: &View) {
    let document = document();
    let changed = |same: fn(&View, &View) -> bool| before.is_none_or(|before| !same(before, now));
    if let Some(root) = document.document_element()
        && changed(|before, now| (before.lang, before.theme) == (now.lang, now.theme))
    {
        let _ = root.set_attribute("lang", now.lang.tag());
        root.set_class_name(match now.theme {
            Theme::Device => "",
            Theme::Night => "night",
            Theme::Day => "day",
        });
    }
    if let Some(body) = document.body()
        && changed(|before, now| (before.name, before.on_duty) == (now.name, now.on_duty))
    {
        let _ = body.set_attribute("data-screen", now.name);
        let _ = body.set_attribute("data-on-duty", if now.on_duty { "yes" } else { "no" });
    }
    if changed(|before, now| before.fire == now.fire) {
        for (id, words) in [("fire-words", &now.fire.0), ("fire-second", &now.fire.1)] {
            if let Some(element) = document.get_element_by_id(id) {
                element.set_text_content(Some(words));
            }
        }
    }
    if changed(|before, now| before.name == now.name)
        && let Some(screen) = document.get_element_by_id("app")
    {
        screen.set_scroll_top(0);
    }
}

#[component]
fn TopLine(screen: RwSignal<View>) -> impl IntoView {
    let top = Memo::new(move |_| screen.with(|view| view.top.clone()));
    move || {
        top.get().map(|top| {
            let out = top.out.map(|out| view! { <span class="out">" · " {out}</span> });
            view! {
                {top.band.map(|band| view! { <p class="band" id="band"><span>{band}</span></p> })}
                <div class="topline">
                    <p class="site"><b>{top.site}</b>{out}</p>
                    <p class="sent" id="sent" role="status">{top.sent}</p>
                </div>
            }
        })
    }
}

#[component]
fn Blocks(blocks: RwSignal<Vec<Keyed>>) -> impl IntoView {
    view! {
        <For each=move || blocks.get() key=|keyed| keyed.key children=|keyed| blocks::draw(keyed.block)/>
    }
}

#[component]
fn Places(screen: RwSignal<View>) -> impl IntoView {
    let places = Memo::new(move |_| screen.with(|view| view.places.clone()));
    move || {
        places
            .get()
            .into_iter()
            .map(|tab| {
                let place = tab.place;
                let id = format!("place-{place:?}").to_ascii_lowercase();
                let current = tab.here.then_some("page");
                view! {
                    <button type="button" id=id aria-current=current
                        on:click=move |_| happen(What::Did(Tap::Go(place)))>
                        {tab.words}
                    </button>
                }
            })
            .collect_view()
    }
}
