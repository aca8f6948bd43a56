//! The top line: where, what is out, what is sent.

use super::Top;
use crate::model::Model;
use crate::names;
use crate::site::Site;
use words::{Lang, phone as w};

pub(super) fn top(model: &Model, lang: Lang) -> Option<Top> {
    let state = model.state.as_ref()?;
    let site = Site::of(model, state)?;
    let opening = state.opening.as_ref()?;
    let band = if state.drill {
        Some(w::drill_band(lang))
    } else if opening.demo {
        Some(w::demo(lang))
    } else if opening.test {
        Some(w::test(lang))
    } else {
        None
    };
    Some(Top {
        site: site.name(),
        out: names::out(lang, &opening.out).map(str::to_owned),
        sent: sent(model, lang),
        band: band.map(str::to_owned),
    })
}

/// *Sent* only when nothing waits and everything said is on the disk.
fn sent(model: &Model, lang: Lang) -> String {
    let photos = model.unsent_blobs().count();
    let waiting = model.waiting().count() + model.carried().count() + photos;
    match (model.writing.unsaved(), waiting) {
        (0, 0) => w::all_sent(lang).to_owned(),
        (0, waiting) => w::waiting(lang, waiting as i64),
        _ => w::saving(lang).to_owned(),
    }
}
