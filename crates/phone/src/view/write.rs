//! Write: what was seen, what is open, what was said tonight.

use super::round::code;
use super::{Block, Control, back, heading};
use crate::model::Model;
use crate::names;
use crate::site::Site;
use crate::tap::{Field, Page, Tap};
use record::{HazardClass, StopId, ZoneId};
use watch::State;
use words::{Lang, phone as w};

/// So many lines of tonight are shown.
const LINES_MAX: usize = 30;

pub(super) fn write(model: &Model, lang: Lang, state: &State, site: &Site<'_>) -> Vec<Block> {
    let observe = Tap::Open(Page::Class);
    let mut blocks = vec![
        Block::Act(Control::main("observe", w::observe(lang), observe)),
        Block::Row(vec![
            Control::plain("tell", w::tell(lang), Tap::Open(Page::Tell(None))),
            Control::plain("note", w::note(lang), Tap::Open(Page::Note)),
        ]),
        Block::Row(vec![
            Control::plain("hot-work", words::hot_work::title(lang), Tap::Open(Page::HotWorkList)),
            Control::plain("ask", w::ask(lang), Tap::Open(Page::Ask)),
        ]),
    ];
    if structures_owed(model) {
        let words = words::correcting::structure(lang);
        let open = Tap::Open(Page::Structures);
        blocks.push(Block::Act(Control::plain("structures", words, open)));
    }
    blocks.push(Block::Legend(w::open_title(lang).to_owned()));
    let open: Vec<Control> = open(model, lang, state, site);
    if open.is_empty() {
        blocks.push(super::words_block("open-none", w::open_none(lang), super::Tone::Soft));
    } else {
        let legend = w::open_title(lang).to_owned();
        blocks.push(Block::Choices { legend, controls: open });
    }
    blocks.push(Block::Legend(w::lines_title(lang).to_owned()));
    blocks.push(Block::Lines(super::waiting::tonight(model, lang, site, LINES_MAX)));
    blocks
}

/// Whether an entry for each structure is owed, or may be: the terms have not come down yet.
fn structures_owed(model: &Model) -> bool {
    let terms = model.state.as_ref().and_then(|state| state.terms.as_ref());
    let terms = terms.and_then(|terms| model.documents.terms(&terms.set.terms));
    terms.is_none_or(|terms| terms.owed.structure_entries)
}

/// Open observations of this and earlier shifts, each leading to its page.
pub(super) fn open(model: &Model, lang: Lang, state: &State, site: &Site<'_>) -> Vec<Control> {
    let one = |(number, observation): (usize, &watch::Observation)| {
        let place = place_name(site, observation.stop.as_ref(), observation.zone.as_ref());
        let words = w::open_line(lang, names::class(lang, observation.class), place);
        let time = words::clock(observation.written.when.at_ms, model.tz_min);
        let who = model.name_of(&observation.written.who);
        let mut second = w::open_since(lang, time, who);
        if observation.reliefs > 0 {
            second += ", ";
            second += &w::open_over_relief(lang, i64::from(observation.reliefs));
        }
        let page = Tap::Open(Page::Observation(observation.written.line));
        Control::plain(&format!("open-{number}"), words, page).second(second)
    };
    state.open_observations().enumerate().map(one).collect()
}

/// The nearest name of a place.
pub(super) fn place_name(site: &Site<'_>, stop: Option<&StopId>, zone: Option<&ZoneId>) -> String {
    match (stop, zone) {
        (Some(stop), _) => site.stop(stop),
        (None, Some(zone)) => site.zone(zone),
        (None, None) => site.name(),
    }
}

pub(super) fn class(lang: Lang) -> Vec<Block> {
    let controls = HazardClass::ALL.into_iter().map(|class| {
        let id = format!("class-{}", code(&class));
        Control::plain(&id, names::class(lang, class), Tap::Class(class))
    });
    let title = w::write_title(lang);
    vec![
        heading("write-title", title, None),
        Block::Choices { legend: title.to_owned(), controls: controls.collect() },
        back(lang),
    ]
}

/// The place where the guard was last stands first, since most is seen where one stands.
pub(super) fn place(
    model: &Model,
    lang: Lang,
    state: &State,
    site: &Site<'_>,
    class: HazardClass,
) -> Vec<Block> {
    let guard = model.person();
    let mut stops = site.stops(guard);
    let last = last_stop(state, guard);
    if let Some(place) = stops.iter().position(|(stop, _)| Some(stop) == last.as_ref()) {
        stops[..=place].rotate_right(1);
    }
    let mut controls: Vec<Control> = Vec::new();
    for (stop, zone) in &stops {
        let id = format!("at-{stop}");
        let at = Tap::At(zone.clone(), Some(stop.clone()));
        let mut control = Control::plain(&id, site.stop(stop), at);
        if Some(stop) == last.as_ref() {
            control = control.second(w::where_here(lang));
        }
        controls.push(control);
    }
    for zone in state.zones.iter().filter(|z| !stops.iter().any(|(_, zone)| *zone == z.id)) {
        let id = format!("at-zone-{}", zone.id);
        controls.push(Control::plain(&id, site.zone(&zone.id), Tap::At(zone.id.clone(), None)));
    }
    let title = w::where_title(lang);
    vec![
        heading("where-title", title, Some(names::class(lang, class).to_owned())),
        Block::Choices { legend: title.to_owned(), controls },
        back(lang),
    ]
}

fn last_stop(state: &State, guard: Option<&ledger::PersonId>) -> Option<StopId> {
    let looks = state.zones.iter().flat_map(|zone| zone.looks.iter());
    let own = looks.filter(|look| Some(&look.written.who) == guard && look.stop.is_some());
    own.max_by_key(|look| look.written.when.at_ms)?.stop.clone()
}

pub(super) fn note(model: &Model, lang: Lang) -> Vec<Block> {
    vec![
        heading("note-title", w::note(lang), None),
        Block::Input {
            field: Field::Note,
            label: w::note_field(lang).to_owned(),
            value: model.draft.text.get(&Field::Note).cloned().unwrap_or_default(),
            lines: true,
        },
        Block::Act(Control::main("note-keep", w::note_keep(lang), Tap::KeepNote)),
        back(lang),
    ]
}
