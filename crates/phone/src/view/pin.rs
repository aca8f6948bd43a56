//! Who holds this phone: the name and the PIN.

use super::{Block, Control, Tone, back, heading, words_block};
use crate::model::Model;
use crate::pin::{self as journey, PinFault, PinTap};
use crate::tap::{Field, Tap};
use words::{Lang, duration_words, shared_phone as w};

pub(super) fn who(model: &Model, lang: Lang) -> Vec<Block> {
    let controls: Vec<Control> = people(model)
        .map(|named| {
            let tap = Tap::Pin(PinTap::Holds(named.clone()));
            Control::plain(&format!("holds-{}", named.id), &named.name, tap)
        })
        .collect();
    let title = w::who_title(lang);
    vec![
        heading("who-title", title, Some(w::who_why(lang).to_owned())),
        Block::Choices { legend: title.to_owned(), controls },
        back(lang),
    ]
}

/// Everybody who may hold this phone and does not hold it now.
pub(super) fn people(model: &Model) -> impl Iterator<Item = &crate::sync::Named> {
    let now = model.person();
    let own = match &model.membership {
        crate::model::Membership::In(member) => Some(&member.person),
        _ => None,
    };
    let others =
        model.log.people.iter().filter(move |named| Some(&named.id) != own.map(|own| &own.id));
    own.into_iter().chain(others).filter(move |named| Some(&named.id) != now)
}

pub(super) fn pin(model: &Model, lang: Lang) -> Vec<Block> {
    let Some(asking) = &model.asking else { return vec![back(lang)] };
    let name = &asking.named.name;
    let (title, why) = if journey::is_chosen(model, &asking.named.id) {
        (w::pin_title(lang, name), w::pin_why(lang))
    } else {
        (w::choose_title(lang, name), w::choose_why(lang))
    };
    let mut blocks = vec![heading("pin-title", title, Some(why.to_owned()))];
    let wait_s = journey::wait_s(model, model.clocks);
    match asking.fault {
        Some(PinFault::Form) => {
            blocks.push(words_block("pin-form", w::form(lang), Tone::Ember));
        }
        Some(PinFault::Wrong) => {
            blocks.push(words_block("pin-wrong", w::wrong(lang), Tone::Ember));
        }
        None => {}
    }
    if wait_s > 0 {
        let says = w::wait(lang, duration_words(wait_s));
        blocks.push(words_block("pin-wait", says, Tone::Plain));
    } else {
        blocks.push(Block::Input {
            field: Field::Pin,
            label: w::pin_field(lang).to_owned(),
            value: asking.typed.clone(),
            lines: false,
        });
        let use_it = Tap::Pin(PinTap::Use);
        blocks.push(Block::Act(Control::main("pin-use", w::use_it(lang), use_it)));
    }
    blocks.push(words_block("pin-lost", w::lost(lang), Tone::Soft));
    blocks.push(back(lang));
    blocks
}
