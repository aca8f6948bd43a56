//! Picture files of strangers: looked at by their first bytes, and decoded where a page is read.

use crate::Target;
use server::from_outside;
use sheet::GrayPicture;

pub(crate) const TARGET: Target = Target {
    name: "photo",
    says: "a picture has as many pixels as its sides say, and comes back from its own file",
    reads,
    seeds: || {
        let mut picture = GrayPicture::plain(24, 16, 200);
        (0..16).for_each(|at| picture.set(at, at, 10));
        let grey = picture.to_png();
        let image =
            image::RgbImage::from_fn(24, 16, |x, y| image::Rgb([x as u8 * 9, y as u8 * 9, 90]));
        let as_file = |format: image::ImageFormat| {
            let mut bytes = std::io::Cursor::new(Vec::new());
            image.write_to(&mut bytes, format).expect("a vector takes everything");
            bytes.into_inner()
        };
        use image::ImageFormat::{Jpeg, Png, WebP};
        vec![grey, as_file(Jpeg), as_file(Png), as_file(WebP)]
    },
    longest: 8 * 1024,
};

fn reads(bytes: &[u8]) {
    let _ = from_outside::photo(bytes);
    let Ok(picture) = GrayPicture::decode(bytes) else { return };
    assert_eq!(picture.pixels().len(), picture.width() * picture.height());
    if picture.pixels().len() < 100_000 {
        let again = GrayPicture::decode(&picture.to_png()).expect("our own file");
        assert!(again == picture, "a picture comes back");
    }
}
