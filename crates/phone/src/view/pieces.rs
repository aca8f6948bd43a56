//! Lines as codes: shown here, or read off another phone.

use super::{Block, Control, Tone, back, heading, words_block};
use crate::carrying::{CarryTap, Said};
use crate::model::Model;
use crate::pieces::{ParcelFault, PieceFault};
use crate::tap::Tap;
use words::{Lang, pieces as w};

/// What waits here, for another phone.
pub(super) fn show(model: &Model, lang: Lang) -> Vec<Block> {
    let none = || vec![words_block("pieces-none", w::none(lang), Tone::Plain), back(lang)];
    let Some(showing) = model.carrying.showing.as_ref().filter(|showing| showing.lines > 0) else {
        return none();
    };
    let lines = w::holds(lang, showing.lines as i64);
    let title = heading("pieces-title", w::title(lang), Some(lines));
    let Some(code) = showing.codes.get(showing.at) else {
        return vec![
            title,
            words_block("pieces-cutting", w::cutting(lang), Tone::Soft),
            back(lang),
        ];
    };
    // The code first: it must be whole on the screen, whatever the size of the text.
    let says = w::code_of(lang, showing.codes.len(), (showing.at + 1) as i64);
    let mut blocks = vec![Block::Code { text: code.clone(), says: says.clone() }];
    blocks.push(words_block("pieces-code", says, Tone::Plain));
    let hold = if showing.held { w::go_on(lang) } else { w::hold(lang) };
    let turn = |id, words, on| Control::plain(id, words, Tap::Carry(CarryTap::Turn { on }));
    blocks.push(Block::Row(vec![
        turn("pieces-before", w::before(lang), false),
        turn("pieces-next", w::next(lang), true),
    ]));
    let held = Tap::Carry(CarryTap::Hold(!showing.held));
    blocks.push(Block::Act(Control::plain("pieces-hold", hold, held)));
    blocks.push(title);
    blocks.push(words_block("pieces-how", w::how(lang), Tone::Plain));
    blocks.push(words_block("pieces-photos", w::no_photos(lang), Tone::Soft));
    blocks.push(words_block("pieces-private", w::private(lang), Tone::Soft));
    blocks.push(back(lang));
    blocks
}

/// Another phone's lines, to be taken along.
pub(super) fn gather(model: &Model, lang: Lang) -> Vec<Block> {
    let mut blocks =
        vec![heading("gather-title", w::gather(lang), Some(w::gather_how(lang).to_owned()))];
    blocks.push(Block::Scanner { says: w::camera(lang).to_owned(), goes_on: true });
    if let Some(progress) = model.carrying.gathering.progress() {
        let part = match progress.part {
            (_, 1) => None,
            (part, parts) => Some(w::part_of(lang, part, parts)),
        };
        let says = match progress.of {
            0 => w::part_whole(lang).to_owned(),
            of => w::read_of(lang, of, progress.here as i64),
        };
        let says = part.into_iter().chain([says]).collect::<Vec<_>>().join(" ");
        blocks.push(words_block("gather-progress", says, Tone::Live));
        if !progress.missing.is_empty() && progress.here > 1 {
            blocks.push(words_block(
                "gather-missing",
                missing(lang, &progress.missing),
                Tone::Soft,
            ));
        }
    }
    if let Some(said) = &model.carrying.said {
        let (text, tone) = says(lang, said);
        blocks.push(words_block("gather-said", text, tone));
    }
    blocks.push(back(lang));
    blocks
}

/// The first of them: whoever holds two phones reads no longer list.
fn missing(lang: Lang, numbers: &[u16]) -> String {
    let named: Vec<String> = numbers.iter().take(6).map(u16::to_string).collect();
    let named = named.join(", ");
    if numbers.len() > 6 { w::missing_more(lang, named) } else { w::missing(lang, named) }
}

fn says(lang: Lang, said: &Said) -> (String, Tone) {
    let text = match said {
        Said::Kept { lines, who } => {
            return (w::kept(lang, *lines as i64, who), Tone::Live);
        }
        Said::Known => return (w::known(lang).to_owned(), Tone::Live),
        Said::No(PieceFault::NotOurs) => w::not_ours(lang),
        Said::No(PieceFault::Newer) | Said::Unreadable(ParcelFault::Newer) => w::newer(lang),
        Said::No(PieceFault::Damaged) => w::damaged(lang),
        Said::Spoiled | Said::Unreadable(ParcelFault::Unreadable) => w::spoiled(lang),
        Said::Strange => w::strange(lang),
        Said::Own => w::own(lang),
        Said::Unverified => w::unverified(lang),
        Said::NotKept => w::not_kept(lang),
    };
    (text.to_owned(), Tone::Ember)
}

/// The control that shows them, where something could be taken along.
pub(super) fn offer(model: &Model, lang: Lang) -> Option<Block> {
    (crate::carrying::count(model) > 0).then(|| {
        let show = Control::plain("waiting-codes", w::offer(lang), Tap::Carry(CarryTap::Show));
        Block::Act(show.second(w::offer_second(lang)))
    })
}
