//! What `static/draw.js` lends: the browser's own store, pictures, the worker.

use wasm_bindgen::prelude::*;

#[wasm_bindgen]
extern "C" {
    /// Hands a plan to the worker.
    #[wasm_bindgen(js_namespace = rattlewatchDrawing)]
    pub(crate) fn ask(ticket: f64, plan: &[u8], measures: &str);

    /// Keeps a drawing under a site; false where the browser keeps nothing.
    #[wasm_bindgen(js_namespace = rattlewatchDrawing)]
    pub(crate) async fn keep(site: &str, text: &str) -> JsValue;

    /// The drawing kept under a site, undefined when there is none.
    #[wasm_bindgen(js_namespace = rattlewatchDrawing)]
    pub(crate) async fn kept(site: &str) -> JsValue;

    /// Forgets it, with its pictures.
    #[wasm_bindgen(js_namespace = rattlewatchDrawing)]
    pub(crate) async fn forget(site: &str) -> JsValue;

    /// Reads a picture file: `[key, width, height, address]`, undefined when it is none.
    #[wasm_bindgen(js_namespace = rattlewatchDrawing)]
    pub(crate) async fn picture(site: &str, file: JsValue) -> JsValue;

    /// The address of a kept picture, undefined when it is gone.
    #[wasm_bindgen(js_namespace = rattlewatchDrawing)]
    pub(crate) async fn address(key: &str) -> JsValue;
}
