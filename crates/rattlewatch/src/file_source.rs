//! A bundle on disk, read in place: a large one never stands in memory.

use bundle::Source;
use std::fs::File;
use std::io;
use std::os::unix::fs::FileExt;
use std::path::Path;

pub(crate) struct FileSource {
    file: File,
    len: u64,
}

impl FileSource {
    pub(crate) fn open(path: &Path) -> io::Result<FileSource> {
        let file = File::open(path)?;
        let about = file.metadata()?;
        if !about.is_file() {
            let says = "not a file. Give the bundle as it came, one zip file; in a folder that it was unpacked \
                        into, `python3 verify.py` checks it";
            return Err(io::Error::new(io::ErrorKind::InvalidInput, says));
        }
        Ok(FileSource { file, len: about.len() })
    }
}

impl Source for FileSource {
    fn len(&self) -> u64 {
        self.len
    }

    fn read_at(&self, at: u64, into: &mut [u8]) -> io::Result<()> {
        self.file.read_exact_at(into, at)
    }
}
