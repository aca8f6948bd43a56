//! The shift: beginning, reading, checking, relief, end.

use crate::model::{Effects, Model};
use crate::moment::Moment;
use crate::stored::{Name, note};
use crate::sync::Named;
use crate::tap::{Field, Page, Place};
use crate::writing::{Then, say, say_as, say_with};
use ledger::{Digest, LineId, PersonId};
use record::{
    BreakBegan, BreakEnded, CheckedItem, EquipmentChecked, InstructionsRead, NoticeRead, OtherDuty,
    ReliefOffered, ReliefTaken, ShiftBegan, ShiftEnded, Words, ZoneId,
};
use watch::{Shift, State};
use words::{Lang, phone as w};

/// The shift that a guard is on.
pub(crate) fn own<'a>(state: &'a State, guard: &PersonId) -> Option<&'a Shift> {
    state
        .shifts
        .iter()
        .rfind(|shift| shift.who == *guard && shift.ended.is_none())
        .filter(|shift| shift.until_ms.is_none() || shift.relieved_by.is_some())
}

/// Whether whoever holds the phone is on duty, as far as it is kept.
pub(crate) fn on_duty(model: &Model) -> bool {
    let state = model.state.as_ref();
    state.zip(model.person()).is_some_and(|(state, guard)| own(state, guard).is_some())
}

/// Somebody else's shift that can be taken over: the one that is offered, else the one going on.
pub(crate) fn to_take<'a>(state: &'a State, guard: &PersonId) -> Option<&'a Shift> {
    let going = || {
        let others = state.shifts.iter().filter(|shift| shift.who != *guard);
        others.filter(|shift| shift.until_ms.is_none() && shift.ended.is_none())
    };
    going().rfind(|shift| shift.relief_offered.is_some()).or_else(|| going().next_back())
}

/// "I am here": the shift begins. Everything else can follow during the first round.
pub(crate) fn begin(model: &mut Model, at: &Moment) {
    let said = model.writing.entries().any(|(_, e)| matches!(e, record::Entry::ShiftBegan(_)));
    if said {
        return;
    }
    let planned = model.state.as_ref().zip(model.person()).and_then(|(state, guard)| {
        let now_ms = model.now_ms;
        let own = state.scheduled.iter().filter(|planned| planned.person == *guard);
        let planned =
            own.filter(|planned| planned.until_ms > now_ms).map(|planned| planned.until_ms);
        planned.min().or(state.opening.as_ref().and_then(|opening| opening.until_ms))
    });
    let silent = model.choices.silent;
    say(model, at, ShiftBegan { until_ms: planned, silent }, Then::Nothing);
}

/// The instructions were read.
pub(crate) fn instructions_read(model: &mut Model, at: &Moment) {
    let set = model.state.as_ref().and_then(|state| state.instructions.as_ref());
    let Some(set) = set.map(|set| set.set.clone()) else { return };
    let entry = InstructionsRead { instructions: set.instructions, version: set.version };
    say(model, at, entry, Then::Nothing);
    model.page = None;
}

/// What happens with what is written here, in one language: the bytes that the entry names.
pub(crate) fn notice_text(lang: Lang) -> [&'static str; 5] {
    [w::notice_1(lang), w::notice_2(lang), w::notice_3(lang), w::notice_4(lang), w::notice_5(lang)]
}

/// The notice was read.
pub(crate) fn notice_read(model: &mut Model, at: &Moment) {
    let lang = model.lang();
    let notice = Digest::of(notice_text(lang).join("\n").as_bytes());
    say(model, at, NoticeRead { notice, language: lang.tag().to_owned() }, Then::Nothing);
    model.page = None;
}

/// The equipment was looked at.
pub(crate) fn items_checked(model: &mut Model, at: &Moment) {
    let there = std::mem::take(&mut model.draft.items);
    let items = ledger::order::map_of(CheckedItem::ALL.map(|item| (item, there.contains(&item))));
    let mut words = Words::default();
    if let Some(reach) = model.draft.typed(Field::Reach) {
        words.names.insert("reach".to_owned(), reach.to_owned());
    }
    say_with(model, at, EquipmentChecked { items, zone: None }, words, Then::Nothing);
    model.page = None;
}

fn open(state: &State) -> Vec<LineId> {
    state.open_observations().map(|observation| observation.written.line).collect()
}

/// Offers the relief to whoever comes.
pub(crate) fn offer(model: &mut Model, at: &Moment) {
    let Some(open) = model.state.as_ref().map(open) else { return };
    say(model, at, ReliefOffered { to: None, open }, Then::Nothing);
}

/// Takes over from the other guard.
pub(crate) fn take_over(model: &mut Model, at: &Moment) {
    let Some(guard) = model.person().cloned() else { return };
    let Some(entry) = taking(model, &guard) else { return };
    say(model, at, entry, Then::Nothing);
    (model.place, model.page) = (Place::Round, None);
}

/// Somebody takes over on this phone; the guard who leaves signs next.
pub(crate) fn take_over_here(model: &mut Model, at: &Moment, named: Named) {
    let Some(watch) = model.choices.watch.clone() else { return };
    let Some(entry) = taking(model, &named.id) else { return };
    let who = named.id.clone();
    say_as(model, at, watch, who, entry.into(), Words::default(), Then::Nothing, Vec::new());
    model.next_person = Some(named);
    model.page = Some(Page::End);
}

fn taking(model: &Model, guard: &PersonId) -> Option<ReliefTaken> {
    let state = model.state.as_ref()?;
    let from = to_take(state, guard)?;
    let offered = from.relief_offered.as_ref().map(|written| written.line);
    Some(ReliefTaken { offered, from: from.who.clone(), open: open(state) })
}

/// Ends the shift; the signature covers the chain as it stands.
pub(crate) fn end(model: &mut Model, at: &Moment, all_clear: bool, effects: &mut Effects) {
    let Some((rounds, lines)) = count(model) else { return };
    let mut words = Words::default();
    if let Some(name) = model.draft.typed(Field::Sign) {
        words.names.insert("signed".to_owned(), name.to_owned());
    }
    let signature = model.draft.signature.take();
    say_with(model, at, ShiftEnded { all_clear, signature, rounds, lines }, words, Then::Nothing);
    model.draft.text.remove(&Field::Sign);
    if let Some(next) = model.next_person.take() {
        holds(model, next, effects);
    }
    (model.place, model.page) = (Place::Shift, None);
}

fn count(model: &Model) -> Option<(u32, u64)> {
    let (state, guard) = (model.state.as_ref()?, model.person()?);
    let shift = own(state, guard)?;
    let walked = |round: &&watch::Round| round.who == *guard && round.from_ms >= shift.from_ms;
    let rounds = u32::try_from(state.rounds.iter().filter(walked).count()).unwrap_or(u32::MAX);
    let watch = model.choices.watch.as_ref()?;
    let kept = model.tips.get(watch).map_or(0, |place| place.seq);
    let said = model.writing.entries().filter(|(of, _)| *of == watch).count() as u64;
    Some((rounds, kept + said))
}

/// A break begins.
pub(crate) fn break_begins(model: &mut Model, at: &Moment, covered_by: Option<PersonId>) {
    say(model, at, BreakBegan { covered_by }, Then::Nothing);
}

/// The guard was given something else to do, or is back from it.
pub(crate) fn other_duty(model: &mut Model, at: &Moment, began: bool) {
    say(model, at, OtherDuty { began }, Then::Nothing);
}

/// A call was tried in a zone.
pub(crate) fn call_path(model: &mut Model, at: &Moment, zone: ZoneId, works: bool) {
    let items = [(CheckedItem::Signal, works)].into();
    say(model, at, EquipmentChecked { items, zone: Some(zone) }, Then::Nothing);
}

/// Somebody else holds this phone; nobody is relieved by that.
pub(crate) fn holds(model: &mut Model, named: Named, effects: &mut Effects) {
    let own = matches!(&model.membership, crate::model::Membership::In(member) if member.person.id == named.id);
    model.choices.person = (!own).then_some(named);
    let ticket = model.ticket();
    let puts = vec![note(Name::Choices, &model.choices)];
    effects.push(crate::effect::Effect::Save { ticket, guard: None, puts });
    (model.place, model.page) = (Place::Round, None);
}

/// The break is over.
pub(crate) fn break_ends(model: &mut Model, at: &Moment) {
    say(model, at, BreakEnded {}, Then::Nothing);
}
