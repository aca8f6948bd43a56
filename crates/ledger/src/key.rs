//! Ed25519 keys of devices and logs (RFC 8032), verified strictly.

use crate::digest::{DeviceId, Digest};
use base64::{Engine, engine::general_purpose::STANDARD};
use ed25519_dalek::{Signer, SigningKey, VerifyingKey};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};
use std::fmt;

/// A raw 32-byte Ed25519 public key, written as base64.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PublicKey(pub [u8; 32]);

/// A raw 64-byte Ed25519 signature, written as base64.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Signature(pub [u8; 64]);

/// A device's private key held in software.
pub struct DeviceKey(SigningKey);

impl DeviceKey {
    /// Makes the key from 32 secret random bytes, which the caller draws.
    pub fn from_seed(seed: [u8; 32]) -> DeviceKey {
        DeviceKey(SigningKey::from_bytes(&seed))
    }

    /// The public half.
    pub fn public(&self) -> PublicKey {
        PublicKey(self.0.verifying_key().to_bytes())
    }

    /// The device's name: the digest of its public key.
    pub fn device(&self) -> DeviceId {
        self.public().device()
    }

    /// Signs bytes. Device keys sign only lines, log keys only notes; the callers hold to that.
    pub fn sign(&self, bytes: &[u8]) -> Signature {
        Signature(self.0.sign(bytes).to_bytes())
    }
}

impl fmt::Debug for DeviceKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "DeviceKey({})", self.device())
    }
}

impl PublicKey {
    /// The device that this key names.
    pub fn device(&self) -> DeviceId {
        DeviceId(Digest::of(&self.0))
    }

    /// Whether `signature` over `bytes` is this key's, by the strict rules: no small-order keys,
    /// no second encodings of the same signature.
    pub fn verifies(&self, bytes: &[u8], signature: &Signature) -> bool {
        let Ok(key) = VerifyingKey::from_bytes(&self.0) else { return false };
        key.verify_strict(bytes, &ed25519_dalek::Signature::from_bytes(&signature.0)).is_ok()
    }
}

macro_rules! base64_bytes {
    ($name:ident, $length:literal) => {
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&STANDARD.encode(self.0))
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(self, f)
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<$name, D::Error> {
                let text = String::deserialize(deserializer)?;
                let bytes = STANDARD.decode(&text).map_err(D::Error::custom)?;
                let bytes = bytes
                    .try_into()
                    .map_err(|_| D::Error::custom(concat!("expected ", $length, " bytes")))?;
                Ok($name(bytes))
            }
        }
    };
}

base64_bytes!(PublicKey, 32);
base64_bytes!(Signature, 64);
