//! The other program, `phone-camera`: loaded when it is first needed, kept by the worker like the rest.

use crate::effects::storage;
use crate::engine::{document, happen, window};
use js_sys::Promise;
use phone::sync::SentLine;
use phone::{Digest, Lang, Parcel, ParcelFault, PublicKey, SheetOf, What};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{Blob, CanvasRenderingContext2d, HtmlCanvasElement, ImageBitmap};

#[wasm_bindgen]
extern "C" {
    /// Of `static/start.js`.
    #[wasm_bindgen(js_namespace = window, js_name = rattlewatchCamera, catch)]
    fn load() -> Result<Promise, JsValue>;

    /// Its functions.
    pub(crate) type Camera;
    #[wasm_bindgen(method)]
    pub(crate) fn decode(this: &Camera, colours: &[u8], width: u32) -> Option<String>;
    #[wasm_bindgen(method)]
    fn draw(this: &Camera, text: &str) -> Option<String>;
    #[wasm_bindgen(method)]
    fn cut(this: &Camera, key: &str, lines: &str) -> Option<Vec<String>>;
    #[wasm_bindgen(method)]
    fn unpack(this: &Camera, packed: &[u8]) -> String;
    #[wasm_bindgen(method, js_name = read_sheet)]
    fn read_sheet(
        this: &Camera,
        colours: &[u8],
        width: u32,
        watch: &str,
        lang: &str,
    ) -> Option<String>;
}

/// The other program.
pub(crate) async fn camera() -> Result<Camera, JsValue> {
    Ok(JsFuture::from(load()?).await?.unchecked_into())
}

/// A code as SVG; none if the other program is not to be had.
pub(crate) async fn drawn(text: &str) -> Option<String> {
    camera().await.ok()?.draw(text)
}

/// Cuts lines into codes.
pub(crate) fn cut(key: PublicKey, lines: Vec<SentLine>) {
    spawn_local(async move {
        let json = |value: serde_json::Result<String>| value.expect("lines hold text");
        let (key, lines) = (json(serde_json::to_string(&key)), json(serde_json::to_string(&lines)));
        let codes = camera().await.ok().and_then(|camera| camera.cut(&key, &lines));
        happen(What::PiecesCut(codes.unwrap_or_default()));
    });
}

/// Unpacks what codes held together.
pub(crate) fn open(packed: Vec<u8>) {
    spawn_local(async move {
        let unreadable = || Err(ParcelFault::Unreadable);
        let parcel = match camera().await.map(|camera| camera.unpack(&packed)) {
            Ok(text) if text == "newer" => Err(ParcelFault::Newer),
            Ok(text) => phone::parse::<Parcel>(&text).or_else(|_| unreadable()),
            Err(_) => unreadable(),
        };
        happen(What::ParcelOpened(parcel));
    });
}

/// Reads the kept picture of a page.
pub(crate) fn read_sheet(blob: Digest, of: SheetOf, lang: Lang) {
    spawn_local(async move {
        let json = try_read(&blob, &of, lang).await.ok().flatten();
        happen(What::SheetRead { blob, json });
    });
}

async fn try_read(blob: &Digest, of: &SheetOf, lang: Lang) -> Result<Option<String>, JsValue> {
    let bytes = storage::content(blob).await.map_err(|fault| fault.to_string())?;
    let bytes = js_sys::Uint8Array::from(bytes.ok_or("the picture is not here")?.as_slice());
    let picture = Blob::new_with_u8_array_sequence(&js_sys::Array::of1(&bytes))?;
    let bitmap = JsFuture::from(window().create_image_bitmap_with_blob(&picture)?).await?;
    let bitmap: ImageBitmap = bitmap.dyn_into()?;
    let (width, height) = (bitmap.width(), bitmap.height());
    let canvas: HtmlCanvasElement = document().create_element("canvas")?.dyn_into()?;
    canvas.set_width(width);
    canvas.set_height(height);
    let context: CanvasRenderingContext2d =
        canvas.get_context("2d")?.ok_or("no canvas here")?.dyn_into()?;
    context.draw_image_with_image_bitmap(&bitmap, 0.0, 0.0)?;
    bitmap.close();
    let colours = context.get_image_data(0.0, 0.0, f64::from(width), f64::from(height))?.data();
    let of = serde_json::to_string(of).expect("ids and numbers");
    Ok(camera().await?.read_sheet(&colours, width, &of, lang.tag()))
}
