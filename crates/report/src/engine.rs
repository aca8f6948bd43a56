//! The typesetter's world: one template, its data, its pictures, our faces, and nothing else.

use std::collections::BTreeMap;
use std::sync::LazyLock;
use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

/// Atkinson Hyperlegible Next and Mono, latin and latin extended, SIL Open Font License 1.1
/// (packages `@fontsource/atkinson-hyperlegible-next` and `-mono`); see `assets/fonts/`.
static FONTS: LazyLock<Vec<Font>> = LazyLock::new(|| {
    let faces: [&[u8]; 8] = [
        include_bytes!("../../../assets/fonts/hyperlegible-next-400.ttf"),
        include_bytes!("../../../assets/fonts/hyperlegible-next-700.ttf"),
        include_bytes!("../../../assets/fonts/hyperlegible-mono-400.ttf"),
        include_bytes!("../../../assets/fonts/hyperlegible-mono-700.ttf"),
        include_bytes!("../../../assets/fonts/hyperlegible-next-ext-400.ttf"),
        include_bytes!("../../../assets/fonts/hyperlegible-next-ext-700.ttf"),
        include_bytes!("../../../assets/fonts/hyperlegible-mono-ext-400.ttf"),
        include_bytes!("../../../assets/fonts/hyperlegible-mono-ext-700.ttf"),
    ];
    faces.iter().flat_map(|face| Font::iter(Bytes::new(*face))).collect()
});

static BOOK: LazyLock<LazyHash<FontBook>> =
    LazyLock::new(|| LazyHash::new(FontBook::from_fonts(FONTS.iter())));

static LIBRARY: LazyLock<LazyHash<Library>> = LazyLock::new(|| LazyHash::new(Library::default()));

/// Whether some face has a glyph for a letter.
pub(crate) fn covers(letter: char) -> bool {
    FONTS.iter().any(|font| font.info().coverage.contains(u32::from(letter)))
}

/// One document's world. Everything that is not in it is denied.
pub(crate) struct Desk {
    main: Source,
    files: BTreeMap<String, Bytes>,
}

impl Desk {
    pub(crate) fn new(template: &str, files: BTreeMap<String, Vec<u8>>) -> Desk {
        let main = Source::new(file_id("main.typ"), template.to_owned());
        let files = files.into_iter().map(|(name, bytes)| (name, Bytes::new(bytes))).collect();
        Desk { main, files }
    }
}

fn file_id(name: &str) -> FileId {
    let path = VirtualPath::new(name).expect("our file names are plain");
    FileId::new(RootedPath::new(VirtualRoot::Project, path))
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &LIBRARY
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &BOOK
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main.id() { Ok(self.main.clone()) } else { Err(FileError::AccessDenied) }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.files
            .iter()
            .find(|(name, _)| file_id(name) == id)
            .map(|(_, bytes)| bytes.clone())
            .ok_or(FileError::AccessDenied)
    }

    fn font(&self, index: usize) -> Option<Font> {
        FONTS.get(index).cloned()
    }

    /// Nothing on a page may depend on when it was set.
    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}
