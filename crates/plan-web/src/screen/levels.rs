//! The level that is shown, and the picture below it.

use super::chosen::metres;
use super::desk::Desk;
use super::field;
use crate::Edit;
use leptos::prelude::*;
use wasm_bindgen::JsCast;
use words::drawing as said;

#[component]
pub(super) fn Levels(desk: Desk) -> impl IntoView {
    let lang = desk.lang;
    let level = move || {
        desk.version.track();
        desk.model.with(|m| m.drawing.plan.levels.iter().find(|level| level.id == m.level).cloned())
    };
    let here = move || desk.model.with_untracked(|m| m.level.clone());
    view! {
        <section id="level" aria-labelledby="level-h">
            <h2 id="level-h">{said::level(lang)}</h2>
            {field::text("level-name".to_owned(), said::level_name(lang),
                move || level().map(|it| it.name).unwrap_or_default(),
                move |name| desk.edit(Edit::LevelName(here(), name)))}
            {field::number("level-height".to_owned(), said::level_height(lang), "", "0.1",
                move || level().map(|it| metres(it.elevation_mm)).unwrap_or_default(),
                move |height| if let Some(height) = height {
                    desk.edit(Edit::Height(here(), libm::round(height * 1e3) as i64));
                })}
            <p class="buttons">
                {field::button("copy-up", said::copy_up(lang), move || desk.edit(Edit::CopyUp))}
                {field::button("level-above", said::level_above(lang), move || desk.edit(Edit::LevelAbove))}
                {field::button("level-below", said::level_below(lang), move || desk.edit(Edit::LevelBelow))}
                {field::button("level-remove", said::remove_level(lang), move || desk.edit(Edit::RemoveLevel))}
            </p>
            <Picture desk/>
        </section>
    }
}

#[component]
fn Picture(desk: Desk) -> impl IntoView {
    let lang = desk.lang;
    let under = Memo::new(move |_| {
        desk.version.track();
        desk.model.with(|m| m.drawing.pictures.get(&m.level).cloned())
    });
    let has = Memo::new(move |_| under.get().is_some());
    let chosen = move |event: leptos::ev::Event| {
        let Some(target) = event.target() else { return };
        let field: web_sys::HtmlInputElement = target.unchecked_into();
        let file = field.files().and_then(|files| files.get(0));
        if let Some(file) = file {
            desk.picture(file.into());
        }
        field.set_value("");
    };
    let shows = move |event: leptos::ev::Event| {
        if let Ok(percent) = event_target_value(&event).parse() {
            desk.edit(Edit::Shows(percent));
        }
    };
    let scale = move || {
        under.get().map(|under| match under.measured {
            true => {
                let width = f64::from(under.size_px[0]) * under.mm_per_px;
                said::scale_set(lang, words::metres(lang, width as i64))
            }
            false => said::scale_guess(lang).to_owned(),
        })
    };
    view! {
        <h3>{said::picture(lang)}</h3>
        <p class="in">
            <label for="picture-file">{said::picture_choose(lang)}</label>
            <input id="picture-file" type="file" accept="image/jpeg,image/png,image/webp" aria-describedby="picture-why"
                on:change=chosen/>
        </p>
        <p class="small" id="picture-why">{said::picture_why(lang)}</p>
        {move || desk.picture_fault.get().then(|| view! {
            <p class="fault" role="alert">{said::picture_bad(lang)}</p>
        })}
        {move || match has.get() {
            false => view! { <p class="small">{said::picture_none(lang)}</p> }.into_any(),
            true => view! {
                <p id="scale" class:fault=move || under.get().is_some_and(|under| !under.measured)>{scale}</p>
                <Measure desk/>
                <p class="buttons">
                    {field::button("picture-turn", said::picture_turn(lang), move || desk.edit(Edit::TurnPicture(90_000)))}
                    {field::button("picture-left", said::picture_left(lang), move || desk.edit(Edit::TurnPicture(500)))}
                    {field::button("picture-right", said::picture_right(lang), move || desk.edit(Edit::TurnPicture(-500)))}
                    {field::button("picture-drop", said::picture_drop(lang), move || desk.edit(Edit::NoPicture))}
                </p>
                <p class="in">
                    <label for="picture-shows">{said::picture_shows(lang)}</label>
                    <input id="picture-shows" type="range" min="10" max="100" step="10"
                        prop:value=move || under.get().map_or(60, |under| under.shows_percent).to_string()
                        on:change=shows/>
                </p>
            }
            .into_any(),
        }}
    }
}

/// Asks how far apart the two places are, once both are set.
#[component]
fn Measure(desk: Desk) -> impl IntoView {
    let lang = desk.lang;
    let both = Memo::new(move |_| desk.model.with(|m| m.measure.len() == 2));
    let length = RwSignal::new(String::new());
    let straight = RwSignal::new(true);
    let set = move || {
        let metres: Option<f64> = length.get_untracked().replace(',', ".").trim().parse().ok();
        let length_mm = metres.map_or(0, |m| libm::round(m * 1e3) as i64);
        desk.edit(Edit::Measured(length_mm, straight.get_untracked()));
        desk.show_all();
    };
    let enter = move |event: leptos::ev::KeyboardEvent| {
        if event.key() == "Enter" {
            set();
        }
    };
    move || {
        both.get().then(|| {
            view! {
                <div class="measure" id="measured">
                    <p class="in short">
                        <label for="measure-length">{said::measure_length(lang)}</label>
                        <input id="measure-length" type="text" inputmode="decimal" autocomplete="off"
                            prop:value=move || length.get()
                            on:input=move |event| length.set(event_target_value(&event))
                            on:keydown=enter/>
                    </p>
                    {field::check(said::measure_straight(lang).to_owned(), move || straight.get(),
                        move |on| straight.set(on))}
                    {field::button("measure-do", said::measure_do(lang), set)}
                </div>
            }
        })
    }
}
