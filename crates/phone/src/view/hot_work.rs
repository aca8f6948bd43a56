//! Hot work on the screen: the list, the permit, one piece of work.

use super::round::code;
use super::{Block, Control, Lane, Tone, back, heading, words_block};
use crate::event::Purpose;
use crate::hot_work::{self as journey, HotWorkTap, Stage};
use crate::model::Model;
use crate::names;
use crate::site::Site;
use crate::tap::{Field, Page, Tap};
use record::PermitCheck;
use watch::{HotWork, State};
use words::{Lang, duration_words, hot_work as w, minutes, minutes_left, seconds};

/// Choices for the watch after the last spark, min (common practice: 30, 60 and 120; 240 where the
/// protection is out as well).
const WATCH_MIN: [u32; 4] = [30, 60, 120, 240];

/// Choices for the looks after that, min.
const LOOKS_MIN: [u32; 4] = [60, 120, 180, 240];

/// Choices for how far apart, min.
const EVERY_MIN: [u32; 3] = [15, 30, 60];

/// A last spark that was not written at once, min ago.
const AGO_MIN: [u32; 3] = [5, 15, 30];

fn act(tap: HotWorkTap) -> Tap {
    Tap::HotWork(tap)
}

fn zone(lang: Lang, site: &Site<'_>, zone: Option<&record::ZoneId>) -> String {
    zone.map_or_else(|| w::somewhere(lang).to_owned(), |zone| site.zone(zone))
}

pub(super) fn list(model: &Model, lang: Lang, state: &State, site: &Site<'_>) -> Vec<Block> {
    let mut blocks = vec![heading("hot-work-title", w::title(lang), None)];
    let open: Vec<Control> = controls(model, lang, state, site);
    let permits = journey::unused_permits(model);
    if open.is_empty() && permits.is_empty() {
        blocks.push(words_block("hot-work-none", w::none(lang), Tone::Soft));
    }
    for (line, permit) in permits {
        let words = w::begins(lang, zone(lang, site, permit.zone.as_ref()));
        let time = model.watch().and_then(|watch| watch.effective(line)).map(|e| e.at_ms);
        let time = words::clock(time.unwrap_or(model.now_ms), model.tz_min);
        let begins = Control::plain("work-begins", words, act(HotWorkTap::Begins(line)));
        blocks.push(Block::Act(begins.second(w::not_begun(lang, time))));
    }
    if !open.is_empty() {
        blocks.push(Block::Choices { legend: w::title(lang).to_owned(), controls: open });
    }
    blocks.push(Block::Act(Control::main(
        "permit-new",
        w::new(lang),
        Tap::Open(Page::PermitWhere),
    )));
    blocks.push(back(lang));
    blocks
}

/// Open hot work, each leading to its page and saying what is owed next.
pub(super) fn controls(model: &Model, lang: Lang, state: &State, site: &Site<'_>) -> Vec<Control> {
    let one = |(number, work): (usize, &HotWork)| {
        let zone = zone(lang, site, work.zone.as_ref());
        let stage = journey::stage(model, work);
        let words = match stage {
            Stage::Looks { .. } => w::round_look(lang, zone),
            Stage::Over => w::round_over(lang, zone),
            _ => w::round_stay(lang, zone),
        };
        let control = Control::plain(
            &format!("hot-{number}"),
            words,
            Tap::Open(Page::HotWork(work.began.line)),
        );
        match owed(model, lang, stage) {
            Some(owed) => control.second(owed),
            None => control,
        }
    };
    journey::open(state).enumerate().map(one).collect()
}

fn owed(model: &Model, lang: Lang, stage: Stage) -> Option<String> {
    match stage {
        Stage::Tail { until_ms, .. } => Some(w::until(lang, words::clock(until_ms, model.tz_min))),
        Stage::Looks { .. } => {
            let left_s = (stage.due_ms()? - model.now_ms) / 1000;
            let says = duration_words(left_s.abs());
            Some(if left_s < 0 { w::due_over(lang, says) } else { w::due_in(lang, says) })
        }
        _ => None,
    }
}

pub(super) fn place(lang: Lang, state: &State, site: &Site<'_>) -> Vec<Block> {
    let title = w::where_title(lang);
    let controls = state.zones.iter().map(|zone| {
        let tap = act(HotWorkTap::At(zone.id.clone()));
        Control::plain(&format!("work-at-{}", zone.id), site.zone(&zone.id), tap)
    });
    vec![
        heading("work-where", title, None),
        Block::Choices { legend: title.to_owned(), controls: controls.collect() },
        back(lang),
    ]
}

pub(super) fn permit(model: &Model, lang: Lang, site: &Site<'_>) -> Vec<Block> {
    let draft = &model.draft.permit;
    let title = w::permit_title(lang, zone(lang, site, draft.zone.as_ref()));
    let mut blocks = vec![
        heading("permit-title", title, None),
        Block::Input {
            field: Field::Permit,
            label: w::permit_number(lang).to_owned(),
            value: model.draft.text.get(&Field::Permit).cloned().unwrap_or_default(),
            lines: false,
        },
        Block::Camera { words: w::permit_photo(lang).to_owned(), purpose: Purpose::Permit },
    ];
    if draft.blob.is_some() {
        blocks.push(words_block("permit-photo", w::permit_photo_kept(lang), Tone::Live));
    }
    let choice = |name: &str, min: u32, chosen: Option<u32>, tap: fn(u32) -> HotWorkTap| {
        let words = duration_words(i64::from(min) * 60);
        Control::plain(&format!("{name}-{min}"), words, act(tap(min * 60)))
            .chosen(chosen == Some(min * 60))
    };
    let watch = WATCH_MIN.map(|min| choice("watch", min, draft.watch_s, HotWorkTap::Watch));
    question(&mut blocks, w::watch_title(lang), watch.to_vec());
    if let Some(tail_s) = journey::tail_of_terms(model) {
        let says = w::watch_terms(lang, duration_words(i64::from(tail_s)));
        blocks.push(words_block("watch-terms", says, Tone::Soft));
    }
    let looks = LOOKS_MIN.map(|min| choice("looks", min, draft.looks_s, HotWorkTap::Looks));
    question(&mut blocks, w::looks_title(lang), looks.to_vec());
    if draft.looks_s.is_some() {
        let every = EVERY_MIN.map(|min| choice("every", min, draft.every_s, HotWorkTap::Every));
        question(&mut blocks, w::every_title(lang), every.to_vec());
    }
    let checks = PermitCheck::ALL.into_iter().map(|check| {
        let id = format!("check-{}", code(&check));
        Control::plain(&id, names::permit_check(lang, check), act(HotWorkTap::Check(check)))
            .chosen(draft.checks.contains(&check))
    });
    question(&mut blocks, w::checks_title(lang), checks.collect());
    blocks.push(words_block("checks-missing", w::checks_missing(lang), Tone::Soft));
    blocks.push(Block::Act(Control::main(
        "permit-keep",
        w::keep(lang),
        act(HotWorkTap::KeepPermit),
    )));
    let without = Control::plain("no-permit", w::no_permit(lang), act(HotWorkTap::NoPermit));
    blocks.push(Block::Act(without));
    blocks.push(words_block("no-permit-why", w::no_permit_why(lang), Tone::Soft));
    blocks.push(back(lang));
    blocks
}

fn question(blocks: &mut Vec<Block>, legend: &str, controls: Vec<Control>) {
    blocks.push(Block::Legend(legend.to_owned()));
    blocks.push(Block::Choices { legend: legend.to_owned(), controls });
}

pub(super) fn work(
    model: &Model,
    lang: Lang,
    state: &State,
    site: &Site<'_>,
    of: ledger::LineId,
) -> Vec<Block> {
    let Some(work) = state.hot_work.iter().find(|work| work.began.line == of) else {
        return vec![words_block("loading", words::phone::loading(lang), Tone::Soft), back(lang)];
    };
    let place = zone(lang, site, work.zone.as_ref());
    let title = w::in_zone(lang, &place);
    let mut blocks = Vec::new();
    if work.closed.is_some() {
        blocks.push(heading("hot-work", title, Some(w::line_closed(lang).to_owned())));
        blocks.push(back(lang));
        return blocks;
    }
    let stage = journey::stage(model, work);
    if let Some(lane) = lane(model, lang, stage, &place) {
        blocks.push(Block::Lane(lane));
    }
    blocks.push(heading("hot-work", title, Some(says(model, lang, work, stage))));
    acts(lang, stage, of, &mut blocks);
    details(model, lang, work, &mut blocks);
    blocks.push(back(lang));
    blocks
}

fn lane(model: &Model, lang: Lang, stage: Stage, place: &str) -> Option<Lane> {
    let (allowed_s, until_ms) = match stage {
        Stage::Tail { until_ms, allowed_s } => (i64::from(allowed_s), until_ms),
        Stage::Looks { since_ms, due_ms: Some(due_ms), .. } => ((due_ms - since_ms) / 1000, due_ms),
        _ => return None,
    };
    let left_s = (until_ms - model.now_ms).div_euclid(1000);
    let over = left_s < 0;
    let (big, small) = match stage {
        Stage::Tail { .. } => (minutes_left(left_s), w::tail_left(lang, place)),
        _ if over && left_s > -60 => (seconds(-left_s), w::looks_over(lang, place)),
        _ if over => (minutes(-left_s / 60), w::looks_over(lang, place)),
        _ => (minutes_left(left_s), w::looks_left(lang, place)),
    };
    Some(Lane { allowed_s, left_s, big, small, over })
}

fn says(model: &Model, lang: Lang, work: &HotWork, stage: Stage) -> String {
    let clock = |at_ms| words::clock(at_ms, model.tz_min);
    let spark = work.last_spark.as_ref().map(|spark| clock(spark.when.at_ms)).unwrap_or_default();
    match stage {
        Stage::Burning => {
            let since_ms = work.again.as_ref().unwrap_or(&work.began).when.at_ms;
            format!("{}. {}", w::burning(lang, clock(since_ms)), w::burning_why(lang))
        }
        Stage::Tail { until_ms, .. } => w::tail_why(lang, spark, clock(until_ms)),
        Stage::Looks { due_ms: Some(_), until_ms, .. } => {
            w::looks_why(lang, spark, clock(until_ms))
        }
        Stage::Looks { until_ms, .. } => w::looks_no_interval(lang, clock(until_ms)),
        Stage::Unstated { since_ms } => {
            format!("{} {}", w::unstated(lang, clock(since_ms)), w::unstated_why(lang))
        }
        Stage::Over => format!("{}. {}", w::over(lang), w::over_why(lang)),
    }
}

fn acts(lang: Lang, stage: Stage, work: ledger::LineId, blocks: &mut Vec<Block>) {
    let spark = |min| act(HotWorkTap::LastSpark(work, min));
    let looked = |clear| act(HotWorkTap::Look { work, clear });
    match stage {
        Stage::Burning => {
            let now = Control::main("last-spark", w::last_spark_now(lang), spark(0));
            blocks.push(Block::Act(now));
            let ago = AGO_MIN.map(|min| {
                let words = w::last_spark_ago(lang, minutes(i64::from(min)));
                Control::plain(&format!("last-spark-{min}"), words, spark(min))
            });
            blocks.push(Block::Row(ago.to_vec()));
            let stop = Control::plain("stop-work", w::stop(lang), act(HotWorkTap::Stop(work)));
            blocks.push(Block::Act(stop.second(w::no_permit_why(lang))));
            return;
        }
        Stage::Over => {
            let close = act(HotWorkTap::Close { work, surveyed: true });
            blocks.push(Block::Act(Control::main("work-close", w::close(lang), close)));
            let unseen = act(HotWorkTap::Close { work, surveyed: false });
            blocks.push(Block::Act(Control::plain(
                "work-close-unseen",
                w::close_unseen(lang),
                unseen,
            )));
        }
        _ => {
            blocks.push(Block::Act(Control::main("look-clear", w::look_clear(lang), looked(true))))
        }
    }
    blocks.push(Block::Act(Control::plain("look-found", w::look_found(lang), looked(false))));
    let again = Control::plain("work-again", w::again(lang), act(HotWorkTap::Again(work)));
    blocks.push(Block::Act(again.second(w::again_why(lang))));
}

fn details(model: &Model, lang: Lang, work: &HotWork, blocks: &mut Vec<Block>) {
    let mut items = Vec::new();
    match &work.permit {
        Some(permit) => {
            items.extend(permit.number.as_ref().map(|number| w::permit_line(lang, number)));
            let bad = permit.checks.iter().filter(|(_, fine)| !**fine);
            let bad: Vec<&str> = bad.map(|(check, _)| names::permit_check(lang, *check)).collect();
            if !bad.is_empty() {
                items.push(w::checks_bad(lang, bad.join(", ")));
            }
        }
        None => items.push(w::permit_none(lang).to_owned()),
    }
    if let Some(stopped) = &work.stopped {
        items.push(w::stopped(lang, words::clock(stopped.when.at_ms, model.tz_min)));
    }
    if let Some(look) = work.looked_back.last() {
        let time = words::clock(look.written.when.at_ms, model.tz_min);
        items.push(w::looked_at(lang, time, model.name_of(&look.written.who)));
    }
    if !items.is_empty() {
        blocks.push(Block::List { items });
    }
}

/// What is said of it at the relief.
pub(super) fn relief_lines(
    model: &Model,
    lang: Lang,
    state: &State,
    site: &Site<'_>,
) -> Vec<String> {
    let one = |work: &HotWork| {
        let place = zone(lang, site, work.zone.as_ref());
        let clock = |at_ms| words::clock(at_ms, model.tz_min);
        match journey::stage(model, work) {
            Stage::Burning => w::relief_burning(lang, place),
            Stage::Tail { until_ms, .. } => w::relief_tail(lang, clock(until_ms), place),
            Stage::Looks { until_ms, .. } => w::relief_looks(lang, clock(until_ms), place),
            Stage::Unstated { .. } | Stage::Over => w::relief_open(lang, place),
        }
    };
    journey::open(state).map(one).collect()
}
