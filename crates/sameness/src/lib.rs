//! The same question, natively and in wasm: desk and phone, paper and browser must never answer differently.
//!
//! A [`Question`] takes bytes and answers with text that shows every bit of what the pure rooms computed. `tests/equal.rs`
//! builds this crate for wasm, asks it there and here, and compares byte for byte; the bench `wasm` times both. Nothing of
//! it is shipped.
//!
//! Start with [`QUESTIONS`]; [`wasm`] is the door through which a host asks.

mod findings;
mod rounds;
mod sight;
#[cfg(target_arch = "wasm32")]
pub mod wasm;

/// Bytes in, text out; an error says what of the bytes could not be taken.
pub type Question = fn(&[u8]) -> Result<String, String>;

/// By name, in the order in which wasm knows them by number.
pub const QUESTIONS: &[(&str, Question)] = &[
    // A bundle: verified, folded, judged, said in both languages, drawn as a dial.
    ("findings", findings::findings),
    // A plan: imported from its own export, surveyed, laid out, answered, drawn.
    ("rounds", rounds::rounds),
    // A typed map: what is seen from everywhere.
    ("sight", sight::sight),
    // The same map: its mesh.
    ("mesh", sight::mesh),
    // The same map: walking lengths and ways between all places.
    ("ways", sight::ways),
    // The same map: the walk that sees all, and the bound on it.
    ("walk", sight::walk),
];

/// Asks by name.
///
/// # Panics
/// When there is no such question.
pub fn ask(name: &str, input: &[u8]) -> Result<String, String> {
    let known = QUESTIONS.iter().find(|(known, _)| *known == name);
    let (_, question) = known.unwrap_or_else(|| panic!("no question is called {name:?}"));
    question(input)
}

/// Every bit of a number, so that two answers are equal only if the numbers are.
fn bits(number: f64) -> String {
    format!("{:016x}", number.to_bits())
}
