//! A page of a notepad as somebody photographs it at night: ruled lines, and figures by an unsteady hand. Nothing on it
//! can be read by a machine, as on any other notepad.

use crate::Chance;
use anyhow::Result;
use image::{GrayImage, ImageFormat, Luma};
use std::io::Cursor;

const WIDTH: u32 = 560;
const LINE: u32 = 56;
const PAPER: u8 = 232;
const RULE: u8 = 200;
const INK: u8 = 52;

/// The strokes of a character on a field of 4 by 6: each a line of `(x, y)` from the left and the top.
fn strokes(character: char) -> &'static [&'static [(i32, i32)]] {
    match character {
        '0' | 'O' => &[&[(2, 0), (0, 2), (0, 4), (2, 6), (4, 4), (4, 2), (2, 0)]],
        '1' => &[&[(1, 1), (2, 0), (2, 6)]],
        '2' => &[&[(0, 1), (2, 0), (4, 1), (4, 2), (0, 6), (4, 6)]],
        '3' => &[&[(0, 0), (4, 0), (2, 2), (4, 4), (2, 6), (0, 5)]],
        '4' => &[&[(3, 6), (3, 0), (0, 4), (4, 4)]],
        '5' => &[&[(4, 0), (0, 0), (0, 3), (3, 2), (4, 4), (2, 6), (0, 5)]],
        '6' => &[&[(3, 0), (0, 4), (1, 6), (4, 5), (3, 3), (0, 4)]],
        '7' => &[&[(0, 0), (4, 0), (1, 6)]],
        '8' => &[&[(2, 3), (0, 1), (2, 0), (4, 1), (0, 5), (2, 6), (4, 5), (2, 3)]],
        '9' => &[&[(4, 2), (2, 3), (0, 1), (2, 0), (4, 1), (3, 6)]],
        ':' => &[&[(2, 1), (2, 2)], &[(2, 4), (2, 5)]],
        'L' => &[&[(0, 0), (0, 6), (4, 6)]],
        'G' => &[&[(4, 1), (2, 0), (0, 2), (0, 5), (2, 6), (4, 5), (4, 3), (2, 3)]],
        'K' => &[&[(0, 0), (0, 6)], &[(4, 0), (0, 4)], &[(1, 3), (4, 6)]],
        _ => &[],
    }
}

/// Draws the lines of a page as a PNG.
pub(crate) fn page(lines: &[String], seed: u64) -> Result<Vec<u8>> {
    let mut hand = Chance::new(seed);
    let height = LINE * (lines.len() as u32 + 2);
    let mut picture = GrayImage::from_pixel(WIDTH, height, Luma([PAPER]));
    for (n, line) in lines.iter().enumerate() {
        let foot = LINE * (n as u32 + 1) + LINE / 2;
        for x in 0..WIDTH {
            picture.put_pixel(x, foot + 8, Luma([RULE]));
        }
        for (place, character) in line.chars().enumerate() {
            let left = 40 + 32 * place as i32 + hand.between(0, 5) as i32;
            write(&mut picture, strokes(character), (left, foot as i32 - 30), &mut hand);
        }
    }
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, ImageFormat::Png)?;
    Ok(bytes.into_inner())
}

fn write(
    picture: &mut GrayImage,
    strokes: &[&[(i32, i32)]],
    (left, top): (i32, i32),
    hand: &mut Chance,
) {
    for line in strokes {
        let mut shaken = Vec::with_capacity(line.len());
        for (x, y) in *line {
            let (dx, dy) = (hand.between(0, 3) as i32, hand.between(0, 3) as i32);
            shaken.push((left + x * 5 + dx, top + y * 5 + dy));
        }
        for pair in shaken.windows(2) {
            stroke(picture, pair[0], pair[1]);
        }
    }
}

fn stroke(picture: &mut GrayImage, from: (i32, i32), to: (i32, i32)) {
    let steps = (to.0 - from.0).abs().max((to.1 - from.1).abs()).max(1);
    for step in 0..=steps {
        let x = from.0 + (to.0 - from.0) * step / steps;
        let y = from.1 + (to.1 - from.1) * step / steps;
        for (dx, dy) in [(0, 0), (1, 0), (0, 1), (1, 1)] {
            let (x, y) = ((x + dx).max(0) as u32, (y + dy).max(0) as u32);
            if x < picture.width() && y < picture.height() {
                picture.put_pixel(x, y, Luma([INK]));
            }
        }
    }
}
