//! Language, light, sound, tags, position, practice.

use super::{Block, Control, Tone, back, heading, words_block};
use crate::model::Model;
use crate::stored::Theme;
use crate::tap::Tap;
use watch::State;
use words::{Lang, phone as w};

pub(super) fn settings(model: &Model, lang: Lang, state: &State) -> Vec<Block> {
    let choices = &model.choices;
    let mut blocks = vec![heading("settings-title", w::settings_title(lang), None)];
    blocks.push(Block::Legend(w::language(lang).to_owned()));
    blocks.push(languages(lang));
    let theme = |id, words, theme| {
        Control::plain(id, words, Tap::Wear(theme)).chosen(choices.theme == theme)
    };
    question(
        &mut blocks,
        w::theme(lang),
        vec![
            theme("theme-device", w::theme_device(lang), Theme::Device),
            theme("theme-night", w::theme_night(lang), Theme::Night),
            theme("theme-day", w::theme_day(lang), Theme::Day),
        ],
    );
    question(
        &mut blocks,
        w::sound(lang),
        two(
            ("sound-on", w::sound_on(lang), Tap::Silent(false)),
            ("sound-off", w::sound_off(lang), Tap::Silent(true)),
            choices.silent,
        ),
    );
    question(
        &mut blocks,
        w::tags(lang),
        two(
            ("tags-yes", w::tags_yes(lang), Tap::NoTags(false)),
            ("tags-no", w::tags_no(lang), Tap::NoTags(true)),
            choices.no_tags,
        ),
    );
    question(
        &mut blocks,
        w::position(lang),
        two(
            ("position-off", w::position_off(lang), Tap::Position(false)),
            ("position-on", w::position_on(lang), Tap::Position(true)),
            choices.position,
        ),
    );
    if model.position_denied && choices.position {
        blocks.push(words_block("position-denied", w::position_denied(lang), Tone::Soft));
    }
    drill(model, lang, state, &mut blocks);
    blocks.push(back(lang));
    blocks
}

fn drill(model: &Model, lang: Lang, state: &State, blocks: &mut Vec<Block>) {
    if !crate::shift::on_duty(model) {
        return;
    }
    blocks.push(Block::Legend(w::drill(lang).to_owned()));
    blocks.push(words_block("drill-why", w::drill_why(lang), Tone::Soft));
    if state.drill {
        blocks.push(Block::Row(vec![
            Control::plain("drill-end", w::drill_end(lang), Tap::DrillEnds),
            Control::plain("drill-real", w::drill_real(lang), Tap::Real),
        ]));
    } else {
        let begin = Control::plain("drill-begin", w::drill_begin(lang), Tap::DrillBegins);
        blocks.push(Block::Act(begin));
    }
}

/// Each language by its own name, so that it is found by who cannot read the others.
pub(super) fn languages(lang: Lang) -> Block {
    let name = |lang| match lang {
        Lang::En => "English",
        Lang::Es => "Español",
    };
    let controls = Lang::ALL.into_iter().map(|other| {
        let id = format!("speak-{}", other.tag());
        Control::plain(&id, name(other), Tap::Speak(other)).chosen(other == lang)
    });
    Block::Choices { legend: w::language(lang).to_owned(), controls: controls.collect() }
}

fn question(blocks: &mut Vec<Block>, legend: &str, controls: Vec<Control>) {
    blocks.push(Block::Legend(legend.to_owned()));
    blocks.push(Block::Choices { legend: legend.to_owned(), controls });
}

/// Two answers to one question, the second of which is chosen if `second`.
fn two(
    (first_id, first_words, first_tap): (&str, &str, Tap),
    (second_id, second_words, second_tap): (&str, &str, Tap),
    second: bool,
) -> Vec<Control> {
    vec![
        Control::plain(first_id, first_words, first_tap).chosen(!second),
        Control::plain(second_id, second_words, second_tap).chosen(second),
    ]
}
