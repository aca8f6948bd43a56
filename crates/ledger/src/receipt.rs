//! The receipt of one line: its leaf, and the C2SP `tlog-proof` that the leaf is in the log.
//!
//! A phone deletes nothing before it holds one; an insurer needs nothing else to check one line.

use crate::digest::Digest;
use crate::head::{HeadFault, SignedHead, VerifiedHead, Vkey};
use crate::leaf::{Leaf, LeafFault};
use crate::line::Line;
use crate::merkle::{self, ProofFault};
use crate::note;
use crate::verified::Verified;
use base64::{Engine, engine::general_purpose::STANDARD};
use std::fmt;

const PROOF_NAME: &str = "c2sp.org/tlog-proof@v1";

/// As many hashes as a proof in a tree of 2^64 leaves can have.
const PATH_MAX: usize = 64;

/// A leaf and the proof that it is in the log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Receipt {
    /// The leaf.
    pub leaf: Leaf,
    /// The proof.
    pub proof: Proof,
}

/// A place in a log, and the hashes from there to the root of a signed head.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proof {
    /// The leaf's place.
    pub index: u64,
    /// From the leaf's sibling up to the root's child.
    pub path: Vec<Digest>,
    /// The head whose root is reached.
    pub head: SignedHead,
}

/// Why a receipt proves nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReceiptFault {
    /// The first line is no leaf.
    Leaf(LeafFault),
    /// Not the text of a `tlog-proof`.
    Form {
        /// What was expected.
        expected: &'static str,
    },
    /// The head cannot be trusted.
    Head(HeadFault),
    /// The leaf stands at another place than the proof.
    Index,
    /// The hashes do not lead from the leaf to the root.
    Proof(ProofFault),
    /// It is the receipt of another line.
    OtherLine,
}

impl fmt::Display for ReceiptFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ReceiptFault::Leaf(fault) => fault.fmt(f),
            ReceiptFault::Form { expected } => write!(f, "not a receipt: expected {expected}"),
            ReceiptFault::Head(fault) => fault.fmt(f),
            ReceiptFault::Index => f.write_str("leaf and proof speak of different places"),
            ReceiptFault::Proof(fault) => fault.fmt(f),
            ReceiptFault::OtherLine => f.write_str("the receipt is that of another line"),
        }
    }
}

impl std::error::Error for ReceiptFault {}

impl Receipt {
    /// Reads the leaf's line and the `tlog-proof` after it.
    pub fn parse(text: &str) -> Result<Receipt, ReceiptFault> {
        let leaf_line = ReceiptFault::Form { expected: "the leaf on a line of its own" };
        let (leaf, proof) = text.split_once('\n').ok_or(leaf_line)?;
        let leaf = Leaf::parse(leaf.as_bytes()).map_err(ReceiptFault::Leaf)?;
        Ok(Receipt { leaf, proof: Proof::parse(proof)? })
    }

    /// Checks that the leaf is in the log with these keys, and returns the head that proves it.
    pub fn verify(&self, known: &[Vkey]) -> Result<VerifiedHead, ReceiptFault> {
        if self.leaf.index() != self.proof.index {
            return Err(ReceiptFault::Index);
        }
        self.proof.verify(&self.leaf.hash(), known)
    }

    /// As [`Receipt::verify`], and that the leaf is that of `line`.
    pub fn verify_for(
        &self,
        line: &Verified<Line>,
        known: &[Vkey],
    ) -> Result<VerifiedHead, ReceiptFault> {
        match &self.leaf {
            Leaf::Entry(entry) if entry.seals(line) => self.verify(known),
            _ => Err(ReceiptFault::OtherLine),
        }
    }
}

impl Proof {
    /// Reads a `tlog-proof` without extra data.
    pub fn parse(text: &str) -> Result<Proof, ReceiptFault> {
        let form = |expected| ReceiptFault::Form { expected };
        let rest = text
            .strip_prefix(PROOF_NAME)
            .and_then(|rest| rest.strip_prefix("\nindex "))
            .ok_or(form("`c2sp.org/tlog-proof@v1` and `index N`"))?;
        let (index, mut rest) = rest.split_once('\n').ok_or(form("`index N`"))?;
        let index = note::decimal(index).ok_or(form("an index in plain decimal digits"))?;
        let mut path = Vec::new();
        loop {
            let blank = form("a blank line before the head");
            let (line, after) = rest.split_once('\n').ok_or(blank)?;
            rest = after;
            if line.is_empty() {
                break;
            }
            if path.len() == PATH_MAX {
                return Err(form("at most 64 hashes"));
            }
            path.push(note::digest(line).ok_or(form("SHA-256 values in base64"))?);
        }
        let head = SignedHead::parse(rest).map_err(ReceiptFault::Head)?;
        Ok(Proof { index, path, head })
    }

    /// Checks that the leaf with this hash is in the log with these keys.
    pub fn verify(&self, leaf: &Digest, known: &[Vkey]) -> Result<VerifiedHead, ReceiptFault> {
        let head = self.head.verify(known).map_err(ReceiptFault::Head)?;
        merkle::inclusion(leaf, self.index, head.size, &self.path, &head.root)
            .map_err(ReceiptFault::Proof)?;
        Ok(head)
    }
}

impl fmt::Display for Receipt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let leaf = String::from_utf8(self.leaf.to_bytes()).expect("canonical bytes are UTF-8");
        writeln!(f, "{leaf}")?;
        self.proof.fmt(f)
    }
}

impl fmt::Display for Proof {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{PROOF_NAME}\nindex {}", self.index)?;
        for node in &self.path {
            writeln!(f, "{}", STANDARD.encode(node.0))?;
        }
        writeln!(f)?;
        self.head.fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::head::{Head, LogKey};
    use crate::leaf::Close;

    const ORIGIN: &str = "gannet.example/quay/2026";

    fn key() -> LogKey {
        LogKey::from_seed(ORIGIN, [3; 32]).unwrap()
    }

    fn receipt() -> Receipt {
        let mut tree = merkle::Tree::new();
        (0..6u8).for_each(|i| {
            tree.push(merkle::leaf_hash(&[i]));
        });
        let next = LogKey::from_seed("gannet.example/quay/2027", [4; 32]).unwrap().vkey();
        let leaf = Leaf::Close(Close::new(6, 1_800_000_000_000, 5, next));
        tree.push(leaf.hash());
        let head = Head { origin: ORIGIN.into(), size: 7, root: tree.root() };
        let path = tree.inclusion(6, 7).unwrap();
        Receipt { leaf, proof: Proof { index: 6, path, head: head.sign(&key()) } }
    }

    #[test]
    fn a_receipt_is_read_as_written_and_no_byte_may_change() {
        let text = receipt().to_string();
        let verify = |text: &str| Receipt::parse(text)?.verify(&[key().vkey()]);
        assert_eq!(verify(&text).unwrap().size, 7);
        for i in 0..text.len() {
            let mut bytes = text.clone().into_bytes();
            bytes[i] ^= 1;
            let Ok(changed) = String::from_utf8(bytes) else { continue };
            assert!(verify(&changed).is_err(), "{changed}");
        }
    }

    #[test]
    fn a_proof_for_another_place_is_refused() {
        let mut moved = receipt();
        moved.proof.index = 5;
        assert_eq!(moved.verify(&[key().vkey()]), Err(ReceiptFault::Index));
    }
}
