//! Corrections, and why something was late: new lines about old ones, which stay as they were.

use crate::model::{Model, Notice};
use crate::moment::Moment;
use crate::tap::{Field, Place};
use crate::writing::{Then, say, say_with};
use ledger::{LineId, PersonId};
use record::{Corrected, Note, StopId, StructureEntered, WhyCorrected, Words, ZoneId};
use watch::{Gap, GapEnd, State};

/// What a person can correct, explain or add about a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CorrectTap {
    /// It did not happen.
    Withdraw(LineId),
    /// It was so many minutes earlier.
    Earlier(LineId, u32),
    /// It was elsewhere.
    Elsewhere(LineId, StopId, ZoneId),
    /// The words typed are the right ones.
    Words(LineId),
    /// Why this look came late: one of the reasons on the screen, or what was typed.
    Late(LineId, Option<LateWhy>),
    /// This structure was entered and inspected.
    Structure(ZoneId),
}

/// Reasons that often hold. They are kept as words, since they judge nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LateWhy {
    /// Something had to be put right.
    PutRight,
    /// People needed help or stopped the guard.
    People,
    /// A door or way was shut.
    Way,
    /// At the hot work.
    HotWork,
    /// Phone or tag did not work.
    Phone,
    /// Not fit for a while.
    Unwell,
}

impl LateWhy {
    /// In the order in which they are shown.
    pub const ALL: [LateWhy; 6] = [
        LateWhy::PutRight,
        LateWhy::People,
        LateWhy::Way,
        LateWhy::HotWork,
        LateWhy::Phone,
        LateWhy::Unwell,
    ];
}

/// Something was touched.
pub(crate) fn did(model: &mut Model, at: &Moment, tap: CorrectTap) {
    match tap {
        CorrectTap::Withdraw(of) => {
            let why = WhyCorrected::TakenBack;
            correct(model, at, Corrected { withdrawn: true, ..nothing(of, why) });
        }
        CorrectTap::Earlier(of, by_min) => {
            let watch = model.watch();
            let before = watch.and_then(|watch| watch.effective(of)).map(|line| line.at_ms);
            let at_ms = before.map(|before| before - i64::from(by_min) * 60_000);
            correct(model, at, Corrected { at_ms, ..nothing(of, WhyCorrected::WrongTime) });
        }
        CorrectTap::Elsewhere(of, stop, zone) => {
            let why = WhyCorrected::WrongPlace;
            let elsewhere = Corrected { zone: Some(zone), stop: Some(stop), ..nothing(of, why) };
            correct(model, at, elsewhere);
        }
        CorrectTap::Words(of) => {
            let words = model.draft.typed(Field::Right).map(Words::from_text);
            let Some(words) = words else { return };
            model.draft.text.remove(&Field::Right);
            say_with(model, at, nothing(of, WhyCorrected::WrongWords), words, Then::Nothing);
            done(model);
        }
        CorrectTap::Late(of, why) => late(model, at, of, why),
        CorrectTap::Structure(zone) => {
            let Ok(place) = record::PlaceId::new(zone.as_str()) else { return };
            say(model, at, StructureEntered { place }, Then::Nothing);
            done(model);
        }
    }
}

fn nothing(of: LineId, why: WhyCorrected) -> Corrected {
    Corrected { of, why, at_ms: None, zone: None, stop: None, severity: None, withdrawn: false }
}

fn correct(model: &mut Model, at: &Moment, entry: Corrected) {
    say(model, at, entry, Then::Nothing);
    done(model);
}

fn done(model: &mut Model) {
    (model.place, model.page) = (Place::Write, None);
    model.notice = Some(Notice::Saved);
}

fn late(model: &mut Model, at: &Moment, of: LineId, why: Option<LateWhy>) {
    let lang = model.lang();
    let chosen = why.map(|why| crate::names::late_why(lang, why).to_owned());
    let typed = model.draft.typed(Field::Reason).map(str::to_owned);
    let Some(text) = chosen.or(typed) else { return };
    model.draft.text.remove(&Field::Reason);
    say_with(model, at, Note { of: Some(of) }, Words::from_text(&text), Then::Nothing);
    (model.place, model.page) = (Place::Round, None);
    model.notice = Some(Notice::Saved);
}

/// The worst gap over what was allowed that this guard ended since then and nobody explained yet.
pub(crate) fn unexplained<'a>(
    state: &'a State,
    guard: &PersonId,
    since_ms: i64,
) -> Option<(&'a ZoneId, &'a Gap, LineId)> {
    let explained = |line: LineId| state.notes.iter().any(|note| note.of == Some(line));
    let gaps = state.zones.iter().flat_map(|z| z.gaps.iter().map(move |gap| (z, gap)));
    gaps.filter(|(_, gap)| gap.to_ms >= since_ms && gap.over_ms().is_some_and(|over| over > 0))
        .filter_map(|(zone, gap)| match gap.to {
            GapEnd::Look(line) => Some((zone, gap, line)),
            _ => None,
        })
        .filter(|(zone, _, line)| {
            let own = |look: &watch::Look| look.written.line == *line && look.written.who == *guard;
            zone.looks.iter().any(own) && !explained(*line)
        })
        .max_by_key(|(_, gap, _)| gap.over_ms())
        .map(|(zone, gap, line)| (&zone.id, gap, line))
}
