//! The paper ladder on the screen: tell, be allowed, write by hand, come back.

use super::round::code;
use super::{Block, Control, Tone, back, heading, words_block};
use crate::event::Purpose;
use crate::model::Model;
use crate::names;
use crate::paper::{self as journey, PaperTap};
use crate::site::Site;
use crate::tap::{Field, Page, Tap};
use record::{PaperWhy, Party};
use watch::State;
use words::{Lang, paper as w};

/// The phone is failing: what to do, one step under the other.
pub(super) fn ladder(model: &Model, lang: Lang, site: &Site<'_>) -> Vec<Block> {
    let mut blocks = vec![
        heading("paper-title", w::title(lang), Some(w::title_why(lang).to_owned())),
        Block::Legend(w::tell(lang).to_owned()),
    ];
    let contacts = site.card().map(|card| card.contacts.as_slice()).unwrap_or_default();
    let desk = |party| matches!(party, Party::Dispatcher | Party::Supervisor);
    for (place, contact) in contacts.iter().enumerate().filter(|(_, c)| desk(c.party)) {
        blocks.push(super::ring(model, lang, &format!("paper-ring-{place}"), contact, None));
    }
    let told = |reached| Tap::Paper(PaperTap::Told { reached });
    blocks.push(Block::Row(vec![
        Control::plain("paper-told", w::told(lang), told(true)),
        Control::plain("paper-not-told", w::not_told(lang), told(false)),
    ]));
    let why = PaperWhy::ALL.into_iter().map(|why| {
        let id = format!("paper-{}", code(&why));
        Control::plain(&id, names::paper_why(lang, why), Tap::Paper(PaperTap::Why(why)))
            .chosen(model.draft.paper_why == Some(why))
    });
    blocks.push(Block::Legend(w::why(lang).to_owned()));
    blocks.push(Block::Choices { legend: w::why(lang).to_owned(), controls: why.collect() });
    let typed = model.draft.text.get(&Field::AllowedBy).cloned().unwrap_or_default();
    let allows = contacts.iter().enumerate().filter(|(_, contact)| desk(contact.party));
    let allows: Vec<Control> = allows
        .map(|(place, contact)| {
            let tap = Tap::Paper(PaperTap::By(place));
            Control::plain(&format!("allows-{}", contact.id), &contact.name, tap)
                .chosen(typed == contact.name)
        })
        .collect();
    blocks.push(Block::Legend(w::allowed_by(lang).to_owned()));
    if !allows.is_empty() {
        let legend = w::allowed_by(lang).to_owned();
        blocks.push(Block::Choices { legend, controls: allows });
    }
    blocks.push(Block::Input {
        field: Field::AllowedBy,
        label: w::allowed_name(lang).to_owned(),
        value: typed,
        lines: false,
    });
    let begin = Control::main("paper-begin", w::begin(lang), Tap::Paper(PaperTap::Begin));
    blocks.push(Block::Act(begin));
    blocks.push(words_block("nobody-allows", w::nobody_allows(lang), Tone::Soft));
    blocks.push(back(lang));
    blocks
}

/// What to write by hand when there is no printed sheet: to be copied before the screen goes dark.
pub(super) fn notepad(model: &Model, lang: Lang, state: &State, site: &Site<'_>) -> Vec<Block> {
    let card = site.card();
    let address = card.map(|card| format!("{}, {}", card.address, card.town));
    let mut items = vec![
        w::copy_head(lang, address.unwrap_or_default(), crate::date::today(model), site.name()),
        w::copy_each(lang).to_owned(),
        w::copy_zones(lang, zones(state, site)),
        w::copy_found(lang).to_owned(),
    ];
    let undiallable = state.opening.as_ref().is_none_or(|opening| opening.demo || opening.test);
    let number = card.and_then(|card| card.emergency_number.as_ref()).filter(|_| !undiallable);
    if let Some(number) = number {
        items.push(w::copy_fire(lang, number));
    }
    items.push(w::copy_keep(lang).to_owned());
    vec![
        heading("notepad", w::notepad(lang), Some(w::notepad_why(lang).to_owned())),
        Block::List { items },
        Block::Act(Control::main("paper-back", w::phone_back(lang), Tap::Open(Page::PaperBack))),
        back(lang),
    ]
}

/// Each zone with the gap that is allowed: what the hand-written page must show was kept.
fn zones(state: &State, site: &Site<'_>) -> String {
    let one = |due: &watch::Due| {
        let every = words::duration_words(i64::from(due.allowed_s));
        format!("{} {every}", site.zone(&due.zone))
    };
    state.due.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// Back on a phone: the gap is named, the pages are pictured.
pub(super) fn back_again(model: &Model, lang: Lang, state: &State) -> Vec<Block> {
    let clock = |at_ms| words::clock(at_ms, model.tz_min);
    let from = journey::since_ms(model).map(clock).unwrap_or_default();
    let gap = w::gap(lang, from, clock(model.now_ms));
    let mut blocks = vec![
        heading("paper-back", w::back_title(lang), Some(gap)),
        Block::Camera { words: w::photo(lang).to_owned(), purpose: Purpose::Page },
    ];
    let pages = journey::pages(state);
    if pages > 0 {
        let count = w::pages(lang, pages as i64);
        blocks.push(words_block("pages", count, Tone::Live));
        blocks.extend(super::sheet::pages(model, lang, state));
    }
    blocks.push(words_block("desk-types", w::desk_types(lang), Tone::Soft));
    blocks.push(Block::Input {
        field: Field::Gap,
        label: w::gap_field(lang).to_owned(),
        value: model.draft.text.get(&Field::Gap).cloned().unwrap_or_default(),
        lines: true,
    });
    blocks.push(Block::Input {
        field: Field::Sheets,
        label: w::sheets_field(lang).to_owned(),
        value: model.draft.text.get(&Field::Sheets).cloned().unwrap_or_default(),
        lines: false,
    });
    let hand = Tap::Paper(PaperTap::Back);
    blocks.push(Block::Act(Control::main("paper-done", w::hand_over(lang), hand)));
    blocks.push(back(lang));
    blocks
}

/// What stands on Round while pages are out.
pub(super) fn reminder(model: &Model, lang: Lang, state: &State) -> Option<Control> {
    let allowed = journey::out(state)?;
    let since = words::clock(allowed.written.when.at_ms, model.tz_min);
    let control = Control::plain("on-paper", w::on_paper(lang), Tap::Open(Page::PaperBack));
    Some(control.second(w::on_paper_since(lang, since)))
}
