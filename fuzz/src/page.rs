//! The picture of a page, as pixels: the first two bytes are its width, each further one a pixel.

use crate::Target;
use ledger::WatchId;
use sheet::{Expected, GrayPicture, Kind};

pub(crate) const TARGET: Target = Target {
    name: "page",
    says: "any picture is read; boxes are told only of a sheet whose code was read",
    reads,
    seeds: || vec![blank(), marks(), code()],
    longest: 32 * 1024,
};

fn reads(bytes: &[u8]) {
    let Some((width, pixels)) = bytes.split_at_checked(2) else { return };
    let width = usize::from(u16::from_be_bytes([width[0], width[1]]));
    let height = pixels.len().checked_div(width).unwrap_or(0);
    let pixels = pixels[..width * height].to_vec();
    let Some(picture) = GrayPicture::new(width, height, pixels) else { return };
    let watch = WatchId::new("w-gannet-hotel").expect("a plain id");
    let expected = Expected::of_watch(watch, Vec::new(), Some((0, 43_200_000)));
    let reading = sheet::read(&picture, &expected);
    if reading.kind == Kind::Notepad {
        assert!(reading.boxes.is_empty() && reading.code.is_none(), "a notepad page has no boxes");
    }
    let _ = reading.to_json(words::Lang::En);
}

fn blank() -> Vec<u8> {
    [&[0, 40][..], &[244; 40 * 56]].concat()
}

/// Four marks of a sheet, drawn small: a dark disc in a white ring in a dark ring.
fn marks() -> Vec<u8> {
    let (width, height) = (120_i64, 160_i64);
    let dark = |x: i64, y: i64| {
        [(14, 14), (106, 14), (106, 146), (14, 146)].iter().any(|(cx, cy)| {
            let away = (x - cx) * (x - cx) + (y - cy) * (y - cy);
            away < 12 || (36..90).contains(&away)
        })
    };
    let mut bytes = (width as u16).to_be_bytes().to_vec();
    for y in 0..height {
        bytes.extend((0..width).map(|x| if dark(x, y) { 20 } else { 240 }));
    }
    bytes
}

/// A code alone.
fn code() -> Vec<u8> {
    let modules = sheet::modules("RWS1/A/W-GANNET-HOTEL").expect("a short text");
    let side = (modules.side + 8) * 3;
    let mut bytes = (side as u16).to_be_bytes().to_vec();
    for y in 0..side {
        for x in 0..side {
            let (x, y) = ((x / 3).wrapping_sub(4), (y / 3).wrapping_sub(4));
            let dark = x < modules.side && y < modules.side && modules.is_dark(x, y);
            bytes.push(if dark { 20 } else { 240 });
        }
    }
    bytes
}
