//! One observation: how bad, what was done, who was told, photos, words.

use super::round::code;
use super::write::place_name;
use super::{Block, Control, Tone, back, heading, words_block};
use crate::event::Purpose;
use crate::model::Model;
use crate::names;
use crate::site::Site;
use crate::tap::{Field, Page, Tap};
use ledger::LineId;
use record::{Party, Severity, WhatDone};
use watch::State;
use words::{Lang, phone as w};

pub(super) fn observation(
    model: &Model,
    lang: Lang,
    state: &State,
    site: &Site<'_>,
    of: LineId,
) -> Vec<Block> {
    let Some(observation) = state.observations.iter().find(|o| o.written.line == of) else {
        return vec![words_block("loading", w::loading(lang), Tone::Soft), back(lang)];
    };
    let place = place_name(site, observation.stop.as_ref(), observation.zone.as_ref());
    let time = words::clock(observation.written.when.at_ms, model.tz_min);
    let second = format!("{place}. {}", w::observed_at(lang, time));
    let mut blocks = vec![
        heading("observation", names::class(lang, observation.class), Some(second)),
        Block::Camera { words: w::photo_add(lang).to_owned(), purpose: Purpose::Photo },
    ];
    if !observation.pictures.is_empty() {
        let count = w::photo_count(lang, observation.pictures.len() as i64);
        blocks.push(words_block("photos", count, Tone::Soft));
    }
    let severities = Severity::ALL.into_iter().map(|severity| {
        let id = format!("severity-{}", code(&severity));
        Control::plain(&id, names::severity(lang, severity), Tap::Raise(severity))
            .chosen(observation.severity == severity)
    });
    let legend = w::severity_title(lang).to_owned();
    blocks.push(Block::Legend(legend.clone()));
    blocks.push(Block::Choices { legend, controls: severities.collect() });
    done(model, lang, observation, &mut blocks);
    blocks.push(Block::Legend(w::told_title(lang).to_owned()));
    let told: Vec<String> = state
        .communications
        .iter()
        .filter(|c| c.of == Some(of))
        .map(|c| names::party(lang, c.party).to_owned())
        .collect();
    if !told.is_empty() {
        blocks.push(words_block("told", told.join(", "), Tone::Plain));
    }
    let tell = Tap::Open(Page::Tell(Some(of)));
    blocks.push(Block::Act(Control::plain("told-add", w::told_add(lang), tell)));
    blocks.push(Block::Input {
        field: Field::Words,
        label: w::words_field(lang).to_owned(),
        value: model.draft.text.get(&Field::Words).cloned().unwrap_or_default(),
        lines: true,
    });
    blocks.push(Block::Act(Control::plain("words-keep", w::words_keep(lang), Tap::KeepWords)));
    notes(model, state, of, &mut blocks);
    blocks.push(back(lang));
    blocks
}

fn done(model: &Model, lang: Lang, observation: &watch::Observation, blocks: &mut Vec<Block>) {
    let of = observation.written.line;
    let legend = w::done_title(lang).to_owned();
    blocks.push(Block::Legend(legend.clone()));
    let before: Vec<String> = observation
        .actions
        .iter()
        .flat_map(|action| &action.done)
        .map(|done| names::done(lang, *done).to_owned())
        .collect();
    if !before.is_empty() {
        blocks.push(words_block("done", before.join(", "), Tone::Plain));
    }
    let choices = WhatDone::ALL.into_iter().filter(|done| *done != WhatDone::LookedAgain);
    let controls = choices.map(|done| {
        let id = format!("done-{}", code(&done));
        Control::plain(&id, names::done(lang, done), Tap::Done(done))
            .chosen(model.draft.done.contains(&done))
    });
    blocks.push(Block::Choices { legend, controls: controls.collect() });
    if !model.draft.done.is_empty() {
        blocks.push(Block::Act(Control::main("done-keep", w::done_keep(lang), Tap::KeepDone)));
    }
    blocks.push(Block::Row(vec![
        Control::plain("put-right", w::put_right(lang), Tap::PutRight(of)),
        Control::plain("still-so", w::still_so(lang), Tap::StillSo(of)),
    ]));
}

fn notes(model: &Model, state: &State, of: LineId, blocks: &mut Vec<Block>) {
    let Some(watch) = model.watch() else { return };
    for note in state.notes.iter().filter(|note| note.of == Some(of)) {
        let text = watch.words(note.written.line).map(record::Words::text).unwrap_or_default();
        let time = words::clock(note.written.when.at_ms, model.tz_min);
        blocks.push(words_block("words-kept", format!("{time} {text}"), Tone::Plain));
    }
}

/// The site's own list first: one tap fills in whom and by what.
pub(super) fn tell(model: &Model, lang: Lang, site: &Site<'_>) -> Vec<Block> {
    let title = w::tell_title(lang);
    let mut blocks = vec![heading("tell-title", title, None)];
    let contacts = site.card().map(|card| card.contacts.as_slice()).unwrap_or_default();
    for (place, contact) in contacts.iter().enumerate() {
        let (id, tap) = (format!("told-{}", contact.id), Tap::Told(place));
        blocks.push(super::ring(model, lang, &id, contact, Some(tap)));
    }
    if !contacts.is_empty() {
        blocks.push(Block::Legend(w::tell_other(lang).to_owned()));
    }
    blocks.push(Block::Input {
        field: Field::Name,
        label: w::tell_name(lang).to_owned(),
        value: model.draft.text.get(&Field::Name).cloned().unwrap_or_default(),
        lines: false,
    });
    let others = Party::ALL.into_iter().map(|party| {
        let id = format!("party-{}", code(&party));
        Control::plain(&id, names::party(lang, party), Tap::Party(party))
    });
    blocks.push(Block::Choices { legend: title.to_owned(), controls: others.collect() });
    blocks.push(back(lang));
    blocks
}

pub(super) fn tell_how(model: &Model, lang: Lang) -> Vec<Block> {
    let Some(telling) = &model.draft.telling else { return vec![back(lang)] };
    let party = names::party(lang, telling.party).to_owned();
    let (title, second) = match telling.name.as_str() {
        "" => (party, None),
        name => (name.to_owned(), Some(party)),
    };
    let mut blocks = vec![heading("tell-how", title, second)];
    if let Some(number) = telling.number.as_ref().filter(|number| model.may_dial(number)) {
        let (id, words) = ("tell-ring".to_owned(), w::tell_ring(lang, number));
        let number = number.clone();
        blocks.push(Block::Ring { id, words, second: None, number, tap: None });
    }
    let legend = w::tell_how(lang).to_owned();
    let means = names::means(lang).into_iter().map(|(means, word)| {
        let id = format!("means-{}", code(&means));
        Control::plain(&id, word, Tap::By(means)).chosen(telling.means == means)
    });
    blocks.push(Block::Legend(legend.clone()));
    blocks.push(Block::Choices { legend, controls: means.collect() });
    let reached = Tap::KeepTold { reached: true };
    let missed = Tap::KeepTold { reached: false };
    blocks.push(Block::Act(Control::main("tell-reached", w::tell_reached(lang), reached)));
    blocks.push(Block::Act(Control::plain("tell-missed", w::tell_not_reached(lang), missed)));
    blocks.push(back(lang));
    blocks
}
