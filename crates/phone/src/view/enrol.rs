//! Before the phone is somebody's.

use super::{Block, Control, Tone, heading, words_block};
use crate::model::{Membership, Model};
use crate::tap::{Field, Tap};
use words::{Lang, phone as w};

pub(super) fn enrol(model: &Model, lang: Lang) -> Vec<Block> {
    let mut blocks = match &model.membership {
        Membership::Waiting { code, .. } => vec![
            heading("enrol-code-title", w::enrol_code(lang), None),
            Block::Digits(code.clone()),
            words_block("enrol-code-why", w::enrol_code_why(lang), Tone::Plain),
            words_block("locked-phone", w::locked_phone(lang), Tone::Soft),
        ],
        Membership::Asking { .. } => vec![
            heading("enrol-asking", w::enrol_asking(lang), None),
            words_block("enrol-asking-why", w::enrol_asking_why(lang), Tone::Soft),
        ],
        Membership::Refused => vec![
            heading("enrol-refused", w::enrol_refused(lang), None),
            words_block("enrol-refused-why", w::enrol_refused_why(lang), Tone::Plain),
            Block::Act(Control::main("enrol-again", w::enrol_again(lang), Tap::AskAgain)),
        ],
        Membership::None | Membership::In(_) => vec![
            heading("enrol-title", w::enrol_title(lang), None),
            words_block("enrol-how", w::enrol_how(lang), Tone::Plain),
            Block::Input {
                field: Field::Token,
                label: w::enrol_field(lang).to_owned(),
                value: model.draft.text.get(&Field::Token).cloned().unwrap_or_default(),
                lines: false,
            },
            Block::Act(Control::main("enrol-go", w::enrol_button(lang), Tap::EnrolTyped)),
            Block::Scanner { says: w::enrol_scan(lang).to_owned(), goes_on: false },
        ],
    };
    blocks.push(Block::Legend(w::language(lang).to_owned()));
    blocks.push(super::settings::languages(lang));
    blocks
}
