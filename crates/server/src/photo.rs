//! Pictures that strangers send: looked at by their first bytes only, never decoded here, and shown to
//! nobody but as an attachment.

use imagesize::ImageType;
use words::{Lang, links};

/// More picture elements than any camera of a phone makes (our own limit): what unpacks to more is
/// meant to fill a memory.
const PIXELS_MAX: usize = 200_000_000;
/// The largest picture, bytes.
pub(crate) const BYTES_MAX: usize = 12 * 1024 * 1024;

/// Why a picture is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fault {
    NoPicture,
    TooLarge,
}

/// The picture's media type.
pub(crate) fn check(bytes: &[u8]) -> Result<&'static str, Fault> {
    let kind = imagesize::image_type(bytes).map_err(|_| Fault::NoPicture)?;
    let mime = match kind {
        ImageType::Jpeg => "image/jpeg",
        ImageType::Png => "image/png",
        ImageType::Webp => "image/webp",
        _ => return Err(Fault::NoPicture),
    };
    let size = imagesize::blob_size(bytes).map_err(|_| Fault::NoPicture)?;
    let pixels = size.width.checked_mul(size.height).filter(|pixels| *pixels <= PIXELS_MAX);
    match pixels {
        Some(0) => Err(Fault::NoPicture),
        Some(_) if bytes.len() <= BYTES_MAX => Ok(mime),
        _ => Err(Fault::TooLarge),
    }
}

/// The fault in words.
pub(crate) fn says(lang: Lang, fault: Fault) -> String {
    match fault {
        Fault::NoPicture => links::no_picture(lang).to_owned(),
        Fault::TooLarge => links::picture_large(lang, BYTES_MAX / (1024 * 1024)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A PNG header with these sides (PNG specification 11.2.2): no picture data follows.
    fn png(width: u32, height: u32) -> Vec<u8> {
        let mut bytes = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
        bytes.extend(width.to_be_bytes());
        bytes.extend(height.to_be_bytes());
        bytes.extend([8, 2, 0, 0, 0, 0, 0, 0, 0]);
        bytes
    }

    #[test]
    fn only_pictures_of_a_sane_size_are_taken() {
        assert_eq!(check(&png(640, 480)), Ok("image/png"));
        assert_eq!(check(&png(65_000, 65_000)), Err(Fault::TooLarge), "a picture bomb");
        assert_eq!(check(&png(0, 480)), Err(Fault::NoPicture));
        for other in [
            &b"%PDF-1.7"[..],
            b"<svg xmlns='http://www.w3.org/2000/svg'/>",
            b"MZ",
            b"",
            b"\xff\xd8",
        ] {
            assert_eq!(check(other), Err(Fault::NoPicture));
        }
    }
}
