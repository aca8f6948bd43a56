//! The drawing: pointer, wheel and keys go in, three layers of SVG come out.

use super::bar::hint;
use super::desk::Desk;
use super::{field, said};
use crate::canvas;
use crate::{Event, Tool};
use ::words::drawing as text;
use floorplan::Point;
use leptos::ev::{KeyboardEvent, PointerEvent, WheelEvent};
use leptos::prelude::*;
use wasm_bindgen::JsCast;

#[component]
pub(super) fn Board(desk: Desk) -> impl IntoView {
    let lang = desk.lang;
    let sight = desk.sight;
    let view_box = move || {
        let ([w, h], sight) = (desk.window.get(), sight.get());
        let px = sight.mm_per_px;
        format!("{:.1} {:.1} {:.1} {:.1}", sight.left, sight.top, w * px, h * px)
    };
    let paper = move || {
        desk.version.track();
        let (sight, window) = (sight.get(), desk.window.get());
        desk.addresses.with(|known| {
            desk.model.with_untracked(|model| {
                let under = model.drawing.pictures.get(&model.level);
                let address = under.and_then(|under| known.get(&under.key));
                canvas::paper(model, &sight, window, address.map(String::as_str))
            })
        })
    };
    let floor = move || {
        desk.version.track();
        let px = sight.get().mm_per_px;
        desk.thought.with(|thought| {
            desk.model.with_untracked(|model| canvas::floor(model, thought.as_ref(), px))
        })
    };
    let hand = move || {
        let px = sight.get().mm_per_px;
        desk.model.with(|model| canvas::hand(model, px))
    };
    let name = move || {
        desk.version.track();
        desk.model.with_untracked(|m| text::drawing(lang, m.drawing.level_name(&m.level)))
    };
    let bar = move || {
        let (px, metres) = canvas::scale_bar(sight.get().mm_per_px);
        view! {
            <svg class="scalebar" aria-hidden="true" width="180" height="26" viewBox="0 0 180 26">
                <path d=format!("M2 14v8h{px:.1}v-8")></path>
                <text x=format!("{:.1}", px / 2.0 + 2.0) y="12">{format!("{metres}\u{a0}m")}</text>
            </svg>
        }
    };
    window_event_listener(leptos::ev::resize, move |_| desk.measure_window());
    view! {
        <div class="boardside">
            <p class="hint" id="hint">{move || hint(lang, desk.model.with(|m| m.tool))}</p>
            <div class="boardframe">
                <svg id="board" tabindex="0" role="application" aria-label=name aria-describedby="hint keys"
                    data-tool=move || desk.model.with(|m| if m.tool == Tool::Choose { "choose" } else { "draw" })
                    viewBox=view_box preserveAspectRatio="none"
                    on:pointerdown=move |event| down(desk, &event)
                    on:pointermove=move |event| moved(desk, &event)
                    on:pointerup=move |event| up(desk, &event)
                    on:pointercancel=move |_| desk.model.update(|m| m.press = None)
                    on:wheel=move |event| wheel(desk, &event)
                    on:keydown=move |event| key(desk, &event)>
                    <g inner_html=paper></g>
                    <g inner_html=floor></g>
                    <g inner_html=hand></g>
                </svg>
                {bar}
            </div>
            <div class="buttons under">
                {field::button("closer", text::closer(lang), move || desk.zoom(0.75))}
                {field::button("farther", text::farther(lang), move || desk.zoom(1.0 / 0.75))}
                {field::button("whole", text::whole(lang), move || desk.show_all())}
                {move || desk.model.with(|m| m.ring.len() >= 3).then(|| {
                    field::button("close-room", text::close_room(lang), move || close(desk))
                })}
            </div>
            <p class="saidline" id="said" role="status">{move || desk.model.with(said::words)}</p>
            <p class="small" id="keys">{text::keys(lang)}</p>
            <p class="small">
                {move || if !desk.keeps.get() {
                    text::kept_not(lang)
                } else if desk.is_saved() {
                    ""
                } else {
                    text::kept(lang)
                }}
            </p>
        </div>
    }
}

/// Closes the room with the corners that are set.
fn close(desk: Desk) {
    let last = desk.model.with_untracked(|m| m.ring.last().copied());
    if let Some(last) = last {
        desk.model.update(|m| m.cross = last);
        desk.happen(Event::Enter);
    }
}

fn pixel(event: &PointerEvent) -> (f64, f64) {
    let board = super::desk::element("board").get_bounding_client_rect();
    (f64::from(event.client_x()) - board.left(), f64::from(event.client_y()) - board.top())
}

fn place(desk: Desk, event: &PointerEvent) -> (Point, f64) {
    let (x, y) = pixel(event);
    let sight = desk.sight.get_untracked();
    (sight.place(x, y), sight.mm_per_px)
}

fn down(desk: Desk, event: &PointerEvent) {
    if event.button() != 0 {
        return;
    }
    let board = super::desk::element("board");
    // Without capture a drag merely ends at the edge.
    let _ = board.set_pointer_capture(event.pointer_id());
    let (at, px) = place(desk, event);
    desk.happen(Event::Down(at, px));
}

fn moved(desk: Desk, event: &PointerEvent) {
    if !desk.model.with_untracked(|model| model.follows()) {
        return;
    }
    let (at, px) = place(desk, event);
    desk.happen(Event::Move(at, px));
    if desk.model.with_untracked(|model| model.pans()) {
        let (dx, dy) = (f64::from(event.movement_x()), f64::from(event.movement_y()));
        desk.sight.update(|sight| {
            sight.left -= dx * sight.mm_per_px;
            sight.top -= dy * sight.mm_per_px;
        });
    }
}

fn up(desk: Desk, event: &PointerEvent) {
    let (at, px) = place(desk, event);
    desk.happen(Event::Up(at, px));
}

fn wheel(desk: Desk, event: &WheelEvent) {
    // Without a key the wheel scrolls the page, as everywhere.
    if !(event.ctrl_key() || event.alt_key()) {
        return;
    }
    event.prevent_default();
    let factor = if event.delta_y() > 0.0 { 1.15 } else { 1.0 / 1.15 };
    let event: &web_sys::MouseEvent = event.unchecked_ref();
    let board = super::desk::element("board").get_bounding_client_rect();
    let (x, y) =
        (f64::from(event.client_x()) - board.left(), f64::from(event.client_y()) - board.top());
    desk.sight.update(|sight| *sight = sight.zoomed(factor, x, y));
}

fn key(desk: Desk, event: &KeyboardEvent) {
    let far = if event.shift_key() { 10 } else { 1 };
    let with = event.ctrl_key() || event.meta_key();
    let happens = match event.key().as_str() {
        "ArrowLeft" => Event::Step(-far, 0),
        "ArrowRight" => Event::Step(far, 0),
        "ArrowUp" => Event::Step(0, far),
        "ArrowDown" => Event::Step(0, -far),
        "Enter" | " " => Event::Enter,
        "Escape" => Event::Escape,
        "Delete" | "Backspace" => Event::Delete,
        "z" | "Z" if with && event.shift_key() => Event::Redo,
        "z" | "Z" if with => Event::Undo,
        "y" | "Y" if with => Event::Redo,
        "+" | "=" if !with => return zoom(desk, event, 0.75),
        "-" if !with => return zoom(desk, event, 1.0 / 0.75),
        _ => return,
    };
    event.prevent_default();
    desk.happen(happens);
}

fn zoom(desk: Desk, event: &KeyboardEvent, factor: f64) {
    event.prevent_default();
    desk.zoom(factor);
}
