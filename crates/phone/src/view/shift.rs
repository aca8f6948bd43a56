//! Shift: what is to be read and checked, the relief, the end.

use super::round::code;
use super::{Block, Control, Tone, back, heading, words_block};
use crate::model::Model;
use crate::names;
use crate::shift as journey;
use crate::site::Site;
use crate::tap::{Field, Page, Tap};
use record::CheckedItem;
use watch::{Shift, State};
use words::{Lang, handover as h, phone as w, shared_phone as shared};

pub(super) fn shift(model: &Model, lang: Lang, state: &State, site: &Site<'_>) -> Vec<Block> {
    let guard = model.person().expect("a member holds the phone");
    let mut blocks = match journey::own(state, guard) {
        Some(shift) => on_duty(model, lang, state, site, shift),
        None => super::before::begin(model, lang, state, site),
    };
    blocks.push(Block::Rule);
    let paper = Tap::Open(Page::Paper);
    blocks.push(Block::Act(Control::plain("paper", words::paper::title(lang), paper)));
    if super::pin::people(model).next().is_some() {
        let who = Control::plain("who", shared::somebody_else(lang), Tap::Open(Page::Who));
        blocks.push(Block::Act(who.second(shared::holds_now(lang, model.name_of(guard)))));
    }
    let waiting = Control::plain("waiting", w::waiting_title(lang), Tap::Open(Page::Waiting))
        .second(super::waiting::sentence(model, lang));
    blocks.push(Block::Act(waiting));
    if model.update_waits {
        blocks.push(words_block("update", w::update_waits(lang), Tone::Plain));
        let now = Control::plain("update-now", w::update_now(lang), Tap::TakeUpdate)
            .second(w::update_relief(lang));
        blocks.push(Block::Act(now));
    }
    let settings = Tap::Open(Page::Settings);
    blocks.push(Block::Act(Control::plain("settings", w::settings(lang), settings)));
    let others =
        model.log.watches.iter().filter(|watch| Some(*watch) != model.choices.watch.as_ref());
    let others: Vec<Control> = others
        .map(|watch| {
            let name = other_name(model, watch);
            Control::plain(&format!("watch-{watch}"), name, Tap::Watch(watch.clone()))
        })
        .collect();
    if !others.is_empty() {
        let legend = w::other_watches(lang).to_owned();
        blocks.push(Block::Legend(legend.clone()));
        blocks.push(Block::Choices { legend, controls: others });
    }
    blocks
}

fn other_name(model: &Model, watch: &ledger::WatchId) -> String {
    let state = model.watches.get(watch).map(|watch| watch.about(model.now_ms));
    let name = state.as_ref().and_then(|state| Some(Site::of(model, state)?.name()));
    name.unwrap_or_else(|| watch.to_string())
}

fn on_duty(model: &Model, lang: Lang, state: &State, site: &Site<'_>, shift: &Shift) -> Vec<Block> {
    let since = w::shift_since(lang, words::clock(shift.from_ms, model.tz_min));
    let until = shift.planned_until_ms.map(|until| {
        let time = words::clock(until, model.tz_min);
        format!("{}, {}", site.name(), w::shift_until(lang, time))
    });
    let mut blocks = vec![heading("shift-since", since, until.or_else(|| Some(site.name())))];
    blocks.extend(super::times_of(model, lang));
    if let Some(rest) = shift.breaks.iter().find(|rest| rest.until_ms.is_none()) {
        let time = words::clock(rest.from_ms, model.tz_min);
        blocks.push(words_block("on-break", w::on_break(lang, time), Tone::Plain));
        let ends = Control::main("break-ends", w::break_ends(lang), Tap::BreakEnds);
        blocks.push(Block::Act(ends));
    }
    blocks.push(Block::Legend(w::to_do(lang).to_owned()));
    let set = state.instructions.as_ref().map(|set| &set.set);
    let read = set.is_some_and(|set| {
        shift.instructions_read.iter().any(|read| read.instructions == set.instructions)
    });
    let mark = |control: Control, done: bool| {
        if done { control.second(w::done_word(lang)).chosen(true) } else { control }
    };
    let open = |page| Tap::Open(page);
    let instructions =
        Control::plain("instructions", w::read_instructions(lang), open(Page::Instructions));
    let equipment = Control::plain("equipment", w::check_equipment(lang), open(Page::Equipment));
    let notice = Control::plain("notice", w::read_notice(lang), open(Page::Notice));
    blocks.push(Block::Choices {
        legend: w::to_do(lang).to_owned(),
        controls: vec![
            mark(instructions, read),
            mark(equipment, shift.equipment_checked.is_some()),
            mark(notice, shift.notice_read.is_some()),
        ],
    });
    blocks.push(Block::Rule);
    let relief = Control::plain("hand-over", w::hand_over(lang), Tap::Open(Page::Relief));
    let end = Control::plain("end-shift", w::end_shift(lang), Tap::Open(Page::End));
    blocks.push(Block::Row(vec![relief, end]));
    breaks(model, lang, state, shift, &mut blocks);
    blocks
}

fn breaks(model: &Model, lang: Lang, state: &State, shift: &Shift, blocks: &mut Vec<Block>) {
    if shift.breaks.iter().all(|rest| rest.until_ms.is_some()) {
        let others = state.on_duty.iter().filter(|duty| duty.who != shift.who && !duty.on_break);
        let covered: Vec<Control> = others
            .map(|duty| {
                let words = h::break_covered(lang, model.name_of(&duty.who));
                let tap = Tap::BreakBegins(Some(duty.who.clone()));
                Control::plain(&format!("break-{}", duty.who), words, tap)
            })
            .collect();
        let mut alone =
            Control::plain("break-begins", w::break_begins(lang), Tap::BreakBegins(None));
        if covered.is_empty() {
            alone = alone.second(h::break_nobody(lang));
        }
        blocks.extend(covered.into_iter().chain([alone]).map(Block::Act));
    }
    let duty = match shift.other_duties.last().filter(|(_, until_ms)| until_ms.is_none()) {
        Some((from_ms, _)) => {
            let since = h::duty_since(lang, words::clock(*from_ms, model.tz_min));
            Control::plain("duty-ends", h::duty_ends(lang), Tap::OtherDuty(false)).second(since)
        }
        None => Control::plain("duty-begins", h::duty_begins(lang), Tap::OtherDuty(true))
            .second(h::duty_why(lang)),
    };
    blocks.push(Block::Act(duty));
}

/// One touch for each zone, once a shift: is there a way to call from there?
fn call_path(model: &Model, lang: Lang, state: &State, site: &Site<'_>, blocks: &mut Vec<Block>) {
    let guard = model.person().expect("a member holds the phone");
    let tried = journey::own(state, guard).map(|shift| shift.call_tried.as_slice());
    let tried = tried.unwrap_or_default();
    blocks.push(Block::Legend(h::call_path(lang).to_owned()));
    blocks.push(words_block("call-path-why", h::call_path_why(lang), Tone::Soft));
    for zone in &state.zones {
        let name = site.zone(&zone.id);
        if tried.contains(&zone.id) {
            blocks.push(words_block("call-tried", h::call_tried(lang, name), Tone::Soft));
            continue;
        }
        let works = |works| Tap::CallPath(zone.id.clone(), works);
        blocks.push(Block::Row(vec![
            Control::plain(&format!("call-{}", zone.id), h::call_yes(lang, &name), works(true)),
            Control::plain(&format!("no-call-{}", zone.id), h::call_no(lang, &name), works(false)),
        ]));
    }
}

pub(super) fn instructions(
    model: &Model,
    lang: Lang,
    state: &State,
    site: &Site<'_>,
) -> Vec<Block> {
    let title = w::instructions_title(lang, site.name());
    let mut blocks = vec![heading("instructions-title", title, None)];
    let set = state.instructions.as_ref();
    match set.and_then(|set| model.documents.instructions(&set.set.instructions)) {
        Some(sheet) => {
            blocks.push(Block::List { items: sheet.lines.clone() });
            let read = Tap::InstructionsRead;
            let read = Control::main("instructions-read", w::instructions_read(lang), read);
            blocks.push(Block::Act(read));
        }
        None => {
            let none = words_block("instructions-none", w::instructions_none(lang), Tone::Plain);
            blocks.push(none);
        }
    }
    blocks.push(back(lang));
    blocks
}

pub(super) fn notice(lang: Lang) -> Vec<Block> {
    let items = journey::notice_text(lang).map(str::to_owned).to_vec();
    vec![
        heading("notice-title", w::notice_title(lang), None),
        Block::List { items },
        Block::Act(Control::main("notice-read", w::notice_read(lang), Tap::NoticeRead)),
        back(lang),
    ]
}

pub(super) fn equipment(model: &Model, lang: Lang, state: &State, site: &Site<'_>) -> Vec<Block> {
    let guard = model.person().expect("a member holds the phone");
    let me = h::name_and_date(lang, crate::date::today(model), model.name_of(guard));
    let controls = CheckedItem::ALL.into_iter().map(|item| {
        let id = format!("item-{}", code(&item));
        Control::plain(&id, names::item(lang, item), Tap::Item(item))
            .chosen(model.draft.items.contains(&item))
    });
    let mut blocks = vec![
        heading("equipment-title", w::equipment_title(lang), Some(me)),
        Block::Choices {
            legend: w::equipment_title(lang).to_owned(),
            controls: controls.collect(),
        },
        words_block("equipment-missing", w::equipment_missing(lang), Tone::Soft),
        Block::Input {
            field: Field::Reach,
            label: w::reach_field(lang).to_owned(),
            value: model.draft.text.get(&Field::Reach).cloned().unwrap_or_default(),
            lines: false,
        },
        Block::Act(Control::main("equipment-keep", w::equipment_keep(lang), Tap::KeepItems)),
    ];
    call_path(model, lang, state, site, &mut blocks);
    blocks.push(back(lang));
    blocks
}
