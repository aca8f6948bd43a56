//! Pictures as they are printed: upright, and no larger than the paper shows. A phone's photo has twelve million
//! pixels; three hundred of them at full size would take ten gigabytes to set and nobody could send the file. The
//! record keeps the picture as it was taken, and its digest stands beside the print.

use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use image::{ColorType, DynamicImage, ImageDecoder, ImageReader, Limits};
use std::io::Cursor;

/// A picture stands 87 mm wide and 60 mm high at most: about 230 dots to the inch.
const WIDE_PX: u32 = 800;
const HIGH_PX: u32 = 560;
/// Small pictures stay as they are up to here, bytes.
const SMALL: usize = 256 * 1024;
/// Of the JPEG that is printed (common practice for photos).
const QUALITY: u8 = 82;
/// What decoding may take, bytes: a hundred million pixels of colour.
const DECODED_MAX: u64 = 400_000_000;

/// A picture that the typesetter can take.
pub(super) struct Printed {
    /// The ending of its file.
    pub(super) kind: &'static str,
    pub(super) bytes: Vec<u8>,
}

/// None if the bytes are no JPEG, PNG or WebP, or a damaged one.
pub(super) fn of(bytes: &[u8]) -> Option<Printed> {
    let kind = extension(bytes)?;
    let mut reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format().ok()?;
    let mut limits = Limits::default();
    limits.max_alloc = Some(DECODED_MAX);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().ok()?;
    let turned = decoder.orientation().ok()?;
    let plain = matches!(
        decoder.color_type(),
        ColorType::L8 | ColorType::La8 | ColorType::Rgb8 | ColorType::Rgba8
    );
    let mut picture = DynamicImage::from_decoder(decoder).ok()?;
    let upright = turned == image::metadata::Orientation::NoTransforms;
    picture.apply_orientation(turned);
    let fits = picture.width() <= WIDE_PX && picture.height() <= HIGH_PX;
    if fits && upright && plain && bytes.len() <= SMALL {
        return Some(Printed { kind, bytes: bytes.to_vec() });
    }
    if !fits {
        picture = picture.resize(WIDE_PX, HIGH_PX, FilterType::Triangle);
    }
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, QUALITY).encode_image(&picture.to_rgb8()).ok()?;
    Some(Printed { kind: "jpg", bytes: jpeg })
}

/// The kind of picture by its first bytes: what a line calls it is only a claim.
fn extension(bytes: &[u8]) -> Option<&'static str> {
    match bytes {
        [0xff, 0xd8, 0xff, ..] => Some("jpg"),
        [0x89, b'P', b'N', b'G', ..] => Some("png"),
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some("webp"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn jpeg(wide: u32, high: u32) -> Vec<u8> {
        let picture = image::RgbImage::from_fn(wide, high, |x, y| {
            image::Rgb([(x % 251) as u8, (y % 241) as u8, ((x * y) % 239) as u8])
        });
        let mut bytes = Vec::new();
        JpegEncoder::new_with_quality(&mut bytes, 90).encode_image(&picture).expect("a picture");
        bytes
    }

    #[test]
    fn a_photo_of_a_phone_is_printed_small() {
        let printed = of(&jpeg(2000, 1500)).expect("a picture");
        let size = image::load_from_memory(&printed.bytes).expect("a picture");
        assert_eq!((size.width(), size.height()), (747, 560));
        assert!(printed.bytes.len() < SMALL, "{}", printed.bytes.len());
    }

    #[test]
    fn a_small_one_stays_byte_for_byte() {
        let bytes = jpeg(40, 30);
        assert_eq!(of(&bytes).expect("a picture").bytes, bytes);
    }

    #[test]
    fn what_is_no_picture_or_a_damaged_one_is_not_printed() {
        assert!(of(b"photo 1").is_none());
        let whole = jpeg(400, 300);
        assert!(of(&whole[..24]).is_none());
        assert!(of(&[0xff, 0xd8, 0xff, 0, 1, 2, 3]).is_none());
    }
}
