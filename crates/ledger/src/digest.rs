//! SHA-256 values and the ids that are SHA-256 values, written as 64 lower-case hex digits.

use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};
use sha2::Digest as _;
use std::{fmt, str::FromStr};

const HEX: &[u8; 16] = b"0123456789abcdef";

/// A SHA-256 value.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Digest(pub [u8; 32]);

impl Digest {
    /// Sixty-four zeros: what stands where nothing came before.
    pub const ZERO: Digest = Digest([0; 32]);

    /// Hashes bytes.
    pub fn of(bytes: &[u8]) -> Digest {
        Digest(sha2::Sha256::digest(bytes).into())
    }

    /// The 64 hex digits.
    pub(crate) fn hex(&self) -> [u8; 64] {
        let mut digits = [0; 64];
        for (pair, byte) in digits.chunks_exact_mut(2).zip(self.0) {
            pair[0] = HEX[usize::from(byte >> 4)];
            pair[1] = HEX[usize::from(byte & 15)];
        }
        digits
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(std::str::from_utf8(&self.hex()).expect("hex digits are ASCII"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// A text that is not 64 lower-case hex digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NotADigest;

impl fmt::Display for NotADigest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("expected 64 lower-case hex digits")
    }
}

impl std::error::Error for NotADigest {}

impl FromStr for Digest {
    type Err = NotADigest;

    fn from_str(text: &str) -> Result<Digest, NotADigest> {
        let digits = text.as_bytes();
        if digits.len() != 64 {
            return Err(NotADigest);
        }
        let mut bytes = [0; 32];
        for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
            *byte = hex_digit(pair[0])? << 4 | hex_digit(pair[1])?;
        }
        Ok(Digest(bytes))
    }
}

fn hex_digit(digit: u8) -> Result<u8, NotADigest> {
    match digit {
        b'0'..=b'9' => Ok(digit - b'0'),
        b'a'..=b'f' => Ok(digit - b'a' + 10),
        _ => Err(NotADigest),
    }
}

impl Serialize for Digest {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Digest {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Digest, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(D::Error::custom)
    }
}

macro_rules! digest_id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub Digest);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(&self.0, f)
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(&self.0, f)
            }
        }

        impl FromStr for $name {
            type Err = NotADigest;

            fn from_str(text: &str) -> Result<$name, NotADigest> {
                text.parse().map($name)
            }
        }
    };
}

digest_id! {
    /// A device: the SHA-256 of its raw 32-byte Ed25519 public key.
    DeviceId
}

digest_id! {
    /// A line: the SHA-256 of its bytes without the newline. The signature is no part of it.
    LineId
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4 example: SHA-256 of "abc".
    #[test]
    fn hashes_as_the_standard_says() {
        assert_eq!(
            Digest::of(b"abc").to_string(),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn reads_only_lower_case_of_full_length() {
        let text = Digest::of(b"abc").to_string();
        assert_eq!(text.parse(), Ok(Digest::of(b"abc")));
        assert_eq!(text.to_uppercase().parse::<Digest>(), Err(NotADigest));
        assert_eq!(text[1..].parse::<Digest>(), Err(NotADigest));
    }
}
