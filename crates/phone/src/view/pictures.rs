//! Photos and signatures that are still on this phone, by name.

use super::write::place_name;
use super::{Block, Control, LineView, Tone, words_block};
use crate::model::Model;
use crate::names;
use crate::pictures::{Picture, Why, waiting};
use crate::site::Site;
use crate::tap::Tap;
use ledger::LineId;
use record::Entry;
use words::{Lang, pictures as w};

/// Each with what it is, when, how large and why it is here; a touch hands it over as a file.
pub(super) fn list(model: &Model, lang: Lang, site: &Site<'_>) -> Vec<Block> {
    let pictures = waiting(model);
    if pictures.is_empty() {
        return Vec::new();
    }
    let rows = (1..).zip(&pictures).map(|(number, picture)| {
        let what = what(model, lang, site, picture);
        let save = Tap::OfferPicture(picture.blob);
        let at_ms = picture.line.as_ref().map(|(kept, _)| kept.line.clk.recorded_ms());
        LineView {
            time: at_ms.map(|at_ms| words::clock(at_ms, model.tz_min)).unwrap_or_default(),
            open: Some(Control::quiet(&format!("picture-{number}"), &what, save)),
            what,
            words: Some(why(lang, picture)),
            state: None,
        }
    });
    vec![
        Block::Legend(w::title(lang).to_owned()),
        words_block("pictures-why", w::why(lang), Tone::Plain),
        Block::Lines(rows.collect()),
    ]
}

fn why(lang: Lang, picture: &Picture<'_>) -> String {
    let size = words::file_size(lang, picture.len);
    match picture.why {
        Why::Going => w::going(lang, size),
        Why::Turn => w::turn(lang, size),
        Why::NoNetwork => w::no_network(lang, size),
        Why::NotTaken => w::not_taken(lang, size),
    }
}

fn what(model: &Model, lang: Lang, site: &Site<'_>, picture: &Picture<'_>) -> String {
    let entry = picture.line.as_ref().map(|(_, entry)| entry);
    match entry {
        Some(Entry::Photo(photo)) => {
            photo.of.map_or_else(|| w::photo(lang).to_owned(), |of| of_line(model, lang, site, of))
        }
        Some(Entry::ShiftEnded(_)) => w::signature(lang).to_owned(),
        Some(_) => w::permit(lang).to_owned(),
        None => w::unsaid(lang).to_owned(),
    }
}

/// A photo of what that line states.
fn of_line(model: &Model, lang: Lang, site: &Site<'_>, of: LineId) -> String {
    match model.lines.get(&of).and_then(|kept| Entry::of(&kept.line).ok()) {
        Some(Entry::Observed(seen)) => {
            let place = place_name(site, seen.stop.as_ref(), seen.zone.as_ref());
            w::photo_of(lang, words::phone::open_line(lang, names::class(lang, seen.class), place))
        }
        Some(Entry::PaperAllowed(_)) => w::page(lang).to_owned(),
        _ => w::photo(lang).to_owned(),
    }
}
