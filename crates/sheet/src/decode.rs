//! From the bytes of a picture file to a grey picture, upright as its camera meant it. Native only: a
//! browser decodes by itself.

use crate::GrayPicture;
use image::{DynamicImage, GrayImage, ImageDecoder, ImageEncoder, ImageReader, Limits};
use std::io::Cursor;
use thiserror::Error;

/// A picture of more pixels than this is refused: 120 megapixels, far over any scan of a page.
const PIXELS_MAX: u64 = 120_000_000;

/// Nor one that unpacks to more (MiB): with 16 bits a channel 120 megapixels would fill a gigabyte.
const UNPACKED_MAX_MIB: u64 = 512;

/// Why bytes are no picture that can be read.
#[derive(Debug, Error)]
pub enum PictureFault {
    /// Another format, or damaged.
    #[error(
        "this is no JPEG, PNG or WebP picture that can be read ({0}): save it as one of these and try again"
    )]
    Unreadable(String),
    /// Too large.
    #[error(
        "the picture has {width} x {height} pixels, {mib} MiB unpacked, and {PIXELS_MAX} or {UNPACKED_MAX_MIB} MiB are \
         the most: make it smaller and try again"
    )]
    TooLarge {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
        /// What they take in memory, MiB.
        mib: u64,
    },
}

impl GrayPicture {
    /// Decodes a JPEG, PNG or WebP file.
    pub fn decode(bytes: &[u8]) -> Result<GrayPicture, PictureFault> {
        let unreadable = |fault: image::ImageError| PictureFault::Unreadable(fault.to_string());
        let reader = ImageReader::new(Cursor::new(bytes))
            .with_guessed_format()
            .map_err(|fault| PictureFault::Unreadable(fault.to_string()))?;
        let mut decoder = reader.into_decoder().map_err(unreadable)?;
        let (width, height) = decoder.dimensions();
        let mib = decoder.total_bytes() >> 20;
        if u64::from(width) * u64::from(height) > PIXELS_MAX || mib >= UNPACKED_MAX_MIB {
            return Err(PictureFault::TooLarge { width, height, mib });
        }
        let mut limits = Limits::no_limits();
        limits.max_alloc = Some(UNPACKED_MAX_MIB << 20);
        decoder.set_limits(limits).map_err(unreadable)?;
        // A camera that does not say how it was held is taken to have been held upright.
        let orientation = decoder.orientation().map_err(unreadable)?;
        let mut picture = DynamicImage::from_decoder(decoder).map_err(unreadable)?;
        picture.apply_orientation(orientation);
        let grey = picture.into_luma8();
        let (width, height) = grey.dimensions();
        Ok(GrayPicture::new(width as usize, height as usize, grey.into_raw())
            .expect("a grey image has a byte for each pixel"))
    }

    /// The picture as the bytes of a PNG file.
    pub fn to_png(&self) -> Vec<u8> {
        let (width, height) = (self.width() as u32, self.height() as u32);
        let grey = GrayImage::from_raw(width, height, self.pixels().to_vec())
            .expect("a byte for each pixel");
        let mut bytes = Vec::new();
        image::codecs::png::PngEncoder::new(&mut bytes)
            .write_image(grey.as_raw(), width, height, image::ExtendedColorType::L8)
            .expect("a Vec takes everything");
        bytes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_comes_back_from_its_file_and_other_bytes_are_refused() {
        let mut picture = GrayPicture::plain(12, 7, 200);
        picture.set(3, 2, 10);
        assert_eq!(GrayPicture::decode(&picture.to_png()).unwrap(), picture);
        // A PNG's signature and header (PNG specification 5.2 and 11.2.2): 10,000 x 10,000 of 16-bit red, green, blue
        // and alpha are fewer than 120 megapixels and 763 MiB.
        let mut deep = b"\x89PNG\r\n\x1a\n".to_vec();
        let head =
            [&b"IHDR"[..], &10_000u32.to_be_bytes(), &10_000u32.to_be_bytes(), &[16, 6, 0, 0, 0]]
                .concat();
        deep.extend(
            [&13u32.to_be_bytes()[..], &head, &crc32fast::hash(&head).to_be_bytes()].concat(),
        );
        deep.extend(b"\0\0\0\0IDAT\x35\xaf\x06\x1e");
        let says = GrayPicture::decode(&deep).unwrap_err().to_string();
        assert!(says.contains("762 MiB unpacked"), "{says}");
        let says = GrayPicture::decode(b"%PDF-1.7").unwrap_err().to_string();
        assert!(says.contains("JPEG, PNG or WebP"), "{says}");
    }
}
