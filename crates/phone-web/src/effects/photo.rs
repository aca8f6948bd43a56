//! A photo: made smaller and stripped by drawing it anew, kept, then named by the digest of exactly
//! the bytes that will be sent.

use crate::effects::storage;
use crate::engine::{document, happen, window};
use js_sys::{Promise, Uint8Array};
use phone::{Digest, Purpose, What};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{Blob, CanvasRenderingContext2d, File, HtmlCanvasElement, ImageBitmap};

/// The longer side of a kept photo, px: a door number at five metres can still be read.
const SIDE_MAX: f64 = 1600.0;

/// The longer side of a picture of a page, px: some 200 dots to the inch, at which boxes are read well.
const PAGE_MAX: f64 = 2400.0;

pub(crate) fn take(file: File, purpose: Purpose) {
    spawn_local(async move {
        if let Err(error) = keep(&file, purpose).await {
            happen(What::BlobFailed { says: format!("{error:?}") });
        }
    });
}

async fn keep(file: &File, purpose: Purpose) -> Result<(), JsValue> {
    // What cannot be drawn is kept as it came: a photo too large is better than none.
    let side_max = if purpose == Purpose::Page { PAGE_MAX } else { SIDE_MAX };
    let blob = match redrawn(file, side_max).await {
        Ok(blob) => blob,
        Err(_) => file.clone().unchecked_into(),
    };
    keep_blob(&blob, purpose).await
}

async fn redrawn(file: &File, side_max: f64) -> Result<Blob, JsValue> {
    let bitmap = JsFuture::from(window().create_image_bitmap_with_blob(file)?).await?;
    let bitmap: ImageBitmap = bitmap.dyn_into()?;
    let (width, height) = (f64::from(bitmap.width()), f64::from(bitmap.height()));
    let scale = (side_max / width.max(height)).min(1.0);
    let canvas: HtmlCanvasElement = document().create_element("canvas")?.dyn_into()?;
    canvas.set_width((width * scale) as u32);
    canvas.set_height((height * scale) as u32);
    let context: CanvasRenderingContext2d =
        canvas.get_context("2d")?.ok_or("no canvas here")?.dyn_into()?;
    let (to_width, to_height) = (width * scale, height * scale);
    context.draw_image_with_image_bitmap_and_dw_and_dh(&bitmap, 0.0, 0.0, to_width, to_height)?;
    bitmap.close();
    blob_of(&canvas, "image/jpeg").await
}

/// The canvas as a file of this type.
pub(crate) async fn blob_of(canvas: &HtmlCanvasElement, mime: &str) -> Result<Blob, JsValue> {
    let promise = Promise::new(&mut |resolve, reject| {
        let done = Closure::once_into_js(move |blob: JsValue| {
            let _ = resolve.call1(&JsValue::NULL, &blob);
        });
        if let Err(error) = canvas.to_blob_with_type(done.unchecked_ref(), mime) {
            let _ = reject.call1(&JsValue::NULL, &error);
        }
    });
    JsFuture::from(promise).await?.dyn_into()
}

/// Keeps a blob's bytes and says so.
pub(crate) async fn keep_blob(blob: &Blob, purpose: Purpose) -> Result<(), JsValue> {
    let bytes = Uint8Array::new(&JsFuture::from(blob.array_buffer()).await?).to_vec();
    let digest = Digest::of(&bytes);
    storage::keep_content(&digest, &bytes).await.map_err(|fault| fault.to_string())?;
    let (len, mime) = (bytes.len() as u64, blob.type_());
    happen(What::BlobKept { purpose, blob: digest, len, mime });
    Ok(())
}
