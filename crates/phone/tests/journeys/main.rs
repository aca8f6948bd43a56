//! Whole nights of the phone in milliseconds, against a server small enough to read.
#![expect(missing_docs, reason = "tests")]

mod bad_input;
mod card;
mod carrying;
mod desk;
mod enrolment;
mod faults;
mod handset;
mod hot_work;
mod kept;
mod new_round;
mod night;
mod orders;
mod paper;
mod pictures;
mod quiet;
mod shared;
mod shift;

use desk::{Desk, named};
use handset::Handset;
use phone::view::{Block, Control};
use phone::{Tap, View};

/// 20:00 in Chicago on 25 November 2026.
pub const EIGHT_MS: i64 = 1_795_658_400_000;

/// A phone that is in, with the watch on its screen.
pub fn enrolled(desk: &mut Desk, seed: u8, id: &str, name: &str, token: &str) -> Handset {
    let mut phone = Handset::new(seed, EIGHT_MS);
    desk.token(token, named(id, name));
    phone.start(desk);
    phone.tap(desk, Tap::Enrol(token.to_owned()));
    phone.wait_s(desk, 3);
    desk.confirm(token, phone.wall_ms);
    phone.settle(desk);
    assert_eq!(phone.view().name, "begin", "{:?}", phone.view());
    phone
}

/// Touches the control with this name on the screen, as a person would.
pub fn touch(phone: &mut Handset, desk: &mut Desk, id: &str) {
    let view = phone.view();
    let control = controls(&view).into_iter().find(|control| control.id == id);
    let Some(control) = control else {
        let ids: Vec<String> = controls(&view).into_iter().map(|control| control.id).collect();
        panic!("no control {id:?} on the screen {:?}, only {ids:?}", view.name);
    };
    phone.tap(desk, control.tap);
}

pub fn controls(view: &View) -> Vec<Control> {
    let mut all = Vec::new();
    for block in &view.blocks {
        match block {
            Block::Act(control) | Block::Said { control, .. } => all.push(control.clone()),
            Block::Row(controls) | Block::Choices { controls, .. } => all.extend(controls.clone()),
            _ => {}
        }
    }
    all
}

/// The words of the screen in order, for a person who reads it aloud.
pub fn said(view: &View) -> String {
    let mut text = Vec::new();
    for block in &view.blocks {
        match block {
            Block::Heading { text: words, second, .. } => {
                text.push(words.clone());
                text.extend(second.clone());
            }
            Block::Words { text: words, .. } | Block::Said { text: words, .. } => {
                text.push(words.clone());
            }
            Block::Lane(lane) => text.push(format!("{} {}", lane.big, lane.small)),
            Block::Tally { says, .. } => text.push(says.clone()),
            Block::Digits(digits) => text.push(digits.clone()),
            _ => {}
        }
    }
    text.join("\n").replace('\u{a0}', " ")
}

pub fn sent(view: &View) -> String {
    view.top.as_ref().map(|top| top.sent.clone()).unwrap_or_default()
}
