//! `codes [--frames N] [--seed S] [--text TEXT] [--chromium PROGRAM]`: how long the phone's own reader takes for a tag's code
//! in a frame of its camera, as shipped (`cargo x web`) in a headless Chromium, and natively: codes of three sizes, turned,
//! blurred, in uneven light, and frames without one. A browser with a reader of its own does not need this one.

use crate::browser::{self, base64, median};
use anyhow::{Context, Result, ensure};
use bench_plan::options::Options;
use bench_plan::random::Random;
use serde_json::{Value, json};
use std::path::Path;
use std::time::Instant;

/// The camera's own glue and wasm. A frame comes as brightness and is handed over as the canvas would: four bytes a pixel.
const PAGE: &str = r#"<!doctype html><meta charset="utf-8"><body><script type="module">
import { initSync, decode } from "data:text/javascript;base64,GLUE";
const bytes = text => Uint8Array.from(atob(text), sign => sign.charCodeAt(0));
initSync({ module: bytes("WASM") });
const results = FRAMES.map(frame => {
  const grey = bytes(frame);
  const colours = new Uint8Array(4 * grey.length);
  grey.forEach((light, at) => colours.fill(light, 4 * at, 4 * at + 3));
  const began = performance.now();
  const text = decode(colours, WIDE);
  return { ms: performance.now() - began, text };
});
document.body.textContent = "[[" + JSON.stringify({ agent: navigator.userAgent, results }) + "]]";
</script>"#;

/// What phones give when nothing is asked for, in pixels.
const WIDE: usize = 640;
const HIGH: usize = 480;
/// Widths of the code with its quiet zone, in pixels; zero is a frame without a code.
const SIZES: [usize; 4] = [0, 120, 200, 360];

#[expect(clippy::disallowed_methods, reason = "a measurement reads the clock")]
pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["frames", "seed", "text", "chromium"])?;
    let frames: usize = options.get("frames", 40)?;
    let seed: u64 = options.get("seed", 1)?;
    let text: String = options.get("text", "RATTLEWATCH:GANNET-HOTEL/KITCHEN".to_owned())?;
    let chromium: String = options.get("chromium", "chromium".to_owned())?;
    let modules = sheet::modules(&text).context("the text fits no code")?;
    let mut random = Random(seed);
    for size in SIZES {
        let shown: Vec<Vec<u8>> = (0..frames).map(|_| frame(&modules, size, &mut random)).collect();
        let mut native_ms: Vec<f64> = Vec::new();
        for grey in &shown {
            let began = Instant::now();
            let mut reader = quircs::Quirc::default();
            let found =
                reader.identify(WIDE, HIGH, grey).filter_map(|code| code.ok()?.decode().ok());
            std::hint::black_box(found.count());
            native_ms.push(began.elapsed().as_secs_f64() * 1e3);
        }
        let found = in_browser(&chromium, &shown)?;
        let results = found["results"].as_array().context("the page shows its results")?;
        ensure!(results.len() == frames, "the page answered {} of {frames}", results.len());
        let read = results.iter().filter(|result| result["text"] == *text).count();
        let other = results.iter().filter(|result| !result["text"].is_null()).count() - read;
        let mut times: Vec<f64> =
            results.iter().filter_map(|result| result["ms"].as_f64()).collect();
        let wasm_ms = median(&mut times);
        println!(
            "{}",
            json!({
                "bench": "codes", "code_px": size, "frames": frames, "read": read, "read_wrongly": other,
                "wasm_ms": wasm_ms, "wasm_max_ms": times.last(), "native_ms": median(&mut native_ms), "agent": found["agent"],
            })
        );
        ensure!(other == 0, "{other} codes of {size} px were read as something else");
    }
    Ok(())
}

fn in_browser(chromium: &str, frames: &[Vec<u8>]) -> Result<Value> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/web");
    let built = |name: &str| {
        std::fs::read(folder.join(name))
            .with_context(|| format!("{name} is missing: run `cargo x web`"))
    };
    let frames: Vec<Value> = frames.iter().map(|grey| Value::from(base64(grey))).collect();
    let page = PAGE
        .replace("WIDE", &WIDE.to_string())
        .replace("GLUE", &base64(&built("camera.js")?))
        .replace("WASM", &base64(&built("camera_bg.wasm")?))
        .replace("FRAMES", &Value::from(frames).to_string());
    browser::shown(chromium, &page)
}

/// A frame: light that falls off to one side, grain, and the code somewhere in it, turned by up to 30° and a little out
/// of focus.
fn frame(modules: &sheet::Modules, size: usize, random: &mut Random) -> Vec<u8> {
    let side = (modules.side + 8) as f64;
    let pixels = size.max(1) as f64 / side;
    let room = (size as f64 * 0.72).min(HIGH as f64 / 2.0);
    let centre = (
        room + random.unit() * (WIDE as f64 - 2.0 * room),
        room + random.unit() * (HIGH as f64 - 2.0 * room),
    );
    let (sin, cos) = libm::sincos((random.unit() - 0.5) * std::f64::consts::FRAC_PI_3);
    let (light, falls) = (120.0 + 100.0 * random.unit(), 0.6 * random.unit());
    let mut grey = vec![0; WIDE * HIGH];
    for (at, pixel) in grey.iter_mut().enumerate() {
        let (x, y) = ((at % WIDE) as f64, (at / WIDE) as f64);
        // Nine looks a pixel, half a pixel apart: the lens.
        let looks = (0..9)
            .map(|look| (x + f64::from(look % 3 - 1) * 0.6, y + f64::from(look / 3 - 1) * 0.6));
        let shine: f64 = looks
            .map(|(x, y)| {
                let (dx, dy) = (x - centre.0, y - centre.1);
                let column = ((dx * cos + dy * sin) / pixels + side / 2.0).floor();
                let row = ((dy * cos - dx * sin) / pixels + side / 2.0).floor();
                surface(modules, size, column, row)
            })
            .sum::<f64>()
            / 9.0;
        let here = light * (1.0 - falls * x / WIDE as f64) * shine + 12.0 * (random.unit() - 0.5);
        *pixel = here.clamp(0.0, 255.0) as u8;
    }
    grey
}

/// How much light comes back: paper, ink, or the wall behind.
fn surface(modules: &sheet::Modules, size: usize, column: f64, row: f64) -> f64 {
    let side = modules.side as f64;
    if size == 0 || column < 0.0 || row < 0.0 || column >= side + 8.0 || row >= side + 8.0 {
        return 0.55;
    }
    let (column, row) = (column - 4.0, row - 4.0);
    let is_code = column >= 0.0 && row >= 0.0 && column < side && row < side;
    if is_code && modules.is_dark(column as usize, row as usize) { 0.15 } else { 1.0 }
}
