//! C2SP signed notes with Ed25519 keys (signature type 1): text, a blank line, and a line a signature.

use crate::digest::Digest;
use crate::key::{DeviceKey, PublicKey, Signature};
use base64::{Engine, engine::general_purpose::STANDARD};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};
use std::fmt;
use std::str::FromStr;

/// The byte that says "Ed25519 over the note's text".
const ED25519: u8 = 1;

/// As many signatures as are read; the standard asks for at least 16.
const SIGNATURES_MAX: usize = 32;

/// The key of a log, which signs notes and nothing else.
#[derive(Debug)]
pub struct LogKey {
    vkey: Vkey,
    key: DeviceKey,
}

/// A verifier key: the public half of a [`LogKey`], written `name+id+base64`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Vkey {
    name: String,
    id: [u8; 4],
    public: PublicKey,
}

/// A text that is no verifier key, or a name that no key can have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotAKey(pub String);

/// A text and who says they signed it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    text: String,
    signatures: Vec<NoteSignature>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
struct NoteSignature {
    name: String,
    id: [u8; 4],
    /// Of any length: other kinds of keys may sign beside ours.
    bytes: Vec<u8>,
}

/// Why a text is no note that may be trusted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoteFault {
    /// A control character other than the line feed.
    Control,
    /// No blank line between text and signatures, or no signature after it.
    Unsigned,
    /// A signature line that does not follow the form.
    SignatureLine {
        /// Counted from 1 among the signature lines.
        number: usize,
    },
    /// More signatures than are read.
    TooManySignatures,
    /// None of the known keys signed.
    UnknownKeys,
    /// The signature of a known key does not fit the text.
    Signature {
        /// The key's name.
        name: String,
    },
}

impl fmt::Display for NoteFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoteFault::Control => f.write_str("a signed note holds no control characters"),
            NoteFault::Unsigned => f.write_str("the note has no signature"),
            NoteFault::SignatureLine { number } => {
                write!(f, "signature line {number} is not `— name base64`")
            }
            NoteFault::TooManySignatures => {
                write!(f, "the note has more than {SIGNATURES_MAX} signatures")
            }
            NoteFault::UnknownKeys => f.write_str("no key that is known here signed the note"),
            NoteFault::Signature { name } => {
                write!(f, "the signature of {name} does not fit the note")
            }
        }
    }
}

impl std::error::Error for NoteFault {}

impl LogKey {
    /// Makes the key of the log `name` from 32 secret random bytes, which the caller draws.
    pub fn from_seed(name: &str, seed: [u8; 32]) -> Result<LogKey, NotAKey> {
        let key = DeviceKey::from_seed(seed);
        Ok(LogKey { vkey: Vkey::new(name, key.public())?, key })
    }

    /// The name of the log.
    pub fn name(&self) -> &str {
        &self.vkey.name
    }

    /// The public half.
    pub fn vkey(&self) -> Vkey {
        self.vkey.clone()
    }
}

impl Vkey {
    /// The verifier key of the log `name`.
    pub fn new(name: &str, public: PublicKey) -> Result<Vkey, NotAKey> {
        let fits = !name.is_empty()
            && !name.chars().any(|c| c.is_whitespace() || c.is_control() || c == '+');
        if !fits {
            return Err(NotAKey(name.to_owned()));
        }
        let hashed = [name.as_bytes(), b"\n", &[ED25519], &public.0].concat();
        let [a, b, c, d, ..] = Digest::of(&hashed).0;
        Ok(Vkey { name: name.to_owned(), id: [a, b, c, d], public })
    }

    /// The name of the log.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The raw public key.
    pub fn public(&self) -> PublicKey {
        self.public
    }
}

impl fmt::Display for Vkey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let bytes = [&[ED25519], self.public.0.as_slice()].concat();
        let id = u32::from_be_bytes(self.id);
        write!(f, "{}+{id:08x}+{}", self.name, STANDARD.encode(bytes))
    }
}

impl FromStr for Vkey {
    type Err = NotAKey;

    fn from_str(text: &str) -> Result<Vkey, NotAKey> {
        let not_a_key = || NotAKey(text.to_owned());
        let mut parts = text.splitn(3, '+');
        let (Some(name), Some(_), Some(bytes)) = (parts.next(), parts.next(), parts.next()) else {
            return Err(not_a_key());
        };
        let bytes = STANDARD.decode(bytes).map_err(|_| not_a_key())?;
        let [ED25519, public @ ..] = bytes.as_slice() else { return Err(not_a_key()) };
        let public = PublicKey(public.try_into().map_err(|_| not_a_key())?);
        let vkey = Vkey::new(name, public)?;
        // Writing it again also checks the id in the middle.
        if vkey.to_string() == text { Ok(vkey) } else { Err(not_a_key()) }
    }
}

impl fmt::Display for NotAKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?} is no verifier key: expected `name+id+base64`", self.0)
    }
}

impl std::error::Error for NotAKey {}

impl Serialize for Vkey {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Vkey {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Vkey, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(D::Error::custom)
    }
}

impl Note {
    /// Signs a text, which must end with a line feed and hold no other control characters.
    pub fn sign(text: String, keys: &[&LogKey]) -> Note {
        assert!(text.ends_with('\n') && plain(&text), "the text of a note is lines of plain text");
        let mut note = Note { text, signatures: Vec::new() };
        keys.iter().for_each(|key| note.add(key));
        note
    }

    /// Adds the signature of one more key.
    pub fn add(&mut self, key: &LogKey) {
        self.signatures.push(NoteSignature {
            name: key.name().to_owned(),
            id: key.vkey.id,
            bytes: key.key.sign(self.text.as_bytes()).0.to_vec(),
        });
    }

    /// Reads a note in the one form that [`Note`] is written in.
    pub fn parse(whole: &str) -> Result<Note, NoteFault> {
        if !plain(whole) {
            return Err(NoteFault::Control);
        }
        let end = whole.rfind("\n\n").ok_or(NoteFault::Unsigned)?;
        let (text, lines) = (&whole[..=end], &whole[end + 2..]);
        let lines = lines.strip_suffix('\n').ok_or(NoteFault::Unsigned)?;
        let mut signatures = Vec::new();
        for (place, line) in lines.split('\n').enumerate() {
            if place == SIGNATURES_MAX {
                return Err(NoteFault::TooManySignatures);
            }
            let signature = NoteSignature::parse(line);
            signatures.push(signature.ok_or(NoteFault::SignatureLine { number: place + 1 })?);
        }
        Ok(Note { text: text.to_owned(), signatures })
    }

    /// The text that is signed, with its last line feed.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The known keys that signed. An unknown key is ignored even if it shares the name or the id
    /// of a known one; a wrong signature of a known key spoils the note.
    pub fn verify<'k>(&self, known: &'k [Vkey]) -> Result<Vec<&'k Vkey>, NoteFault> {
        let mut signers = Vec::new();
        for signature in &self.signatures {
            let same = |key: &&Vkey| key.name == signature.name && key.id == signature.id;
            let Some(key) = known.iter().find(same) else { continue };
            let fits = <[u8; 64]>::try_from(signature.bytes.as_slice())
                .is_ok_and(|bytes| key.public.verifies(self.text.as_bytes(), &Signature(bytes)));
            if !fits {
                return Err(NoteFault::Signature { name: signature.name.clone() });
            }
            signers.push(key);
        }
        if signers.is_empty() { Err(NoteFault::UnknownKeys) } else { Ok(signers) }
    }
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{}", self.text)?;
        self.signatures.iter().try_for_each(|signature| {
            let bytes = [signature.id.as_slice(), &signature.bytes].concat();
            writeln!(f, "— {} {}", signature.name, STANDARD.encode(bytes))
        })
    }
}

impl NoteSignature {
    fn parse(line: &str) -> Option<NoteSignature> {
        let (name, encoded) = line.strip_prefix("— ")?.split_once(' ')?;
        if name.is_empty() || name.contains(|c: char| c.is_whitespace() || c == '+') {
            return None;
        }
        let bytes = STANDARD.decode(encoded).ok()?;
        let (id, signature) = bytes.split_first_chunk::<4>()?;
        (!signature.is_empty()).then(|| NoteSignature {
            name: name.to_owned(),
            id: *id,
            bytes: signature.to_vec(),
        })
    }
}

fn plain(text: &str) -> bool {
    text.chars().all(|c| c == '\n' || c >= ' ')
}

/// Reads a number below 2^53 in decimal digits without leading zeros.
pub(crate) fn decimal(text: &str) -> Option<u64> {
    let number: u64 = text.parse().ok()?;
    (number < crate::canonical::INTEGER_END as u64 && number.to_string() == text).then_some(number)
}

/// Reads 32 bytes in base64.
pub(crate) fn digest(text: &str) -> Option<Digest> {
    STANDARD.decode(text).ok()?.try_into().ok().map(Digest)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(name: &str, seed: u8) -> LogKey {
        LogKey::from_seed(name, [seed; 32]).unwrap()
    }

    #[test]
    fn verifier_keys_are_read_as_written() {
        let vkey = key("gannet.example/quay/2026", 1).vkey();
        let text = vkey.to_string();
        assert_eq!(text.parse(), Ok(vkey));
        for wrong in [text.replace("+", "-"), text.replacen("gannet", "gannex", 1), text + "A"] {
            assert_eq!(wrong.parse::<Vkey>(), Err(NotAKey(wrong.clone())));
        }
        for name in ["", "two words", "a+b", "line\nfeed", "\u{a0}"] {
            assert!(LogKey::from_seed(name, [1; 32]).is_err(), "{name:?}");
        }
    }

    #[test]
    fn the_last_blank_line_divides() {
        let text = "first\n\nsecond\n".to_owned();
        let note = Note::sign(text.clone(), &[&key("a", 1), &key("b", 2)]);
        let read = Note::parse(&note.to_string()).unwrap();
        assert_eq!(read.text(), text);
        assert_eq!(read.verify(&[key("b", 2).vkey()]).unwrap(), [&key("b", 2).vkey()]);
    }

    #[test]
    fn unknown_keys_are_ignored_and_wrong_ones_are_not() {
        let note = Note::sign("text\n".into(), &[&key("a", 1), &key("a", 2)]);
        assert!(note.verify(&[key("a", 2).vkey()]).is_ok());
        assert_eq!(note.verify(&[key("a", 3).vkey()]), Err(NoteFault::UnknownKeys));
        assert_eq!(note.verify(&[]), Err(NoteFault::UnknownKeys));
        let forged = Note { text: "other\n".into(), ..note };
        let fault = NoteFault::Signature { name: "a".into() };
        assert_eq!(forged.verify(&[key("a", 2).vkey()]), Err(fault));
    }

    #[test]
    fn other_forms_are_named() {
        let check = |text: &str, expected: NoteFault| assert_eq!(Note::parse(text), Err(expected));
        let good = Note::sign("text\n".into(), &[&key("a", 1)]).to_string();
        check("text\n", NoteFault::Unsigned);
        check("text\n\n", NoteFault::Unsigned);
        check(&good.replace("text", "te\txt"), NoteFault::Control);
        check(good.trim_end(), NoteFault::Unsigned);
        check(&good.replace("— ", "- "), NoteFault::SignatureLine { number: 1 });
        check(&good.replace("— a ", "— a  "), NoteFault::SignatureLine { number: 1 });
        check(&(good.clone() + "more\n"), NoteFault::SignatureLine { number: 2 });
        let many = good.clone() + &"— b AAAAAAA=\n".repeat(SIGNATURES_MAX);
        check(&many, NoteFault::TooManySignatures);
        let enough = good + &"— b AAAAAAA=\n".repeat(SIGNATURES_MAX - 1);
        assert!(Note::parse(&enough).unwrap().verify(&[key("a", 1).vkey()]).is_ok());
    }
}
