//! The desk's own files, in the program: styles, the one script, fonts, the alarm's sound.

use crate::problem::Problem;
use axum::extract::Path;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use std::borrow::Cow;
use std::sync::OnceLock;

macro_rules! font {
    ($name:literal) => {
        include_bytes!(concat!("../../../assets/fonts/", $name, ".woff2"))
    };
}

/// `GET /assets/{*file}`
pub(crate) async fn get(Path(file): Path<String>) -> Result<Response, Problem> {
    let (kind, bytes) = find(&file).ok_or(Problem::NotFound)?;
    // Pages name these files with their version, so a new server's files have new addresses.
    let kept = "public, max-age=31536000, immutable";
    let headers = [(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, kept)];
    Ok((headers, bytes).into_response())
}

/// The address of a file, with what changes when its bytes change.
pub(crate) fn address(file: &str) -> String {
    let digest = find(file).map(|(_, bytes)| ledger::Digest::of(&bytes).to_string());
    format!("/assets/{file}?v={}", &digest.unwrap_or_default().get(..12).unwrap_or_default())
}

fn find(file: &str) -> Option<(&'static str, Cow<'static, [u8]>)> {
    let css = "text/css; charset=utf-8";
    let woff2 = "font/woff2";
    let (kind, bytes): (_, &'static [u8]) = match file {
        "tokens.css" => (css, include_bytes!("../../../assets/tokens.css")),
        "desk.css" => (css, include_bytes!("../static/desk.css")),
        "desk.js" => ("text/javascript; charset=utf-8", include_bytes!("../static/desk.js")),
        "push.js" => ("text/javascript; charset=utf-8", include_bytes!("../static/push.js")),
        "passkey.js" => ("text/javascript; charset=utf-8", include_bytes!("../static/passkey.js")),
        "push-worker.js" => {
            ("text/javascript; charset=utf-8", include_bytes!("../static/push-worker.js"))
        }
        "mark.svg" => ("image/svg+xml", include_bytes!("../static/mark.svg")),
        "fonts/hyperlegible-next-400.woff2" => (woff2, font!("hyperlegible-next-400")),
        "fonts/hyperlegible-next-700.woff2" => (woff2, font!("hyperlegible-next-700")),
        "fonts/hyperlegible-mono-400.woff2" => (woff2, font!("hyperlegible-mono-400")),
        "fonts/hyperlegible-mono-700.woff2" => (woff2, font!("hyperlegible-mono-700")),
        "alarm.wav" => return Some(("audio/wav", Cow::Borrowed(alarm()))),
        _ => return None,
    };
    Some((kind, Cow::Borrowed(bytes)))
}

/// Samples per second.
const RATE: u32 = 8_000;
/// Two tones, then a pause, so that speech is still understood between; s.
const TONES: [(f64, f64); 4] = [(880.0, 0.18), (660.0, 0.22), (880.0, 0.18), (0.0, 2.4)];

/// The alarm: made once, played in a loop by the page.
fn alarm() -> &'static [u8] {
    static WAV: OnceLock<Vec<u8>> = OnceLock::new();
    WAV.get_or_init(|| wav(&samples()))
}

fn samples() -> Vec<u8> {
    let mut samples = Vec::new();
    for (pitch, lasts_s) in TONES {
        let count = (f64::from(RATE) * lasts_s) as u32;
        for i in 0..count {
            let at_s = f64::from(i) / f64::from(RATE);
            // Soft edges: a tone that starts at full strength clicks.
            let edge = (f64::from(i.min(count - i)) / 200.0).min(1.0);
            let wave = libm::sin(2.0 * std::f64::consts::PI * pitch * at_s);
            samples.push((128.0 + 90.0 * edge * wave) as u8);
        }
    }
    samples
}

/// A WAV file of one channel of unsigned bytes (RIFF/WAVE, PCM).
fn wav(samples: &[u8]) -> Vec<u8> {
    let length = samples.len() as u32;
    let mut file = Vec::with_capacity(samples.len() + 44);
    file.extend(b"RIFF");
    file.extend((36 + length).to_le_bytes());
    file.extend(b"WAVEfmt ");
    file.extend(16u32.to_le_bytes());
    file.extend(1u16.to_le_bytes());
    file.extend(1u16.to_le_bytes());
    file.extend(RATE.to_le_bytes());
    file.extend(RATE.to_le_bytes());
    file.extend(1u16.to_le_bytes());
    file.extend(8u16.to_le_bytes());
    file.extend(b"data");
    file.extend(length.to_le_bytes());
    file.extend(samples);
    file
}
