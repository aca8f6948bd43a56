//! How a host asks: it lays the question's bytes on the tray, asks by number, and takes the answer from the tray.
//!
//! No glue and no import: any wasm runtime can be the host.

use crate::QUESTIONS;
use std::cell::RefCell;

thread_local! {
    static TRAY: RefCell<Vec<u8>> = const { RefCell::new(Vec::new()) };
}

/// Makes the tray `length` bytes long and says where it lies.
#[unsafe(no_mangle)]
#[expect(unsafe_code, reason = "an exported name could clash with another; here is no other")]
pub extern "C" fn tray(length: usize) -> *const u8 {
    TRAY.with_borrow_mut(|tray| {
        tray.resize(length, 0);
        tray.as_mut_ptr().cast_const()
    })
}

/// Answers the question of this number about what lies on the tray, lays the answer there instead, and says how long it
/// is; negative where it is an error's words.
#[unsafe(no_mangle)]
#[expect(unsafe_code, reason = "an exported name could clash with another; here is no other")]
pub extern "C" fn ask(number: usize) -> i32 {
    TRAY.with_borrow_mut(|tray| {
        let (sign, text) = match QUESTIONS[number].1(tray) {
            Ok(answer) => (1, answer),
            Err(says) => (-1, says),
        };
        *tray = text.into_bytes();
        sign * tray.len() as i32
    })
}
