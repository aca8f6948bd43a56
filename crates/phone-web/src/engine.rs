//! The one loop: an event happens, the screen is drawn, effects are carried out.

use crate::{effects, frame, keyed, site_clock};
use leptos::prelude::*;
use phone::{Event, Lang, Model, Moment, View, What, update, view};
use std::cell::RefCell;
use wasm_bindgen::prelude::*;

/// The program's name in the record.
const APP: &str = concat!("rattlewatch-", env!("CARGO_PKG_VERSION"));

struct Engine {
    model: Model,
    screen: RwSignal<View>,
    blocks: RwSignal<Vec<keyed::Keyed>>,
}

thread_local! {
    static ENGINE: RefCell<Option<Engine>> = const { RefCell::new(None) };
}

/// Draws the first screen, reads storage, begins to tick.
pub(crate) fn start() {
    let lang = Lang::from_tag(&window().navigator().language().unwrap_or_default());
    let model = Model::new(APP, &random_name(), lang);
    let first = view(&model);
    let screen = RwSignal::new(first.clone());
    let blocks = RwSignal::new(keyed::key(Vec::new(), first.blocks));
    ENGINE.with_borrow_mut(|engine| *engine = Some(Engine { model, screen, blocks }));
    frame::mount(screen, blocks);
    effects::start();
}

/// Lets something happen.
pub(crate) fn happen(what: What) {
    let mut at = moment();
    let effects = ENGINE.with_borrow_mut(|engine| {
        let Some(engine) = engine else { return Vec::new() };
        at.site_tz_min =
            engine.model.zone().and_then(|zone| site_clock::offset_min(zone, at.wall_ms));
        let effects = update(Event { at, what }, &mut engine.model);
        let now = view(&engine.model);
        if engine.screen.with_untracked(|before| *before != now) {
            engine.blocks.update(|blocks| {
                *blocks = keyed::key(std::mem::take(blocks), now.blocks.clone());
            });
            engine.screen.with_untracked(|before| frame::dress(Some(before), &now));
            engine.screen.set(now);
        }
        effects
    });
    effects.into_iter().for_each(effects::carry_out);
}

/// The clocks and fresh random bytes.
pub(crate) fn moment() -> Moment {
    let mut random = [0; 16];
    // Without chance there is no salt: better none of the guard's words than words that can be guessed.
    getrandom::fill(&mut random).expect("a browser has random bytes");
    let now = js_sys::Date::new_0();
    Moment {
        wall_ms: now.get_time() as i64,
        mono_ms: window().performance().map_or(0.0, |clock| clock.now()) as i64,
        tz_min: -(now.get_timezone_offset() as i64),
        site_tz_min: None,
        random,
    }
}

fn random_name() -> String {
    let random = moment().random;
    random[..6].iter().map(|byte| format!("{byte:02x}")).collect()
}

pub(crate) fn window() -> web_sys::Window {
    web_sys::window().expect("a page has a window")
}

pub(crate) fn document() -> web_sys::Document {
    window().document().expect("a window has a document")
}

/// Calls back on an event of a target for as long as the page lives.
pub(crate) fn on(target: &web_sys::EventTarget, name: &str, call: impl FnMut() + 'static) {
    let closure = Closure::<dyn FnMut()>::new(call);
    // The only refusal is a name that is no string.
    let _ = target.add_event_listener_with_callback(name, closure.as_ref().unchecked_ref());
    closure.forget();
}
