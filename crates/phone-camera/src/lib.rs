//! What the phone does with pictures and codes: a program of its own in the browser, loaded when it is
//! first needed, so that the first visit does not wait for it. Pure: pixels and bytes in, text out.
//!
//! `phone-web` calls it through `static/start.js`, which loads it once.
#![cfg(target_arch = "wasm32")]

use phone::Parcel;
use phone::sync::SentLine;
use sheet::{Expected, GrayPicture};
use wasm_bindgen::prelude::*;

/// The text of the first code in a picture of red, green, blue and alpha bytes.
#[wasm_bindgen]
pub fn decode(colours: &[u8], width: usize) -> Option<String> {
    // Green carries most of the brightness; a code is black on white.
    let grey: Vec<u8> = colours.chunks_exact(4).map(|pixel| pixel[1]).collect();
    let height = grey.len().checked_div(width)?;
    let mut reader = quircs::Quirc::default();
    let codes = reader.identify(width, height, &grey);
    let texts = codes.filter_map(|code| code.ok()?.decode().ok());
    texts.filter_map(|text| String::from_utf8(text.payload).ok()).next()
}

/// A text of capitals, digits and `$%*+-./:` as a code: SVG.
#[wasm_bindgen]
pub fn draw(text: &str) -> Option<String> {
    Some(sheet::modules(text)?.to_svg())
}

/// Cuts lines into the texts of codes; key and lines as JSON.
#[wasm_bindgen]
pub fn cut(key: &str, lines: &str) -> Option<Vec<String>> {
    let key = phone::parse(key).ok()?;
    let lines: Vec<SentLine> = phone::parse(lines).ok()?;
    Some(phone::cut(key, &lines))
}

/// Unpacks what codes held together: JSON; or the word `newer` or `unreadable`.
#[wasm_bindgen]
pub fn unpack(packed: &[u8]) -> String {
    match Parcel::open(packed) {
        Ok(parcel) => serde_json::to_string(&parcel).expect("a parcel holds text and numbers"),
        Err(phone::ParcelFault::Newer) => "newer".to_owned(),
        Err(phone::ParcelFault::Unreadable) => "unreadable".to_owned(),
    }
}

/// Reads the picture of a page as a sheet of this watch; `watch` as JSON, the answer too
/// (`docs/paper-sheet.md`). None for a picture without pixels.
#[wasm_bindgen]
pub fn read_sheet(colours: &[u8], width: usize, watch: &str, lang: &str) -> Option<String> {
    // Brightness as in Rec. 601, in whole numbers: pencil and ink of any colour.
    let grey = |pixel: &[u8]| {
        let [r, g, b] = [pixel[0], pixel[1], pixel[2]].map(u32::from);
        ((299 * r + 587 * g + 114 * b) / 1000) as u8
    };
    let grey: Vec<u8> = colours.chunks_exact(4).map(grey).collect();
    let height = grey.len().checked_div(width)?;
    let picture = GrayPicture::new(width, height, grey)?;
    let watch: phone::SheetOf = phone::parse(watch).ok()?;
    let expected = Expected::of_watch(watch.watch, watch.zones, watch.span_ms);
    let reading = sheet::read(&picture, &expected);
    Some(reading.to_json(phone::Lang::from_tag(lang)).to_string())
}
