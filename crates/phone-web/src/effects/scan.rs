//! Reading codes: the browser's own reader where there is one, else ours, on what the camera shows.

use crate::effects::camera;
use crate::engine::{document, happen, window};
use js_sys::{Array, Function, Object, Promise, Reflect};
use phone::What;
use std::cell::Cell;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{
    CanvasRenderingContext2d, HtmlCanvasElement, HtmlVideoElement, MediaStream,
    MediaStreamConstraints, MediaStreamTrack,
};

/// Between two looks, ms: leaves the screen its time.
const EVERY_MS: i32 = 150;

thread_local! {
    static READING: Cell<bool> = const { Cell::new(false) };
}

/// Opens the camera and reads until a code is found, or one after the other if it `goes_on`, and until
/// the screen is left.
pub(crate) fn start(goes_on: bool) {
    if READING.replace(true) {
        return;
    }
    spawn_local(async move {
        let found = read(goes_on).await;
        stop();
        match found {
            Ok(Some(text)) => happen(What::Scanned(text)),
            Ok(None) => {}
            Err(_) => happen(What::NoCamera),
        }
    });
}

/// Stops reading and lets the camera go.
pub(crate) fn stop() {
    READING.set(false);
    let Some(video) = video() else { return };
    if let Some(stream) = video.src_object() {
        for track in stream.get_tracks().iter() {
            track.unchecked_into::<MediaStreamTrack>().stop();
        }
    }
    video.set_src_object(None);
}

fn video() -> Option<HtmlVideoElement> {
    document().get_element_by_id("scanner")?.dyn_into().ok()
}

async fn read(goes_on: bool) -> Result<Option<String>, JsValue> {
    let wanted = MediaStreamConstraints::new();
    let behind = Object::new();
    Reflect::set(&behind, &"facingMode".into(), &"environment".into())?;
    wanted.set_video(&behind);
    let devices = window().navigator().media_devices()?;
    let stream = JsFuture::from(devices.get_user_media_with_constraints(&wanted)?).await?;
    let stream: MediaStream = stream.dyn_into()?;
    let Some(video) = video() else { return Ok(None) };
    video.set_src_object(Some(&stream));
    JsFuture::from(video.play()?).await?;
    let own = browser_reader();
    let canvas: HtmlCanvasElement = document().create_element("canvas")?.dyn_into()?;
    let mut last: Option<String> = None;
    while READING.get() {
        let found = match &own {
            Some(reader) => by_browser(reader, &video).await?,
            None => by_ours(&canvas, &video).await?,
        };
        match found {
            Some(text) if !goes_on => return Ok(Some(text)),
            // A code that stays before the camera is handed in once.
            Some(text) if last.as_ref() != Some(&text) => {
                happen(What::Scanned(text.clone()));
                last = Some(text);
            }
            _ => {}
        }
        pause().await?;
    }
    Ok(None)
}

fn browser_reader() -> Option<JsValue> {
    let maker: Function =
        Reflect::get(&window(), &"BarcodeDetector".into()).ok()?.dyn_into().ok()?;
    let wanted = Object::new();
    Reflect::set(&wanted, &"formats".into(), &Array::of1(&"qr_code".into())).ok()?;
    Reflect::construct(&maker, &Array::of1(&wanted)).ok()
}

async fn by_browser(reader: &JsValue, video: &HtmlVideoElement) -> Result<Option<String>, JsValue> {
    let detect: Function = Reflect::get(reader, &"detect".into())?.dyn_into()?;
    let found: Promise = detect.call1(reader, video)?.dyn_into()?;
    let found: Array = JsFuture::from(found).await?.dyn_into()?;
    Ok(Reflect::get(&found.get(0), &"rawValue".into()).ok().and_then(|text| text.as_string()))
}

async fn by_ours(
    canvas: &HtmlCanvasElement,
    video: &HtmlVideoElement,
) -> Result<Option<String>, JsValue> {
    let (width, height) = (video.video_width(), video.video_height());
    if width == 0 || height == 0 {
        return Ok(None);
    }
    canvas.set_width(width);
    canvas.set_height(height);
    let context: CanvasRenderingContext2d =
        canvas.get_context("2d")?.ok_or("no canvas here")?.dyn_into()?;
    context.draw_image_with_html_video_element(video, 0.0, 0.0)?;
    let (wide, high) = (f64::from(width), f64::from(height));
    let colours = context.get_image_data(0.0, 0.0, wide, high)?.data();
    Ok(camera::camera().await?.decode(&colours, width))
}

async fn pause() -> Result<(), JsValue> {
    let promise = Promise::new(&mut |resolve, _| {
        let _ = window().set_timeout_with_callback_and_timeout_and_arguments_0(&resolve, EVERY_MS);
    });
    JsFuture::from(promise).await.map(|_| ())
}
