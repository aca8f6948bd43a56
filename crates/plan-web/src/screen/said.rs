//! What happened last, in words.

use crate::{Model, Said};
use words::{Lang, drawing as said, metres};

/// The sentence for the line that is read aloud.
pub(crate) fn words(model: &Model) -> String {
    let lang = model.lang;
    let Some(what) = &model.said else { return String::new() };
    match what {
        Said::Corner(n) => said::said_corner(lang, *n as i64),
        Said::Closed(name) => said::said_closed(lang, name),
        Said::NoRoom => said::said_no_room(lang).to_owned(),
        Said::NoWall => said::said_no_wall(lang).to_owned(),
        Said::Put(name) => said::said_put(lang, name),
        Said::Chosen(name) => said::said_chosen(lang, name),
        Said::Moved(at) => said::said_moved(lang, along(lang, at.x), along(lang, at.y)),
        Said::Cross(at) => said::said_cross(lang, along(lang, at.x), along(lang, at.y)),
        Said::Removed(name) => said::said_removed(lang, name),
        Said::Undone(n) => said::said_undone(lang, *n as i64),
        Said::Redone => said::said_redone(lang).to_owned(),
        Said::NoStep => said::said_no_step(lang).to_owned(),
        Said::MeasureFirst => said::said_measure_first(lang).to_owned(),
        Said::MeasureSecond => said::said_measure_second(lang).to_owned(),
        Said::MeasureNear => said::said_measure_near(lang).to_owned(),
        Said::Scaled(true) => said::said_scaled_along(lang).to_owned(),
        Said::Scaled(false) => said::said_scaled(lang).to_owned(),
        Said::Stops(n) => said::said_stops(lang, *n as i64),
        Said::LastOne => said::said_last_one(lang).to_owned(),
        Said::Level(name) => said::said_level(lang, name),
    }
}

/// A coordinate in metres.
fn along(lang: Lang, mm: i64) -> String {
    match mm < 0 {
        true => format!("−{}", metres(lang, -mm)),
        false => metres(lang, mm),
    }
}
