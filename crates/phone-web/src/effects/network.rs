//! One request, its note signed into the headers. An answer of any status is an answer.

use crate::effects::{key, storage};
use crate::engine::{happen, window};
use js_sys::Uint8Array;
use phone::sync::{DEVICE_HEADER, SIGNATURE_HEADER};
use phone::{Body, Method, Ticket, What};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{Headers, RequestInit, Response};

pub(crate) fn send(ticket: Ticket, method: Method, path: String, body: Body, note: String) {
    spawn_local(async move {
        happen(match ask(method, &path, body, &note).await {
            Ok((status, body)) => What::Answer { ticket, status, body },
            Err(_) => What::NoAnswer { ticket },
        });
    });
}

async fn ask(
    method: Method,
    path: &str,
    body: Body,
    note: &str,
) -> Result<(u16, Vec<u8>), JsValue> {
    let signature = key::signature(note.as_bytes()).await?;
    let headers = Headers::new()?;
    headers.set(DEVICE_HEADER, note)?;
    headers.set(SIGNATURE_HEADER, &signature.to_string())?;
    let init = RequestInit::new();
    init.set_method(match method {
        Method::Get => "GET",
        Method::Post => "POST",
        Method::Put => "PUT",
    });
    match body {
        Body::Empty => {}
        Body::Text(text) => {
            headers.set("content-type", "application/json")?;
            init.set_body(&JsValue::from_str(&text));
        }
        Body::Blob(blob) => {
            let content = storage::content(&blob).await.map_err(|fault| fault.to_string())?;
            let content = content.ok_or("the blob is not kept here")?;
            headers.set("content-type", "application/octet-stream")?;
            init.set_body(&Uint8Array::from(content.as_slice()));
        }
    }
    init.set_headers(&headers);
    let response = JsFuture::from(window().fetch_with_str_and_init(path, &init)).await?;
    let response: Response = response.dyn_into()?;
    let body = JsFuture::from(response.array_buffer()?).await?;
    Ok((response.status(), Uint8Array::new(&body).to_vec()))
}
