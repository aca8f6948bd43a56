//! Handing over and ending.

use super::{Block, Control, Tone, back, heading, words_block};
use crate::model::Model;
use crate::names;
use crate::pin::PinTap;
use crate::shift as journey;
use crate::site::Site;
use crate::tap::{Field, Page, Tap};
use watch::State;
use words::{Lang, handover as h, phone as w};

pub(super) fn relief(model: &Model, lang: Lang, state: &State, site: &Site<'_>) -> Vec<Block> {
    let guard = model.person().expect("a member holds the phone");
    let mut blocks = vec![heading("relief-title", w::relief_title(lang), None)];
    blocks.extend(aloud(model, lang, state, site));
    let Some(shift) = journey::own(state, guard) else {
        blocks.push(back(lang));
        return blocks;
    };
    match (&shift.relief_offered, &shift.relieved_by) {
        (_, Some(by)) => {
            let taken = w::relief_taken_by(lang, model.name_of(by));
            blocks.push(heading("relief-taken", taken, None));
            let end = Tap::Open(Page::End);
            blocks.push(Block::Act(Control::main("end-shift", w::end_shift(lang), end)));
        }
        (None, None) => {
            blocks.push(Block::Act(Control::main("offer", w::relief_offer(lang), Tap::Offer)));
        }
        (Some(offered), None) => {
            let time = words::clock(offered.when.at_ms, model.tz_min);
            let offered = w::relief_offered(lang, time);
            blocks.push(heading("offered", offered, None));
            blocks.push(words_block("nobody", nobody(lang, site), Tone::Ember));
            ring_supervisor(model, lang, site, &mut blocks);
            let controls: Vec<Control> = super::pin::people(model)
                .map(|named| {
                    let id = format!("takes-{}", named.id);
                    let tap = Tap::Pin(PinTap::TakesOver(named.clone()));
                    Control::plain(&id, &named.name, tap)
                })
                .collect();
            if !controls.is_empty() {
                let legend = w::relief_on_this_phone(lang).to_owned();
                blocks.push(Block::Legend(legend.clone()));
                blocks.push(Block::Choices { legend, controls });
            }
        }
    }
    blocks.push(back(lang));
    blocks
}

/// What both read aloud at the relief: what is out, what is open, hot work, who sleeps here, where a
/// call gets out.
pub(super) fn aloud(model: &Model, lang: Lang, state: &State, site: &Site<'_>) -> Vec<Block> {
    let mut items = Vec::new();
    let out = state.opening.as_ref().and_then(|opening| names::out(lang, &opening.out));
    items.extend(out.map(|out| h::out(lang, out)));
    items.extend(super::hot_work::relief_lines(model, lang, state, site));
    if let Some(card) = site.card() {
        if let Some(people) = card.people.filter(|people| people.about > 0) {
            let about = i64::from(people.about);
            let says = if people.asleep { h::asleep } else { h::inside };
            items.push(says(lang, about));
        }
        if !card.call_spots.is_empty() {
            items.push(h::call_spots(lang, card.call_spots.join(", ")));
        }
    }
    if let Some((stop, at_ms)) = site.last_seen(state) {
        items.push(h::last_seen(lang, stop, words::clock(at_ms, model.tz_min)));
    }
    vec![
        Block::Legend(h::aloud(lang).to_owned()),
        Block::List { items },
        open_list(model, lang, state, site),
    ]
}

/// What is open, to be said aloud.
pub(super) fn open_list(model: &Model, lang: Lang, state: &State, site: &Site<'_>) -> Block {
    let open = super::write::open(model, lang, state, site);
    if open.is_empty() {
        return words_block("open-none", w::relief_nothing_open(lang), Tone::Plain);
    }
    let items = open.into_iter().map(|control| match control.second {
        Some(second) => format!("{}, {second}", control.words),
        None => control.words,
    });
    Block::List { items: items.collect() }
}

fn supervisor<'a>(site: &Site<'a>) -> Option<&'a record::documents::Contact> {
    use record::Party::{Dispatcher, Supervisor};
    let contacts = &site.card()?.contacts;
    let of = |party| contacts.iter().find(move |contact| contact.party == party);
    of(Supervisor).or_else(|| of(Dispatcher))
}

fn nobody(lang: Lang, site: &Site<'_>) -> String {
    match supervisor(site) {
        Some(contact) => w::relief_nobody(lang, &contact.name),
        None => w::relief_nobody_plain(lang).to_owned(),
    }
}

fn ring_supervisor(model: &Model, lang: Lang, site: &Site<'_>, blocks: &mut Vec<Block>) {
    if let Some(contact) = supervisor(site) {
        blocks.push(super::ring(model, lang, "ring-supervisor", contact, None));
    }
}

pub(super) fn end(model: &Model, lang: Lang, state: &State) -> Vec<Block> {
    let guard = model.person().expect("a member holds the phone");
    let Some(shift) = journey::own(state, guard) else {
        let why = Some(w::shift_over_why(lang).to_owned());
        return vec![heading("shift-over", w::shift_over(lang), why), back(lang)];
    };
    let walked = state.rounds.iter().filter(|r| r.who == *guard && r.from_ms >= shift.from_ms);
    let rounds = walked.count() as i64;
    let open = state.open_observations().count() as i64;
    let from = words::clock(shift.from_ms, model.tz_min);
    let to = words::clock(model.now_ms, model.tz_min);
    let left = if open == 0 { w::end_open_none(lang).to_owned() } else { w::end_open(lang, open) };
    let statement = format!("{} {left}", w::end_statement(lang, from, rounds, to));
    let mut blocks = vec![heading("end-title", w::end_title(lang), Some(statement))];
    if shift.relieved_by.is_none() && state.released().is_none() {
        blocks.push(words_block("not-relieved", w::end_not_relieved(lang), Tone::Ember));
    }
    blocks.push(Block::Signature { words: w::end_sign(lang).to_owned() });
    if model.draft.signature.is_some() {
        blocks.push(words_block("signed", w::end_signed(lang), Tone::Live));
    }
    blocks.push(Block::Input {
        field: Field::Sign,
        label: w::end_name(lang).to_owned(),
        value: model.draft.text.get(&Field::Sign).cloned().unwrap_or_default(),
        lines: false,
    });
    let clear = Tap::End { all_clear: true };
    let not = Tap::End { all_clear: false };
    let (main, other) = if open == 0 {
        (
            Control::main("end-clear", w::end_all_clear(lang), clear),
            Control::plain("end-not-clear", w::end_not_clear(lang), not),
        )
    } else {
        (
            Control::main("end-not-clear", w::end_not_clear(lang), not),
            Control::plain("end-clear", w::end_all_clear(lang), clear),
        )
    };
    blocks.push(Block::Act(main));
    blocks.push(Block::Act(other));
    blocks.push(back(lang));
    blocks
}
