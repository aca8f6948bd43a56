//! The zip container, in the one form that a bundle may have.
//!
//! Every file is stored uncompressed, in order of name, without dates, comments or extra fields, so
//! that each list of files has exactly one sequence of bytes: nothing can hide between the files,
//! nothing can expand, and no name can point outside the folder. Any unzip program reads it.

use crate::names;
use crate::source::Source;
use std::fmt;
use std::io;

const LOCAL: u32 = 0x0403_4b50;
const CENTRAL: u32 = 0x0201_4b50;
const END: u32 = 0x0605_4b50;
const LOCAL_BYTES: u64 = 30;
const CENTRAL_BYTES: u64 = 46;
const END_BYTES: u64 = 22;

/// 1980-01-01, the day zero of zip dates: when a bundle was made is not said here.
const DATE: u16 = 0x0021;
/// Version 1.0 of the format is all that stored files need.
const VERSION: u16 = 10;

/// The largest bundle: the places of files are 32-bit numbers.
pub const BYTES_MAX: u64 = u32::MAX as u64;
/// The most files: their number is a 16-bit number.
pub const FILES_MAX: usize = u16::MAX as usize;

/// One file inside the archive.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct File {
    /// Its name, with `/` between folders.
    pub name: String,
    /// Where its bytes begin.
    pub at: u64,
    /// How many they are.
    pub len: u64,
    /// Their CRC-32 as the archive states it.
    pub crc: u32,
}

/// Why bytes are not an archive in the one form.
#[derive(Debug)]
pub enum ArchiveFault {
    /// The bytes could not be read.
    Io(io::Error),
    /// Not in the one form.
    Form {
        /// What is different.
        says: String,
    },
}

impl fmt::Display for ArchiveFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ArchiveFault::Io(error) => write!(f, "could not be read: {error}"),
            ArchiveFault::Form { says } => f.write_str(says),
        }
    }
}

impl std::error::Error for ArchiveFault {}

impl From<io::Error> for ArchiveFault {
    fn from(error: io::Error) -> ArchiveFault {
        ArchiveFault::Io(error)
    }
}

/// Why files do not fit into one archive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TooLarge;

impl fmt::Display for TooLarge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a bundle holds at most 65,535 files and 4 GiB: hand over the blobs apart")
    }
}

impl std::error::Error for TooLarge {}

/// Writes files, which must be in order of name.
pub fn write(files: &[(String, Vec<u8>)]) -> Result<Vec<u8>, TooLarge> {
    debug_assert!(files.is_sorted_by(|(before, _), (after, _)| before < after));
    let bytes: u64 = files
        .iter()
        .map(|(name, bytes)| {
            LOCAL_BYTES + CENTRAL_BYTES + 2 * name.len() as u64 + bytes.len() as u64
        })
        .sum();
    if files.len() > FILES_MAX || bytes + END_BYTES > BYTES_MAX {
        return Err(TooLarge);
    }
    let mut out = Vec::with_capacity((bytes + END_BYTES) as usize);
    let mut list = Vec::with_capacity(files.len());
    for (name, bytes) in files {
        let start = out.len() as u64;
        let at = start + LOCAL_BYTES + name.len() as u64;
        let crc = crc32fast::hash(bytes);
        let file = File { name: name.clone(), at, len: bytes.len() as u64, crc };
        out.extend(local(&file));
        out.extend(bytes);
        list.push(file);
    }
    let directory = out.len() as u64;
    list.iter().for_each(|file| out.extend(central(file)));
    out.extend(end(&list, directory));
    Ok(out)
}

/// Reads the list of files and refuses everything that [`write`] would not have written, save the
/// contents, which the caller reads and compares with each [`File::crc`].
pub fn read<S: Source + ?Sized>(source: &S) -> Result<Vec<File>, ArchiveFault> {
    let len = source.len();
    if !(END_BYTES..=BYTES_MAX).contains(&len) {
        return form("too short or too long to be a bundle");
    }
    let mut tail = [0; END_BYTES as usize];
    source.read_at(len - END_BYTES, &mut tail)?;
    if u32_at(&tail, 0) != END {
        return form(
            "does not end as a bundle ends: it was cut off, added to, or is no zip archive",
        );
    }
    let (count, size, directory) =
        (usize::from(u16_at(&tail, 10)), u64::from(u32_at(&tail, 12)), u32_at(&tail, 16));
    let directory = u64::from(directory);
    if directory + size + END_BYTES != len {
        return form("its list of files is not where the end of the archive says");
    }
    let files = read_directory(source, directory, size, count)?;
    if tail != end(&files, directory) {
        return form("the end of the archive is not in the form of a bundle");
    }
    check_places(source, &files, directory)?;
    Ok(files)
}

fn read_directory<S: Source + ?Sized>(
    source: &S,
    directory: u64,
    size: u64,
    count: usize,
) -> Result<Vec<File>, ArchiveFault> {
    let mut records = vec![0; size as usize];
    source.read_at(directory, &mut records)?;
    let mut rest = records.as_slice();
    let mut files: Vec<File> = Vec::with_capacity(count);
    while !rest.is_empty() {
        let Some((head, after)) = rest.split_at_checked(CENTRAL_BYTES as usize) else {
            return form("its list of files is cut off");
        };
        let Some((name, after)) = after.split_at_checked(usize::from(u16_at(head, 28))) else {
            return form("its list of files is cut off");
        };
        let name = std::str::from_utf8(name).unwrap_or_default();
        if !names::is_known(name) {
            return form(&format!(
                "file {name:?} has no place in a bundle; do not unpack this archive"
            ));
        }
        if files.last().is_some_and(|before| before.name.as_str() >= name) {
            return form(&format!("file {name:?} is listed twice or out of order"));
        }
        let start = u64::from(u32_at(head, 42));
        let file = File {
            at: start + LOCAL_BYTES + name.len() as u64,
            len: u64::from(u32_at(head, 24)),
            crc: u32_at(head, 16),
            name: name.to_owned(),
        };
        if central(&file) != [head, file.name.as_bytes()].concat() {
            return form(&format!(
                "file {:?} is compressed, dated or has extra fields: a bundle that was packed \
                 again; ask for the original",
                file.name
            ));
        }
        files.push(file);
        rest = after;
    }
    Ok(files)
}

/// The files must follow each other without a byte between, up to the directory.
fn check_places<S: Source + ?Sized>(
    source: &S,
    files: &[File],
    directory: u64,
) -> Result<(), ArchiveFault> {
    let mut next = 0;
    for file in files {
        let head = local(file);
        if file.at != next + head.len() as u64 || file.at + file.len > directory {
            return form(&format!("file {:?} is not where it should begin", file.name));
        }
        let mut found = vec![0; head.len()];
        source.read_at(next, &mut found)?;
        if found != head {
            return form(&format!("file {:?} begins otherwise than the list says", file.name));
        }
        next = file.at + file.len;
    }
    if next == directory { Ok(()) } else { form("there are bytes that belong to no file") }
}

fn form<T>(says: &str) -> Result<T, ArchiveFault> {
    Err(ArchiveFault::Form { says: says.to_owned() })
}

fn local(file: &File) -> Vec<u8> {
    let mut out = LOCAL.to_le_bytes().to_vec();
    put_common(&mut out, file);
    out.extend(file.name.as_bytes());
    out
}

fn central(file: &File) -> Vec<u8> {
    let mut out = CENTRAL.to_le_bytes().to_vec();
    out.extend(VERSION.to_le_bytes());
    put_common(&mut out, file);
    // Comment length, disk, attributes inside and outside.
    out.extend([0; 10]);
    let start = file.at - LOCAL_BYTES - file.name.len() as u64;
    out.extend((start as u32).to_le_bytes());
    out.extend(file.name.as_bytes());
    out
}

/// What both headers say of a file, from the needed version to the length of the extra fields.
fn put_common(out: &mut Vec<u8>, file: &File) {
    out.extend(VERSION.to_le_bytes());
    // Flags, method 0 (stored), time.
    out.extend([0; 6]);
    out.extend(DATE.to_le_bytes());
    out.extend(file.crc.to_le_bytes());
    out.extend((file.len as u32).to_le_bytes());
    out.extend((file.len as u32).to_le_bytes());
    out.extend((file.name.len() as u16).to_le_bytes());
    out.extend([0; 2]);
}

fn end(files: &[File], directory: u64) -> [u8; END_BYTES as usize] {
    let size: u64 = files.iter().map(|file| CENTRAL_BYTES + file.name.len() as u64).sum();
    let count = (files.len() as u16).to_le_bytes();
    let mut out = [0; END_BYTES as usize];
    out[..4].copy_from_slice(&END.to_le_bytes());
    out[8..10].copy_from_slice(&count);
    out[10..12].copy_from_slice(&count);
    out[12..16].copy_from_slice(&(size as u32).to_le_bytes());
    out[16..20].copy_from_slice(&(directory as u32).to_le_bytes());
    out
}

fn u16_at(bytes: &[u8], at: usize) -> u16 {
    u16::from_le_bytes([bytes[at], bytes[at + 1]])
}

fn u32_at(bytes: &[u8], at: usize) -> u32 {
    u32::from_le_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn files() -> Vec<(String, Vec<u8>)> {
        let blob = format!("blobs/{}", ledger::Digest::of(b"x"));
        vec![(names::README.into(), b"hello".to_vec()), (blob, b"x".to_vec())]
    }

    #[test]
    fn reads_what_it_wrote_and_notices_every_changed_byte() {
        let bytes = write(&files()).unwrap();
        let read_back = read(bytes.as_slice()).unwrap();
        let names: Vec<&str> = read_back.iter().map(|file| file.name.as_str()).collect();
        assert_eq!(names, files().iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>());
        let contents: Vec<std::ops::Range<usize>> =
            read_back.iter().map(|file| file.at as usize..(file.at + file.len) as usize).collect();
        for place in 0..bytes.len() {
            if contents.iter().any(|content| content.contains(&place)) {
                continue;
            }
            for bit in 0..8 {
                let mut changed = bytes.clone();
                changed[place] ^= 1 << bit;
                // The stated CRC and length are compared when the contents are read.
                if let Ok(files) = read(changed.as_slice()) {
                    assert_ne!(files, read_back, "byte {place} bit {bit}");
                }
            }
        }
    }

    #[test]
    fn a_cut_or_longer_archive_is_refused() {
        let bytes = write(&files()).unwrap();
        for len in 0..bytes.len() {
            assert!(read(&bytes[..len]).is_err());
        }
        let longer = [bytes.as_slice(), b"\0"].concat();
        assert!(read(longer.as_slice()).is_err());
    }
}
