//! What the codes of one set hold together: lines of one device, packed.

use crate::sync::SentLine;
use ledger::PublicKey;
use miniz_oxide::deflate::compress_to_vec;
use miniz_oxide::inflate::decompress_to_vec_with_limit;
use serde::{Deserialize, Serialize};
use std::fmt;

/// The version that this code writes.
const VERSION: u32 = 1;

/// The best that the packer can do (miniz's own scale goes to 10).
const LEVEL: u8 = 9;

/// A parcel unpacks to no more than this, bytes: a set holds twenty lines.
const UNPACKED_MAX: usize = 2_000_000;

/// Lines of one device with its key, which names it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Parcel {
    v: u32,
    /// The key that signed all of the lines.
    pub key: PublicKey,
    /// The lines, in the order of their chains.
    pub lines: Vec<SentLine>,
}

/// Why bytes are no parcel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ParcelFault {
    /// Written by a newer program.
    Newer,
    /// Anything else: it was not written by a phone of ours.
    Unreadable,
}

impl fmt::Display for ParcelFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            ParcelFault::Newer => "the codes are of a newer program: update this phone first",
            ParcelFault::Unreadable => "the codes hold no lines of a phone: show them again",
        })
    }
}

impl std::error::Error for ParcelFault {}

impl Parcel {
    /// Lines of one device.
    pub fn new(key: PublicKey, lines: Vec<SentLine>) -> Parcel {
        Parcel { v: VERSION, key, lines }
    }

    /// Packed for travelling: JSON, then DEFLATE (RFC 1951).
    pub fn pack(&self) -> Vec<u8> {
        let json = serde_json::to_vec(self).expect("a parcel holds text and numbers");
        compress_to_vec(&json, LEVEL)
    }

    /// Reads what was packed. Nothing in it is verified yet.
    pub fn open(packed: &[u8]) -> Result<Parcel, ParcelFault> {
        let json = decompress_to_vec_with_limit(packed, UNPACKED_MAX)
            .map_err(|_| ParcelFault::Unreadable)?;
        #[derive(Deserialize)]
        struct Version {
            v: u32,
        }
        match ledger::json::parse::<Version>(&json) {
            Ok(Version { v }) if v > VERSION => return Err(ParcelFault::Newer),
            _ => {}
        }
        ledger::json::parse(&json).map_err(|_| ParcelFault::Unreadable)
    }
}
