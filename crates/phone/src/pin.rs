//! Shared phones: whoever takes one over picks a name and types a PIN. It is checked here, without a
//! network, and each wrong one makes the next try wait longer.
//!
//! The PIN is chosen on this phone by whoever picks the name first; what is kept of it is a salted
//! digest, hashed many times over so that trying all of them takes long. It says who claims to hold the
//! phone, not more; lines written after it say `pin`.

use crate::model::{Effects, Model};
use crate::moment::Moment;
use crate::stored::{Name, note};
use crate::sync::Named;
use crate::tap::{Page, Place};
use ledger::order::Map;
use ledger::{Digest, PersonId};
use serde::{Deserialize, Serialize};

/// So often the salted PIN is hashed: some tens of milliseconds on a phone.
const TIMES: u32 = 20_000;

/// Wrong ones before waiting begins.
const FREE: u32 = 3;

/// The first wait, ms; each further wrong PIN doubles it.
const WAIT_MS: i64 = 5_000;

/// At most so long, ms.
const WAIT_MAX_MS: i64 = 15 * 60_000;

/// Shortest and longest PIN, digits.
const DIGITS: std::ops::RangeInclusive<usize> = 4..=8;

/// What a person can do about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PinTap {
    /// This person takes over on this phone.
    TakesOver(Named),
    /// This person holds the phone from now on; nobody is relieved.
    Holds(Named),
    /// The PIN is typed.
    Use,
}

/// The PINs of this phone, by person.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Pins(#[serde(default)] Map<PersonId, Pin>);

/// What is kept of one PIN.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Pin {
    salt: Digest,
    times: u32,
    hash: Digest,
    #[serde(default)]
    wrong: u32,
    /// When the last wrong one was typed, by the wall clock, ms.
    #[serde(default)]
    wrong_wall_ms: i64,
}

/// Who is asked for a PIN, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Asking {
    pub(crate) named: Named,
    pub(crate) takes_over: bool,
    /// Never kept: it is gone when the program is.
    pub(crate) typed: String,
    pub(crate) fault: Option<PinFault>,
    wrong_mono_ms: Option<i64>,
}

/// Why it was not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum PinFault {
    /// Not four to eight digits.
    Form,
    /// Another one.
    Wrong,
}

impl Pins {
    fn is_right(&self, person: &PersonId, typed: &str) -> bool {
        self.0.get(person).is_some_and(|pin| hash(&pin.salt, pin.times, typed) == pin.hash)
    }
}

fn hash(salt: &Digest, times: u32, typed: &str) -> Digest {
    let first = Digest::of(&[salt.0.as_slice(), typed.as_bytes()].concat());
    (1..times).fold(first, |before, _| Digest::of(&[salt.0, before.0].concat()))
}

/// Whether this person has chosen one on this phone.
pub(crate) fn is_chosen(model: &Model, person: &PersonId) -> bool {
    model.pins.0.contains_key(person)
}

/// How long until the next try, s.
pub(crate) fn wait_s(model: &Model, at: (i64, i64)) -> i64 {
    let Some(asking) = &model.asking else { return 0 };
    let Some(pin) = model.pins.0.get(&asking.named.id).filter(|pin| pin.wrong >= FREE) else {
        return 0;
    };
    let doubled = WAIT_MS << (pin.wrong - FREE).min(12);
    let wait_ms = doubled.min(WAIT_MAX_MS);
    let (wall_ms, mono_ms) = at;
    // A wall clock that was moved opens nothing while the program runs; one that was set back waits anew.
    let since_ms = match asking.wrong_mono_ms {
        Some(wrong_mono_ms) => mono_ms - wrong_mono_ms,
        None => (wall_ms - pin.wrong_wall_ms).max(0),
    };
    ((wait_ms - since_ms).max(0) + 999) / 1000
}

/// Something was touched.
pub(crate) fn did(model: &mut Model, at: &Moment, tap: PinTap, effects: &mut Effects) {
    match tap {
        PinTap::TakesOver(named) => ask(model, named, true),
        PinTap::Holds(named) => ask(model, named, false),
        PinTap::Use => used(model, at, effects),
    }
}

fn ask(model: &mut Model, named: Named, takes_over: bool) {
    let before = model.asking.take().filter(|asking| asking.named == named);
    let wrong_mono_ms = before.and_then(|asking| asking.wrong_mono_ms);
    let typed = String::new();
    model.asking = Some(Asking { named, takes_over, typed, fault: None, wrong_mono_ms });
    (model.place, model.page) = (Place::Shift, Some(Page::Pin));
}

fn used(model: &mut Model, at: &Moment, effects: &mut Effects) {
    if wait_s(model, (at.wall_ms, at.mono_ms)) > 0 {
        return;
    }
    let Some(asking) = &mut model.asking else { return };
    let typed = std::mem::take(&mut asking.typed);
    let typed = typed.trim();
    let (named, takes_over) = (asking.named.clone(), asking.takes_over);
    if !DIGITS.contains(&typed.len()) || !typed.bytes().all(|byte| byte.is_ascii_digit()) {
        asking.fault = Some(PinFault::Form);
        return;
    }
    let first = !model.pins.0.contains_key(&named.id);
    if first {
        let salt = Digest::of(&at.salt(0));
        let pin =
            Pin { salt, times: TIMES, hash: hash(&salt, TIMES, typed), wrong: 0, wrong_wall_ms: 0 };
        model.pins.0.insert(named.id.clone(), pin);
    } else if !model.pins.is_right(&named.id, typed) {
        asking.fault = Some(PinFault::Wrong);
        asking.wrong_mono_ms = Some(at.mono_ms);
        if let Some(pin) = model.pins.0.get_mut(&named.id) {
            (pin.wrong, pin.wrong_wall_ms) = (pin.wrong + 1, at.wall_ms);
        }
        return keep(model, effects);
    }
    if let Some(pin) = model.pins.0.get_mut(&named.id) {
        pin.wrong = 0;
    }
    model.asking = None;
    // A PIN that was chosen this moment shows nothing yet.
    model.choices.by_pin = (!first).then(|| named.id.clone());
    keep(model, effects);
    if takes_over {
        crate::shift::take_over_here(model, at, named);
    } else {
        crate::shift::holds(model, named, effects);
    }
}

fn keep(model: &mut Model, effects: &mut Effects) {
    let ticket = model.ticket();
    let puts = vec![note(Name::Pins, &model.pins), note(Name::Choices, &model.choices)];
    effects.push(crate::effect::Effect::Save { ticket, guard: None, puts });
}
