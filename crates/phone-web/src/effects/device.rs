//! What the browser says of the device: battery, storage, other tabs, new versions.

use crate::engine::{happen, window};
use js_sys::{Function, Promise, Reflect};
use phone::What;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};

const PEN: &str = "rattlewatch-pen";

/// Listens to the battery, where the browser tells.
pub(crate) fn start() {
    spawn_local(async {
        // Few browsers tell; without it nothing is warned of, which the screen never claimed.
        let _ = battery().await;
    });
    spawn_local(async {
        let _ = storage_state().await;
    });
}

async fn battery() -> Result<(), JsValue> {
    let navigator = window().navigator();
    let ask: Function = Reflect::get(&navigator, &"getBattery".into())?.dyn_into()?;
    let battery = JsFuture::from(ask.call0(&navigator)?.dyn_into::<Promise>()?).await?;
    let tell = {
        let battery = battery.clone();
        move || {
            let level = Reflect::get(&battery, &"level".into()).ok().and_then(|l| l.as_f64());
            if let Some(level) = level {
                happen(What::Battery((level * 100.0).round() as u8));
            }
        }
    };
    tell();
    crate::engine::on(battery.unchecked_ref(), "levelchange", tell);
    Ok(())
}

async fn storage_state() -> Result<(), JsValue> {
    let storage = window().navigator().storage();
    let persisted = JsFuture::from(storage.persisted()?).await?.is_truthy();
    happen(What::Storage { persisted, free_kib: free_kib().await });
    Ok(())
}

/// What the browser says is left for us.
async fn free_kib() -> Option<u64> {
    let estimate = JsFuture::from(window().navigator().storage().estimate().ok()?).await.ok()?;
    let bytes = |name: &str| Reflect::get(&estimate, &name.into()).ok()?.as_f64();
    let free = bytes("quota")? - bytes("usage")?;
    Some((free.max(0.0) / 1024.0) as u64)
}

/// Asks again from time to time: photos fill it.
pub(crate) fn look_at_storage() {
    spawn_local(async {
        let _ = storage_state().await;
    });
}

/// Asks the browser to keep our storage when space runs out.
pub(crate) fn persist() {
    spawn_local(async {
        let asked = window().navigator().storage().persist();
        let persisted = match asked {
            Ok(promise) => JsFuture::from(promise).await.is_ok_and(|kept| kept.is_truthy()),
            Err(_) => false,
        };
        happen(What::Storage { persisted, free_kib: free_kib().await });
    });
}

/// Takes the one pen of this browser for as long as the page lives. True if this tab has it; a browser
/// without locks has one tab's word only, and the guard on every chain still holds.
pub(crate) async fn take_pen() -> bool {
    held().await.unwrap_or(true)
}

async fn held() -> Result<bool, JsValue> {
    let locks = Reflect::get(&window().navigator(), &"locks".into())?;
    let request: Function = Reflect::get(&locks, &"request".into())?.dyn_into()?;
    let options = js_sys::Object::new();
    Reflect::set(&options, &"ifAvailable".into(), &true.into())?;
    let answer = Promise::new(&mut |resolve, _| {
        let granted = Closure::once_into_js(move |lock: JsValue| -> JsValue {
            let got = !lock.is_null();
            let _ = resolve.call1(&JsValue::NULL, &got.into());
            // The lock is held until this promise ends: never, while the page lives.
            if got { Promise::new(&mut |_, _| {}).into() } else { JsValue::UNDEFINED }
        });
        let _ = request.call3(&locks, &PEN.into(), &options, &granted);
    });
    Ok(JsFuture::from(answer).await?.is_truthy())
}

/// Tells the waiting worker to take over; `static/start.js` reloads when it has.
pub(crate) fn take_update() {
    let take = Reflect::get(&window(), &"rattlewatchTakeUpdate".into());
    if let Ok(take) = take
        && let Ok(take) = take.dyn_into::<Function>()
    {
        let _ = take.call0(&JsValue::NULL);
    }
}
