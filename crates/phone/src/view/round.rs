//! Round: the lane, the tally, what is next.

use super::{Block, Control, Lane, Tone, back, heading, words_block};
use crate::model::Model;
use crate::names;
use crate::round::{self as journey, Progress, RoundStop, Stroke};
use crate::shift;
use crate::site::Site;
use crate::tap::{Field, Page, Tap};
use ledger::PersonId;
use record::{StopId, WhyNot};
use watch::{Due, State};
use words::{Lang, duration_words, minutes, minutes_left, phone as w, seconds};

pub(super) fn round(
    model: &Model,
    lang: Lang,
    state: &State,
    site: &Site<'_>,
) -> (&'static str, Vec<Block>) {
    let guard = model.person().expect("a member holds the phone");
    if shift::own(state, guard).is_none() || state.released().is_some() {
        return ("begin", super::before::begin(model, lang, state, site));
    }
    let mut blocks = urgent(model, lang, state);
    blocks.extend(super::paper::reminder(model, lang, state).map(Block::Act));
    blocks.extend(super::hot_work::controls(model, lang, state, site).into_iter().map(Block::Act));
    blocks.extend(answer(model, lang, state).map(Block::Act));
    blocks.extend(given(model, lang, state, guard, site));
    let progress = journey::progress(model, state, guard);
    let Some(progress) = progress.filter(|progress| !progress.stops.is_empty()) else {
        blocks.push(heading("no-stops", w::no_stops(lang), Some(w::no_stops_why(lang).to_owned())));
        blocks.push(Block::Row(vec![ask_control(lang)]));
        return ("round", blocks);
    };
    if progress.is_done() {
        done(model, lang, state, site, &progress, &mut blocks);
        return ("round-done", blocks);
    }
    let next = progress.next().expect("a round that is not done has a next stop").clone();
    walking(model, lang, state, site, &progress, &next, &mut blocks);
    ("round", blocks)
}

fn walking(
    model: &Model,
    lang: Lang,
    state: &State,
    site: &Site<'_>,
    progress: &Progress,
    next: &RoundStop,
    blocks: &mut Vec<Block>,
) {
    let due = journey::due(state, &next.zone);
    // In an emergency no time runs: the words above say since when.
    if let Some(due) = due.filter(|due| !due.stopped) {
        blocks.push(Block::Lane(lane(model, lang, site, due)));
    }
    blocks.push(tally(lang, progress));
    blocks.push(Block::Rule);
    blocks.push(heading(
        "next-stop",
        site.stop(&next.stop),
        second(model, lang, state, site, next),
    ));
    let waits = model.syncing.offline() && model.waiting().next().is_some();
    if waits && model.said.is_none() && model.writing.unsaved() == 0 {
        blocks.push(words_block("safe-here", w::safe_here(lang), Tone::Soft));
    }
    blocks.push(Block::Act(Control::main("i-am-here", w::i_am_here(lang), Tap::IAmHere)));
    let refused = Tap::Open(Page::CannotGetIn);
    blocks.push(Block::Row(vec![
        Control::plain("cannot-get-in", w::cannot_get_in(lang), refused),
        ask_control(lang),
    ]));
    said(model, lang, blocks);
    let mut quiet = Vec::new();
    if !model.choices.no_tags {
        quiet.push(Control::quiet("scan", w::scan(lang), Tap::Open(Page::Scan)));
    }
    if site.level_drawn(&next.stop).is_some() {
        let plan = Tap::Open(Page::Plan { level: None, near: false });
        quiet.push(Control::quiet("plan", words::reminders::plan(lang), plan));
    }
    if progress.stops.len() > 1 {
        quiet.push(Control::quiet("other-stop", w::other_stop(lang), Tap::Open(Page::OtherStop)));
    }
    if model.said.is_none() {
        blocks.push(Block::Row(quiet));
    }
}

fn lane(model: &Model, lang: Lang, site: &Site<'_>, due: &Due) -> Lane {
    let left_s = (due.due_ms - model.now_ms).div_euclid(1000);
    let zone = site.zone(&due.zone);
    let over = left_s < 0;
    let (big, small) = if over {
        let over_s = -left_s;
        let big = if over_s < 60 { seconds(over_s) } else { minutes(over_s / 60) };
        (big, w::over_for(lang, zone))
    } else {
        (minutes_left(left_s), w::left_for(lang, zone))
    };
    Lane { allowed_s: i64::from(due.allowed_s), left_s, big, small, over }
}

fn tally(lang: Lang, progress: &Progress) -> Block {
    let place = progress.stops.iter().position(|stop| stop.stroke == Stroke::Here);
    let all = progress.stops.len();
    let says = w::stop_of(lang, all, place.map_or(all, |place| place + 1) as i64);
    Block::Tally { strokes: progress.stops.iter().map(|stop| stop.stroke).collect(), says }
}

/// How to get there; when it is late, what to do; and any other zone that is late.
fn second(
    model: &Model,
    lang: Lang,
    state: &State,
    site: &Site<'_>,
    next: &RoundStop,
) -> Option<String> {
    let mut says = Vec::new();
    let due = journey::due(state, &next.zone);
    match due.filter(|due| due.due_ms < model.now_ms && !due.stopped) {
        Some(due) => {
            says.push(w::allowed_go(lang, duration_words(i64::from(due.allowed_s))));
            if model.waiting().next().is_some() {
                says.push(w::waiting_safe(lang).to_owned());
            }
        }
        None => {
            if let Some(level) = site.level(&next.stop) {
                says.push(w::up_to(lang, level));
            }
            let zone = site.zone(&next.zone);
            if zone != site.stop(&next.stop) {
                says.push(w::next_zone(lang, zone));
            }
        }
    }
    let worst = state.due.iter().filter(|due| due.zone != next.zone && !due.stopped);
    if let Some(worst) = worst.filter(|due| due.due_ms < model.now_ms).min_by_key(|d| d.due_ms) {
        let unseen = duration_words((model.now_ms - worst.since_ms) / 1000);
        let allowed = duration_words(i64::from(worst.allowed_s));
        says.push(w::other_over(lang, allowed, unseen, site.zone(&worst.zone)));
    }
    (!says.is_empty()).then(|| says.join(" "))
}

fn done(
    model: &Model,
    lang: Lang,
    state: &State,
    site: &Site<'_>,
    progress: &Progress,
    blocks: &mut Vec<Block>,
) {
    let due = state.due.iter().min_by_key(|due| due.due_ms);
    if let Some(due) = due.filter(|due| !due.stopped) {
        blocks.push(Block::Lane(lane(model, lang, site, due)));
    }
    blocks.push(tally_done(lang, progress));
    blocks.push(Block::Rule);
    let all = progress.stops.len();
    let count = match due {
        Some(due) => {
            let time = words::clock(due.due_ms, model.tz_min);
            w::round_done_count(lang, all, progress.seen(), time)
        }
        None => w::round_done_plain(lang, all, progress.seen()),
    };
    let title = w::round_done(lang, i64::from(progress.number));
    blocks.push(heading("round-done", title, Some(count)));
    let clear = Tap::RoundOver { all_clear: true };
    blocks.push(Block::Act(Control::main("all-clear", w::all_clear(lang), clear)));
    let found = Tap::Open(Page::Class);
    blocks.push(Block::Row(vec![
        Control::plain("found-something", w::found_something(lang), found),
        ask_control(lang),
    ]));
    blocks.extend(super::correcting::explain(model, lang, state, site).map(Block::Act));
    said(model, lang, blocks);
}

/// A round that the desk gave during the shift is said until its guard has been somewhere since.
fn given(
    model: &Model,
    lang: Lang,
    state: &State,
    guard: &PersonId,
    site: &Site<'_>,
) -> Option<Block> {
    let given_ms = state.route_of(Some(guard))?.written.when.at_ms;
    let looks = state.zones.iter().flat_map(|zone| &zone.looks).map(|look| &look.written);
    let walked = looks.filter(|written| written.who == *guard && written.when.at_ms > given_ms);
    if given_ms <= shift::own(state, guard)?.from_ms || walked.count() > 0 {
        return None;
    }
    let (first, _) = site.stops(Some(guard)).into_iter().next()?;
    let says = words::reminders::new_round(lang, words::clock(given_ms, model.tz_min));
    let begins = words::reminders::new_round_begins(lang, site.stop(&first));
    Some(heading("new-round", says, Some(begins)))
}

/// An answer of the desk that came in the last ten minutes leads to the questions.
fn answer(model: &Model, lang: Lang, state: &State) -> Option<Control> {
    let answers = state.questions.iter().flat_map(|question| &question.answers);
    let newest = answers.max_by_key(|answer| answer.when.at_ms)?;
    let fresh = model.now_ms - newest.when.at_ms < 600_000;
    let time = words::clock(newest.when.at_ms, model.tz_min);
    let says = words::reminders::answer(lang, model.name_of(&newest.who), time);
    fresh.then(|| Control::plain("answer", says, Tap::Open(Page::Ask)))
}

fn tally_done(lang: Lang, progress: &Progress) -> Block {
    let says = w::round_done_plain(lang, progress.stops.len(), progress.seen());
    Block::Tally { strokes: progress.stops.iter().map(|stop| stop.stroke).collect(), says }
}

/// What was just said, for ten seconds.
fn said(model: &Model, lang: Lang, blocks: &mut Vec<Block>) {
    let Some(said) = &model.said else { return };
    let time = model
        .lines
        .get(&said.line)
        .map(|kept| words::clock(kept.line.clk.recorded_ms(), model.tz_min))
        .unwrap_or_default();
    let kind = model.lines.get(&said.line).map(|kept| kept.line.kind.as_str());
    let tag = model
        .lines
        .get(&said.line)
        .is_some_and(|kept| kept.line.body.get("how").is_some_and(|how| how == "tag"));
    let says = match (kind, tag) {
        (Some("looked_back"), _) => {
            format!("{} {time}", words::hot_work::line_look(lang))
        }
        (Some("access_refused"), _) => w::seen_not(lang, &said.what, time),
        (_, true) => w::seen_by_tag(lang, &said.what, time),
        _ => w::seen_by_hand(lang, &said.what, time),
    };
    let fix = model.lines.get(&said.line).and_then(|kept| kept.private.as_ref());
    let fix = fix.and_then(|private| record::Words::open(private).fix);
    let says = match fix {
        Some(fix) => {
            let age = seconds(i64::try_from(fix.age_ms / 1000).unwrap_or(i64::MAX));
            let within = words::reminders::fix_with(lang, age, fix.accuracy_m);
            format!("{says}, {within}")
        }
        None if model.choices.position => {
            format!("{says}, {}", words::reminders::fix_none(lang))
        }
        None => says,
    };
    let control = Control::plain("take-back", w::take_back(lang), Tap::TakeBack);
    blocks.push(Block::Said { text: says, control });
}

/// What stands above everything: an emergency, a dying battery.
fn urgent(model: &Model, lang: Lang, state: &State) -> Vec<Block> {
    let mut blocks = Vec::new();
    if let Some(emergency) = state.emergency() {
        let from_ms = emergency.stamps.first().map_or(model.now_ms, |s| s.written.when.at_ms);
        let time = words::clock(from_ms, model.tz_min);
        let why = Some(w::emergency_why(lang).to_owned());
        blocks.push(heading("emergency", w::emergency_since(lang, time), why));
        let card = Control::plain("emergency-card", w::emergency_card(lang), Tap::Card);
        let over = Control::plain("emergency-over", w::emergency_over(lang), Tap::StandDown);
        blocks.push(Block::Act(card));
        blocks.push(Block::Act(over));
        blocks.push(Block::Rule);
    }
    calls(model, lang, &mut blocks);
    blocks
}

/// What called once and holds still.
fn calls(model: &Model, lang: Lang, blocks: &mut Vec<Block>) {
    use words::reminders as r;
    if let Some(left_s) = crate::drill::left_s(model) {
        let left = duration_words(left_s.max(0));
        let says =
            if left_s > 0 { r::drill_left(lang, left) } else { r::drill_over(lang).to_owned() };
        blocks.push(heading("practice", says, Some(r::drill_try(lang).to_owned())));
        blocks.push(Block::Row(vec![
            Control::plain("drill-end", w::drill_end(lang), Tap::DrillEnds),
            Control::plain("drill-real", w::drill_real(lang), Tap::Real),
        ]));
    }
    match (model.battery, crate::reminding::battery(model)) {
        (Some(percent), Some(20)) => {
            blocks.push(words_block("battery", r::battery_low(lang, percent), Tone::Ember));
            let paper =
                Control::plain("paper", words::paper::too_low(lang), Tap::Open(Page::Paper));
            blocks.push(Block::Act(paper));
        }
        (Some(percent), Some(_)) => {
            blocks.push(words_block("battery", r::battery_half(lang, percent), Tone::Soft));
        }
        _ => {}
    }
    if let Some(since_ms) = crate::reminding::waiting_since_ms(model) {
        let says = r::waiting_long(lang, words::clock(since_ms, model.tz_min));
        let show = Control::plain("waiting", r::waiting_show(lang), Tap::Open(Page::Waiting));
        blocks.push(Block::Act(show.second(says)));
    }
    if crate::reminding::storage_low(model) {
        blocks.push(words_block("storage-low", r::storage_low(lang), Tone::Ember));
    }
}

fn ask_control(lang: Lang) -> Control {
    Control::plain("ask", w::ask(lang), Tap::Open(Page::Ask))
}

pub(super) fn cannot_get_in(model: &Model, lang: Lang) -> Vec<Block> {
    let second = Some(w::why_not_second(lang).to_owned());
    let controls = WhyNot::ALL.into_iter().map(|why| {
        let id = format!("why-{}", code(&why));
        Control::plain(&id, names::why_not(lang, why), Tap::Refused(why))
    });
    vec![
        heading("why-not", w::why_not_title(lang), second),
        Block::Input {
            field: Field::Reason,
            label: w::reason_field(lang).to_owned(),
            value: model.draft.text.get(&Field::Reason).cloned().unwrap_or_default(),
            lines: false,
        },
        Block::Choices { legend: w::why_not_title(lang).to_owned(), controls: controls.collect() },
        back(lang),
    ]
}

pub(super) fn other_stop(model: &Model, lang: Lang, state: &State, site: &Site<'_>) -> Vec<Block> {
    let guard = model.person().expect("a member holds the phone");
    let progress = journey::progress(model, state, guard);
    let stops = progress.map(|progress| progress.stops).unwrap_or_default();
    // A stop may come twice in the round; one control for it is enough.
    let mut offered: Vec<StopId> = Vec::new();
    let open = stops.into_iter().filter(|stop| stop.stroke != Stroke::Seen);
    let once = open.filter(|stop| {
        let first = !offered.contains(&stop.stop);
        offered.extend(first.then(|| stop.stop.clone()));
        first
    });
    let controls = once.map(|stop| {
        let id = format!("stop-{}", stop.stop);
        Control::plain(&id, site.stop(&stop.stop), Tap::Here(stop.stop))
    });
    let title = w::other_stop(lang);
    vec![
        heading("other-stop", title, None),
        Block::Choices { legend: title.to_owned(), controls: controls.collect() },
        back(lang),
    ]
}

pub(super) fn scan(model: &Model, lang: Lang) -> Vec<Block> {
    let mut blocks = vec![
        Block::Scanner { says: w::scan_why(lang).to_owned(), goes_on: false },
        Block::Input {
            field: Field::Code,
            label: w::scan_type(lang).to_owned(),
            value: model.draft.text.get(&Field::Code).cloned().unwrap_or_default(),
            lines: false,
        },
        Block::Act(Control::main("scan-use", w::scan_use(lang), Tap::UseCode)),
        Block::Act(Control::plain("no-tags", w::tags_no(lang), Tap::NoTags(true))),
        back(lang),
    ];
    if model.reads_tags {
        let hold = words_block("hold-tag", words::reminders::hold_tag(lang), Tone::Plain);
        blocks.insert(0, hold);
    }
    blocks
}

pub(super) fn ask(model: &Model, lang: Lang, state: &State, site: &Site<'_>) -> Vec<Block> {
    let mut blocks = vec![
        heading("ask-title", w::ask_title(lang), Some(w::ask_why(lang).to_owned())),
        Block::Input {
            field: Field::Question,
            label: w::ask_field(lang).to_owned(),
            value: model.draft.text.get(&Field::Question).cloned().unwrap_or_default(),
            lines: true,
        },
        Block::Act(Control::main("ask-send", w::ask_send(lang), Tap::SendQuestion)),
    ];
    if let Some(card) = site.card() {
        use record::Party::{Dispatcher, Supervisor};
        for contact in card.contacts.iter().filter(|c| matches!(c.party, Dispatcher | Supervisor)) {
            blocks.push(super::ring(model, lang, &format!("ring-{}", contact.id), contact, None));
        }
    }
    let watch = model.watch();
    for question in state.questions.iter().rev().take(5) {
        let text = |line| {
            let words = watch.and_then(|watch| watch.words(line));
            words.map(record::Words::text).unwrap_or_default()
        };
        blocks.push(Block::Rule);
        blocks.push(words_block("question", text(question.written.line), Tone::Plain));
        if question.answers.is_empty() {
            blocks.push(words_block("no-answer", w::ask_open(lang), Tone::Soft));
        }
        for answer in &question.answers {
            let time = words::clock(answer.when.at_ms, model.tz_min);
            let who = w::ask_answered(lang, model.name_of(&answer.who), time);
            blocks.push(heading("answer", text(answer.line), Some(who)));
        }
    }
    blocks.push(back(lang));
    blocks
}

/// A code's name as it stands in the record.
pub(super) fn code<T: serde::Serialize>(value: &T) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(name)) => name.replace('_', "-"),
        _ => String::new(),
    }
}
