//! From lines to codes.

use super::Parcel;
use super::piece::{Piece, set_of};
use crate::sync::SentLine;
use ledger::PublicKey;

/// Lines in one set (ours): about eight codes, so that whoever films them is done with something soon,
/// even if the screen goes dark for good.
const LINES_A_SET: usize = 20;

/// Bytes in one code (ours): version 18 at level M of ISO/IEC 18004, 89 modules, some three to four
/// pixels each on a phone's screen.
const BYTES_A_CODE: usize = 480;

/// The texts of the codes, set after set.
pub fn cut(key: PublicKey, lines: &[SentLine]) -> Vec<String> {
    let sets: Vec<Vec<u8>> =
        lines.chunks(LINES_A_SET).map(|chunk| Parcel::new(key, chunk.to_vec()).pack()).collect();
    let parts = short(sets.len());
    let of_set = |(place, bytes): (usize, &Vec<u8>)| {
        let (set, of) = (set_of(bytes), bytes.len().div_ceil(BYTES_A_CODE));
        let code = |(number, bytes): (usize, &[u8])| {
            let (part, number) = (short(place + 1), short(number + 1));
            let bytes = bytes.to_vec();
            Piece { set: set.clone(), part, parts, number, of: short(of), bytes }
        };
        bytes.chunks(BYTES_A_CODE).enumerate().map(code).collect::<Vec<Piece>>()
    };
    sets.iter().enumerate().flat_map(of_set).map(|piece| piece.text()).collect()
}

/// A phone would have to hold two million lines to pass this.
fn short(n: usize) -> u16 {
    u16::try_from(n).unwrap_or(u16::MAX)
}
