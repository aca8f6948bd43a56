//! Hands text to the person as a file: the way out of a phone that cannot send.

use crate::engine::document;
use js_sys::Array;
use wasm_bindgen::prelude::*;
use web_sys::{Blob, HtmlAnchorElement, Url};

pub(crate) fn offer(name: &str, content: &str) {
    // A browser that cannot make files shows the lines on the screen all the same.
    let _ = try_offer(name, content);
}

fn try_offer(name: &str, content: &str) -> Result<(), JsValue> {
    let blob = Blob::new_with_str_sequence(&Array::of1(&content.into()))?;
    let url = Url::create_object_url_with_blob(&blob)?;
    let link: HtmlAnchorElement = document().create_element("a")?.dyn_into()?;
    link.set_href(&url);
    link.set_download(name);
    link.click();
    Url::revoke_object_url(&url)
}
