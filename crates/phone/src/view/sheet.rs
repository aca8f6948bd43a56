//! One row of a page that was read, beside the page in the guard's hand.

use super::{Block, Control, Tone, back, heading, words_block};
use crate::model::Model;
use crate::paper;
use crate::sheets::{self, Answer, Fault, SheetTap};
use crate::site::Site;
use crate::tap::{Field, Page, Tap};
use watch::State;
use words::{Lang, paper_rows as w};

/// What stands on the page "Back from paper" about each picture: what was read, and the way through it.
pub(super) fn pages(model: &Model, lang: Lang, state: &State) -> Vec<Block> {
    let of = paper::out(state).map(|allowed| allowed.written.line);
    let pictures = state.pictures.iter().filter(|picture| of.is_some() && picture.of == of);
    let control = |(n, picture): (usize, &watch::Picture)| {
        let says = match model.sheets.read.get(&picture.blob) {
            Some(answer) => read(lang, answer),
            None => w::not_read(lang).to_owned(),
        };
        let id = format!("page-{}", n + 1);
        let read = Tap::Sheet(SheetTap::Read(picture.blob));
        Block::Act(Control::plain(&id, w::page(lang, (n + 1) as i64), read).second(says))
    };
    pictures.enumerate().map(control).collect()
}

fn read(lang: Lang, answer: &Answer) -> String {
    match answer {
        Answer::Reading => w::reading(lang).to_owned(),
        Answer::Failed => w::failed(lang).to_owned(),
        Answer::Page(page) => match (page.fault(), page.is_sheet(), page.counts()) {
            (Some(fault), ..) => fault.to_owned(),
            (None, false, _) => w::notepad(lang).to_owned(),
            (None, true, (ticked, unsure)) => w::counts(lang, ticked, unsure),
        },
    }
}

/// The row that is on the screen.
pub(super) fn row(model: &Model, lang: Lang, site: &Site<'_>) -> Vec<Block> {
    let Some((page, row, left)) = sheets::row(model) else { return over(model, lang) };
    let window = row.window.as_ref().map(|window| window.says.as_str()).unwrap_or_default();
    let title = w::row(lang, i64::from(row.number), window);
    let of_page = w::page_of(lang, left as i64, page.of.unwrap_or(1), page.page.unwrap_or(1));
    let mut blocks = vec![heading("sheet-row", title, Some(of_page))];
    let fault = model.sheets.said.map(|fault| match fault {
        Fault::NoTime => w::no_time(lang),
        Fault::Ahead => w::ahead(lang),
        Fault::NoTick => w::no_tick(lang),
    });
    blocks.extend(fault.map(|says| words_block("sheet-fault", says, Tone::Ember)));
    blocks.push(words_block("sheet-compare", w::compare(lang), Tone::Plain));
    let zones = row.zones.iter().map(|(zone, _, unsure)| {
        let id = format!("tick-{zone}");
        let tick = Tap::Sheet(SheetTap::Tick(zone.clone()));
        let control =
            Control::plain(&id, site.zone(zone), tick).chosen(model.sheets.ticked.contains(zone));
        if *unsure { control.second(w::unsure(lang)) } else { control }
    });
    blocks.push(Block::Choices { legend: w::ticked(lang).to_owned(), controls: zones.collect() });
    blocks.push(Block::Input {
        field: Field::Began,
        label: w::began(lang).to_owned(),
        value: model.draft.text.get(&Field::Began).cloned().unwrap_or_default(),
        lines: false,
    });
    let right = Tap::Sheet(SheetTap::Right);
    blocks.push(Block::Act(Control::main("sheet-right", w::right(lang), right)));
    let out = Tap::Sheet(SheetTap::LeaveOut);
    blocks.push(Block::Act(Control::plain("sheet-out", w::leave_out(lang), out)));
    if let Some(writer) = sheets::writer(model) {
        let says = w::writer(lang, model.name_of(&writer));
        blocks.push(words_block("sheet-writer", says, Tone::Soft));
    }
    blocks.push(back(lang));
    blocks
}

/// All rows were looked at, or there are none.
fn over(model: &Model, lang: Lang) -> Vec<Block> {
    let answer = model.sheets.going.and_then(|(blob, _)| model.sheets.read.get(&blob));
    let says = match answer {
        Some(Answer::Page(page)) if page.is_sheet() && page.fault().is_none() => {
            w::kept(lang, model.sheets.kept as i64)
        }
        Some(answer) => read(lang, answer),
        None => w::failed(lang).to_owned(),
    };
    let title = match answer {
        Some(Answer::Reading) => w::reading(lang),
        _ => w::over(lang),
    };
    let on = Control::main("sheet-done", w::done(lang), Tap::Open(Page::PaperBack));
    vec![
        heading("sheet-over", title, None),
        words_block("sheet-kept", says, Tone::Live),
        words_block("sheet-rest", w::rest(lang), Tone::Soft),
        Block::Act(on),
    ]
}
