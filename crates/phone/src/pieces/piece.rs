//! One code: `RWP1/set/part/parts/number/of/data/sum`.

use ledger::Digest;

/// How every code of ours begins, whatever its version.
const MARK: &str = "RWP";

/// The version that this code writes and reads.
const VERSION: &str = "RWP1";

/// Hex digits of the set's name: the first half of the SHA-256 of all its bytes.
const SET_DIGITS: usize = 32;

/// One piece of a set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Piece {
    /// The set: the first 32 hex digits of the SHA-256 of its bytes.
    pub set: String,
    /// Which of the sets that are shown together, from 1.
    pub part: u16,
    /// How many sets are shown together.
    pub parts: u16,
    /// Its number in the set, from 1.
    pub number: u16,
    /// How many codes the set has.
    pub of: u16,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Why a text is no piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum PieceFault {
    /// Another code: of a stop, of a page, of somebody else.
    NotOurs,
    /// Of a newer program.
    Newer,
    /// Changed or cut on the way.
    Damaged,
}

/// Whether a text claims to be such a code.
pub(crate) fn is_code(text: &str) -> bool {
    text.starts_with(MARK)
}

impl Piece {
    /// The text of the code, in the characters of a QR code's alphanumeric mode.
    pub(crate) fn text(&self) -> String {
        let Piece { set, part, parts, number, of, bytes } = self;
        let data = base45::encode(bytes);
        let head = format!("{VERSION}/{}/{part}/{parts}/{number}/{of}/", set.to_ascii_uppercase());
        let sum = sum_of(&format!("{head}{data}"));
        format!("{head}{data}/{sum}")
    }

    /// Reads the text of a code. Data may hold slashes; nothing before or after it does.
    pub(crate) fn read(text: &str) -> Result<Piece, PieceFault> {
        if !is_code(text) {
            return Err(PieceFault::NotOurs);
        }
        let version = text.split('/').next().unwrap_or_default();
        if version != VERSION {
            let number = version[MARK.len()..].parse::<u32>();
            return Err(if number.is_ok() { PieceFault::Newer } else { PieceFault::NotOurs });
        }
        read(text).ok_or(PieceFault::Damaged)
    }
}

fn read(text: &str) -> Option<Piece> {
    let (summed, sum) = text.rsplit_once('/')?;
    if sum != sum_of(summed) {
        return None;
    }
    let mut fields = summed.splitn(7, '/').skip(1);
    let set = fields.next()?.to_ascii_lowercase();
    let mut number = || fields.next()?.parse::<u16>().ok();
    let (part, parts, number, of) = (number()?, number()?, number()?, number()?);
    let bytes = base45::decode(fields.next()?).ok()?;
    let within = |n: u16, of: u16| (1..=of).contains(&n);
    let fits = set.len() == SET_DIGITS && set.bytes().all(|digit| digit.is_ascii_hexdigit());
    let fits = fits && within(part, parts) && within(number, of) && !bytes.is_empty();
    fits.then_some(Piece { set, part, parts, number, of, bytes })
}

/// Eight hex digits that tell damage: no table but that of the digest, which the phone has anyway.
fn sum_of(text: &str) -> String {
    Digest::of(text.as_bytes()).to_string()[..8].to_ascii_uppercase()
}

/// The name of a set.
pub(super) fn set_of(bytes: &[u8]) -> String {
    Digest::of(bytes).to_string()[..SET_DIGITS].to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(bytes: &[u8]) -> Piece {
        let set = set_of(b"all");
        Piece { set, part: 1, parts: 2, number: 3, of: 12, bytes: bytes.to_vec() }
    }

    /// The characters of QR alphanumeric mode (ISO/IEC 18004) and the encodings of RFC 9285, section 4.
    #[test]
    fn a_code_is_alphanumeric_and_its_data_is_that_of_rfc_9285() {
        let cases = [("Hello!!", "%69 VD92EX0"), ("base-45", "UJCLQE7W581"), ("ietf!", "QED8WEX0")];
        for (plain, data) in cases {
            let text = piece(plain.as_bytes()).text();
            assert!(text.contains(&format!("/1/2/3/12/{data}/")), "{text}");
            let allowed = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";
            assert!(text.chars().all(|c| allowed.contains(c)), "{text}");
            assert_eq!(Piece::read(&text), Ok(piece(plain.as_bytes())));
        }
    }

    #[test]
    fn every_byte_comes_back_also_with_slashes_in_the_data() {
        let all: Vec<u8> = (0..=255).collect();
        let text = piece(&all).text();
        assert!(text.matches('/').count() > 7, "the data holds a slash");
        assert_eq!(Piece::read(&text), Ok(piece(&all)));
    }

    /// One wrong character, one missing: one chance in four thousand million that it goes unseen.
    #[test]
    fn a_damaged_code_is_known() {
        let text = piece(b"lines of a phone").text();
        for place in 5..text.len() {
            let mut wrong = text.clone().into_bytes();
            wrong[place] = if wrong[place] == b'A' { b'B' } else { b'A' };
            let wrong = String::from_utf8(wrong).unwrap();
            assert_eq!(Piece::read(&wrong), Err(PieceFault::Damaged), "{place}: {wrong}");
            assert_eq!(Piece::read(&text[..place]), Err(PieceFault::Damaged), "{place}");
        }
    }

    #[test]
    fn other_codes_and_newer_ones_are_told_apart() {
        assert_eq!(Piece::read("https://gannet.example/t/1"), Err(PieceFault::NotOurs));
        assert_eq!(Piece::read("RWS1/A/W/1/1"), Err(PieceFault::NotOurs));
        assert_eq!(Piece::read("RWPX/1"), Err(PieceFault::NotOurs));
        assert_eq!(Piece::read("RWP2/what/ever"), Err(PieceFault::Newer));
    }
}
