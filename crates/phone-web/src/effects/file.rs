//! Hands text or a picture to the person as a file: the way out of a phone that cannot send.

use crate::effects::storage;
use crate::engine::document;
use js_sys::{Array, Uint8Array};
use phone::Digest;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;
use web_sys::{Blob, BlobPropertyBag, HtmlAnchorElement, Url};

pub(crate) fn offer(name: &str, content: &str) {
    // A browser that cannot make files shows the lines on the screen all the same.
    let _ = Blob::new_with_str_sequence(&Array::of1(&content.into()))
        .and_then(|blob| download(name, &blob));
}

pub(crate) fn offer_picture(digest: Digest, mime: String, name: String) {
    spawn_local(async move {
        // A picture that cannot be read stays on the list, and so does one that no file was made of.
        let Ok(Some(bytes)) = storage::content(&digest).await else { return };
        let typed = BlobPropertyBag::new();
        typed.set_type(&mime);
        let parts = Array::of1(&Uint8Array::from(bytes.as_slice()));
        let _ = Blob::new_with_u8_array_sequence_and_options(&parts, &typed)
            .and_then(|blob| download(&name, &blob));
    });
}

fn download(name: &str, blob: &Blob) -> Result<(), JsValue> {
    let url = Url::create_object_url_with_blob(blob)?;
    let link: HtmlAnchorElement = document().create_element("a")?.dyn_into()?;
    link.set_href(&url);
    link.set_download(name);
    link.click();
    Url::revoke_object_url(&url)
}
