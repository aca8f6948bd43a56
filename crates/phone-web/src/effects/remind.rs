//! One reminder: the phone buzzes, and sounds unless it is to be silent.

use crate::engine::window;
use phone::Reminder;
use wasm_bindgen::prelude::*;

/// Buzz, pause, buzz, ms.
const PATTERN_MS: [i32; 3] = [400, 200, 400];

pub(crate) fn remind(how: Reminder) {
    let pattern: js_sys::Array = PATTERN_MS.iter().map(|ms| JsValue::from(*ms)).collect();
    let _ = window().navigator().vibrate_with_pattern(&pattern);
    // A browser may refuse sound before the first touch; the screen has said it already.
    if how == Reminder::Aloud
        && let Ok(chime) = js_sys::Reflect::get(&window(), &"rattlewatchChime".into())
        && let Ok(chime) = chime.dyn_into::<js_sys::Function>()
    {
        let _ = chime.call0(&JsValue::NULL);
    }
}
