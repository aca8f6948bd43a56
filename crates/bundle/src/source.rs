//! Where the bytes of a bundle come from, and reading one file of it line by line in little memory.

use crate::archive::File;
use ledger::Digest;
use sha2::Digest as _;
use std::io;

/// Bytes that can be read at any place: a slice, or an open file.
pub trait Source {
    /// How many bytes there are.
    fn len(&self) -> u64;

    /// Fills `into` with the bytes from `at` on.
    fn read_at(&self, at: u64, into: &mut [u8]) -> io::Result<()>;

    /// Whether there are no bytes.
    fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

impl Source for [u8] {
    fn len(&self) -> u64 {
        <[u8]>::len(self) as u64
    }

    fn read_at(&self, at: u64, into: &mut [u8]) -> io::Result<()> {
        let start = usize::try_from(at).unwrap_or(usize::MAX);
        let bytes = start.checked_add(into.len()).and_then(|end| self.get(start..end));
        into.copy_from_slice(bytes.ok_or(io::ErrorKind::UnexpectedEof)?);
        Ok(())
    }
}

const CHUNK_BYTES: usize = 256 * 1024;

/// One file, read once from begin to end, hashed on the way.
pub struct Stream<'s, S: Source + ?Sized> {
    source: &'s S,
    next: u64,
    end: u64,
    chunk: Vec<u8>,
    read: usize,
    sha: sha2::Sha256,
    crc: crc32fast::Hasher,
}

/// What [`Stream::line`] found.
#[derive(Debug, PartialEq, Eq)]
pub enum NextLine {
    /// A line without its newline.
    Line(Vec<u8>),
    /// A line of more bytes than any line may have; it was passed over.
    TooLong,
    /// The file ends without a newline.
    Unended,
    /// The end of the file.
    End,
}

impl<'s, S: Source + ?Sized> Stream<'s, S> {
    /// Begins at the first byte of `file`.
    pub fn new(source: &'s S, file: &File) -> Stream<'s, S> {
        Stream {
            source,
            next: file.at,
            end: file.at + file.len,
            chunk: Vec::new(),
            read: 0,
            sha: sha2::Sha256::new(),
            crc: crc32fast::Hasher::new(),
        }
    }

    /// Reads the next line.
    pub fn line(&mut self) -> io::Result<NextLine> {
        let mut line = Vec::new();
        let mut too_long = false;
        loop {
            let rest = self.rest()?;
            if rest.is_empty() {
                let began = too_long || !line.is_empty();
                return Ok(if began { NextLine::Unended } else { NextLine::End });
            }
            let newline = rest.iter().position(|byte| *byte == b'\n');
            let taken = newline.unwrap_or(rest.len());
            too_long = too_long || line.len() + taken > ledger::canonical::LINE_BYTES_MAX;
            if !too_long {
                line.extend(&rest[..taken]);
            }
            self.read += taken + usize::from(newline.is_some());
            if newline.is_some() {
                return Ok(if too_long { NextLine::TooLong } else { NextLine::Line(line) });
            }
        }
    }

    /// Reads the rest of the file, if it has no more than `max` bytes.
    pub fn whole(&mut self, max: usize) -> io::Result<Option<Vec<u8>>> {
        let left = self.end - self.next + (self.chunk.len() - self.read) as u64;
        if left > max as u64 {
            return Ok(None);
        }
        let mut bytes = Vec::with_capacity(left as usize);
        loop {
            let rest = self.rest()?;
            if rest.is_empty() {
                return Ok(Some(bytes));
            }
            bytes.extend(rest);
            self.read = self.chunk.len();
        }
    }

    /// Passes over what was not read, and returns the digest and CRC-32 of the whole file.
    pub fn finish(mut self) -> io::Result<(Digest, u32)> {
        while !self.rest()?.is_empty() {
            self.read = self.chunk.len();
        }
        Ok((Digest(self.sha.finalize().into()), self.crc.finalize()))
    }

    /// The bytes that are in memory and not yet taken; empty only at the end of the file.
    fn rest(&mut self) -> io::Result<&[u8]> {
        if self.read == self.chunk.len() {
            let len = CHUNK_BYTES.min((self.end - self.next) as usize);
            self.chunk.resize(len, 0);
            self.source.read_at(self.next, &mut self.chunk)?;
            self.sha.update(&self.chunk);
            self.crc.update(&self.chunk);
            self.next += len as u64;
            self.read = 0;
        }
        Ok(&self.chunk[self.read..])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_cut_at_newlines_only() {
        let long = "x".repeat(ledger::canonical::LINE_BYTES_MAX + 1);
        let text = format!("..one\n\n{long}\ntwo\nend");
        let file = File { name: "f".into(), at: 2, len: text.len() as u64 - 2, crc: 0 };
        let mut stream = Stream::new(text.as_bytes(), &file);
        let line = |text: &str| NextLine::Line(text.as_bytes().to_vec());
        let expected = [
            line("one"),
            line(""),
            NextLine::TooLong,
            line("two"),
            NextLine::Unended,
            NextLine::End,
        ];
        for next in expected {
            assert_eq!(stream.line().unwrap(), next);
        }
        let (sha, crc) = stream.finish().unwrap();
        assert_eq!(sha, Digest::of(&text.as_bytes()[2..]));
        assert_eq!(crc, crc32fast::hash(&text.as_bytes()[2..]));
    }
}
