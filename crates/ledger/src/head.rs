//! The head of a log: its size and root, signed as a C2SP signed note (`tlog-checkpoint`).
//!
//! Three lines (name of the log, size, root in base64), a blank line, and a line a signature.
//! A whole example stands at the beginning of `docs/spec/log.md`.

use crate::digest::Digest;
use crate::line::HeadRef;
use crate::note::{self, Note, NoteFault};
use base64::{Engine, engine::general_purpose::STANDARD};
use std::fmt;
use std::ops::Deref;

pub use crate::note::{LogKey, Vkey};

/// Size and root of a log.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Head {
    /// Name of the log, `HOST/ORG/YEAR`.
    pub origin: String,
    /// Number of leaves.
    pub size: u64,
    /// Root over those leaves.
    pub root: Digest,
}

/// A head as it travels. Nothing is known of it until [`SignedHead::verify`] says so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignedHead {
    head: Head,
    note: Note,
}

/// A head whose signature was checked. There is no other maker.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VerifiedHead {
    head: Head,
    text: String,
}

/// Why a text is no head that may be trusted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum HeadFault {
    /// Not a signed note, or none of the known keys signed it.
    Note(NoteFault),
    /// The first line, the name of the log, is missing or is not the key's.
    Origin,
    /// The second line is not a plain decimal number below 2^53.
    Size,
    /// The third line is not 32 bytes in base64.
    Root,
    /// There are more lines than three.
    Extra,
}

impl fmt::Display for HeadFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            HeadFault::Note(fault) => fault.fmt(f),
            HeadFault::Origin => {
                f.write_str("the first line of the head is not the name of the log")
            }
            HeadFault::Size => {
                f.write_str("the second line of the head is not a size in plain decimal digits")
            }
            HeadFault::Root => {
                f.write_str("the third line of the head is not a SHA-256 value in base64")
            }
            HeadFault::Extra => f.write_str("the head has more lines than name, size and root"),
        }
    }
}

impl std::error::Error for HeadFault {}

impl Head {
    /// The three lines that are signed.
    pub fn text(&self) -> String {
        format!("{}\n{}\n{}\n", self.origin, self.size, STANDARD.encode(self.root.0))
    }

    /// Signs with the log's key. Panics if the key is not named like the log, since nobody would
    /// accept such a head.
    pub fn sign(&self, key: &LogKey) -> SignedHead {
        assert_eq!(self.origin, key.name(), "a head is signed by the key named like its log");
        SignedHead { head: self.clone(), note: Note::sign(self.text(), &[key]) }
    }

    /// The head as a line quotes it.
    pub fn quoted(&self) -> HeadRef {
        HeadRef { origin: self.origin.clone(), size: self.size, root: self.root }
    }

    fn parse(text: &str) -> Result<Head, HeadFault> {
        let mut lines = text.split_terminator('\n');
        let origin = lines.next().filter(|line| !line.is_empty()).ok_or(HeadFault::Origin)?;
        let size = lines.next().and_then(note::decimal).ok_or(HeadFault::Size)?;
        let root = lines.next().and_then(note::digest).ok_or(HeadFault::Root)?;
        match lines.next() {
            None => Ok(Head { origin: origin.to_owned(), size, root }),
            Some(_) => Err(HeadFault::Extra),
        }
    }
}

impl SignedHead {
    /// Reads a signed note with exactly the three lines of a head.
    pub fn parse(text: &str) -> Result<SignedHead, HeadFault> {
        let note = Note::parse(text).map_err(HeadFault::Note)?;
        Ok(SignedHead { head: Head::parse(note.text())?, note })
    }

    /// What the head claims, unchecked.
    pub fn claimed(&self) -> &Head {
        &self.head
    }

    /// Adds another signature, as during a change of keys.
    pub fn also_signed(mut self, key: &LogKey) -> SignedHead {
        self.note.add(key);
        self
    }

    /// Checks that the log itself signed: the key must be named like the log. Signatures of unknown
    /// keys are ignored, a wrong signature of a known key spoils the whole head.
    pub fn verify(&self, known: &[Vkey]) -> Result<VerifiedHead, HeadFault> {
        let signers = self.note.verify(known).map_err(HeadFault::Note)?;
        if !signers.iter().any(|key| key.name() == self.head.origin) {
            return Err(HeadFault::Origin);
        }
        Ok(VerifiedHead { head: self.head.clone(), text: self.to_string() })
    }

    /// Checks that another log vouches for this head: one of these keys signed it, whatever its name.
    /// So a log speaks for the one that follows it, and for the ones before it.
    pub fn vouched(&self, by: &[Vkey]) -> Result<VerifiedHead, HeadFault> {
        self.note.verify(by).map_err(HeadFault::Note)?;
        Ok(VerifiedHead { head: self.head.clone(), text: self.to_string() })
    }
}

impl fmt::Display for SignedHead {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.note.fmt(f)
    }
}

impl VerifiedHead {
    /// The signed note, exactly as it was read.
    pub fn text(&self) -> &str {
        &self.text
    }
}

impl Deref for VerifiedHead {
    type Target = Head;

    fn deref(&self) -> &Head {
        &self.head
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ORIGIN: &str = "gannet.example/quay/2026";

    fn key() -> LogKey {
        LogKey::from_seed(ORIGIN, [3; 32]).unwrap()
    }

    fn head() -> Head {
        Head { origin: ORIGIN.into(), size: 4, root: Digest::of(b"root") }
    }

    #[test]
    fn a_signed_head_is_trusted_and_a_changed_one_is_not() {
        let text = head().sign(&key()).to_string();
        let verify = |text: &str| SignedHead::parse(text)?.verify(&[key().vkey()]);
        let verified = verify(&text).unwrap();
        assert_eq!(*verified, head());
        assert_eq!(verified.text(), text);
        for i in 0..text.len() {
            for bit in 0..8 {
                let mut bytes = text.clone().into_bytes();
                bytes[i] ^= 1 << bit;
                let Ok(changed) = String::from_utf8(bytes) else { continue };
                assert!(verify(&changed).is_err(), "{changed}");
            }
        }
    }

    #[test]
    fn other_signers_are_welcome_but_do_not_stand_in_for_the_log() {
        let witness = LogKey::from_seed("witness.example", [5; 32]).unwrap();
        let signed = head().sign(&key()).also_signed(&witness);
        let read = SignedHead::parse(&signed.to_string()).unwrap();
        assert!(read.verify(&[key().vkey()]).is_ok());
        assert!(read.verify(&[witness.vkey(), key().vkey()]).is_ok());
        assert_eq!(read.verify(&[witness.vkey()]), Err(HeadFault::Origin));
    }

    #[test]
    fn a_log_vouches_for_the_next_only_with_its_own_signature() {
        let next = LogKey::from_seed("gannet.example/quay/2027", [3; 32]).unwrap();
        let head = Head { origin: next.name().into(), ..head() };
        let vouched = head.sign(&next).also_signed(&key());
        assert_eq!(*vouched.vouched(&[key().vkey()]).unwrap(), head);
        assert_eq!(*vouched.verify(&[next.vkey()]).unwrap(), head);
        let alone = head.sign(&next);
        assert!(matches!(alone.vouched(&[key().vkey()]), Err(HeadFault::Note(_))));
        let text = vouched.to_string().replacen("\n4\n", "\n5\n", 1);
        assert!(SignedHead::parse(&text).unwrap().vouched(&[key().vkey()]).is_err());
    }

    #[test]
    fn lines_are_read_strictly() {
        let check = |text: &str, expected: HeadFault| {
            let signed = Note::sign(text.to_owned(), &[&key()]).to_string();
            assert_eq!(SignedHead::parse(&signed), Err(expected), "{text}");
        };
        let root = STANDARD.encode(Digest::of(b"root").0);
        check(&format!("\n4\n{root}\n"), HeadFault::Origin);
        check(&format!("{ORIGIN}\n04\n{root}\n"), HeadFault::Size);
        check(&format!("{ORIGIN}\n+4\n{root}\n"), HeadFault::Size);
        check(&format!("{ORIGIN}\n9007199254740992\n{root}\n"), HeadFault::Size);
        check(&format!("{ORIGIN}\n4\n{}\n", &root[1..]), HeadFault::Root);
        check(&format!("{ORIGIN}\n4\n{root}\nmore\n"), HeadFault::Extra);
    }
}
