//! Drawing and keeping a signature.

use crate::effects::photo::{blob_of, keep_blob};
use crate::engine::happen;
use phone::{Purpose, What};
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::spawn_local;
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement, PointerEvent};

/// Whether a stroke begins or goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stroke {
    Begins,
    GoesOn,
}

/// Draws to where the finger is. Always black on white, so that it prints.
pub(crate) fn draw(canvas: &HtmlCanvasElement, event: &PointerEvent, stroke: Stroke) {
    let context = canvas.get_context("2d").ok().flatten();
    let Some(context) = context.and_then(|c| c.dyn_into::<CanvasRenderingContext2d>().ok()) else {
        return;
    };
    let scale = f64::from(canvas.width()) / f64::from(canvas.client_width().max(1));
    let (x, y) = (f64::from(event.offset_x()) * scale, f64::from(event.offset_y()) * scale);
    context.set_line_width(5.0);
    context.set_line_cap("round");
    context.set_line_join("round");
    context.set_stroke_style_str("#000");
    match stroke {
        Stroke::Begins => {
            context.begin_path();
            context.move_to(x, y);
        }
        Stroke::GoesOn => {
            context.line_to(x, y);
            context.stroke();
        }
    }
}

/// Keeps what is drawn.
pub(crate) fn keep(canvas: &HtmlCanvasElement) {
    let canvas = canvas.clone();
    spawn_local(async move {
        let kept = match blob_of(&canvas, "image/png").await {
            Ok(blob) => keep_blob(&blob, Purpose::Signature).await,
            Err(error) => Err(error),
        };
        if let Err(error) = kept {
            happen(What::BlobFailed { says: format!("{error:?}") });
        }
    });
}
