//! No watch yet, or not begun.

use super::{Block, Control, Tone, heading, words_block};
use crate::model::Model;
use crate::shift as journey;
use crate::site::Site;
use crate::tap::{Page, Place, Tap};
use watch::State;
use words::{Lang, phone as w};

pub(super) fn no_watch(model: &Model, lang: Lang) -> (&'static str, Vec<Block>) {
    if model.place == Place::Shift && model.page.is_none() {
        let settings = Tap::Open(Page::Settings);
        return (
            "shift",
            vec![
                heading("no-watch", w::no_watch(lang), Some(w::no_watch_why(lang).to_owned())),
                Block::Act(Control::plain("settings", w::settings(lang), settings)),
            ],
        );
    }
    let coming = model.choices.watch.is_some();
    let (title, why) = if coming {
        (w::loading_watch(lang), w::loading_watch_why(lang))
    } else {
        (w::no_watch(lang), w::no_watch_why(lang))
    };
    let mut blocks = vec![heading("no-watch", title, Some(why.to_owned()))];
    if model.syncing.revoked {
        blocks.push(words_block("revoked", w::revoked(lang), Tone::Ember));
    }
    if model.persisted == Some(false) {
        blocks.push(Block::Rule);
        let how = Some(w::install_how(lang).to_owned());
        blocks.push(heading("install", w::install_title(lang), how));
    }
    ("no-watch", blocks)
}

/// The watch is there, the guard is not on it: one tap begins the shift, or takes over.
pub(super) fn begin(model: &Model, lang: Lang, state: &State, site: &Site<'_>) -> Vec<Block> {
    let guard = model.person().expect("a member holds the phone");
    if let Some(release) = state.released() {
        let time = words::clock(release.at_ms, model.tz_min);
        return vec![heading("released", w::watch_released(lang, time), None)];
    }
    let signed = state.shifts.iter().rfind(|shift| shift.who == *guard && shift.ended.is_some());
    let other = journey::to_take(state, guard);
    let mut blocks = Vec::new();
    if let (Some(_), None) = (signed, other.filter(|other| other.relief_offered.is_some())) {
        let why = Some(w::shift_over_why(lang).to_owned());
        blocks.push(heading("shift-over", w::shift_over(lang), why));
        blocks.push(Block::Rule);
    }
    match other.filter(|other| other.relief_offered.is_some()) {
        Some(other) => {
            let name = model.name_of(&other.who);
            let why = Some(w::relief_waits_why(lang).to_owned());
            blocks.push(heading("relief-waits", w::relief_waits(lang, name), why));
            blocks.extend(super::relief::aloud(model, lang, state, site));
            let ask = Control::plain("ask", w::ask(lang), Tap::Open(Page::Ask));
            blocks.push(Block::Act(ask.second(words::handover::ask_before(lang))));
            blocks.push(Block::Act(Control::main("take-over", w::take_over(lang), Tap::TakeOver)));
        }
        None => {
            let why = Some(w::begin_why(lang).to_owned());
            blocks.push(heading("begin", w::begin_title(lang, site.name()), why));
            if let Some(card) = site.card() {
                let address = format!("{}, {}", card.address, card.town);
                blocks.push(words_block("address", address, Tone::Soft));
            }
            blocks.extend(super::times_of(model, lang));
            blocks.push(Block::Act(Control::main("i-am-here", w::i_am_here(lang), Tap::IAmHere)));
            if let Some(other) = other {
                let name = model.name_of(&other.who);
                blocks.push(words_block("on-watch", w::on_watch_now(lang, name), Tone::Soft));
                let take = Control::plain("take-over", w::take_over(lang), Tap::TakeOver);
                blocks.push(Block::Act(take));
            }
        }
    }
    blocks
}
