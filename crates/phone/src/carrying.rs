//! Lines of a phone that cannot send: shown as codes there, read and taken along here. What was taken
//! along is kept and sent like this phone's own lines, each with the signature of whoever wrote it.

mod showing;
mod taking;

use crate::effect::Effect;
use crate::model::{Effects, Model};
use crate::moment::Moment;
use crate::pieces::{Gathering, ParcelFault, PieceFault};
use crate::tap::Page;
use showing::{Showing, to_show, turn};
pub(crate) use showing::{count, cut, step};
use taking::Keeping;
pub(crate) use taking::{opened, save_failed, saved, scanned};

/// What a person can say about codes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CarryTap {
    /// Show what waits here as codes.
    Show,
    /// One code on, or back.
    Turn {
        /// Forwards.
        on: bool,
    },
    /// Keep this code on the screen, or go on by itself.
    Hold(bool),
}

/// What is going on with codes.
#[derive(Debug, Default)]
pub(crate) struct Carrying {
    pub(crate) showing: Option<Showing>,
    pub(crate) gathering: Gathering,
    pub(crate) said: Option<Said>,
    opening: Option<String>,
    keeping: Option<Keeping>,
}

/// What the last code led to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Said {
    /// It is no piece.
    No(PieceFault),
    /// The set was spoiled and begins anew.
    Spoiled,
    /// The set is whole and holds no lines.
    Unreadable(ParcelFault),
    /// So many lines of this person's phone are on the disk here.
    Kept {
        /// How many.
        lines: usize,
        /// Whose.
        who: String,
    },
    /// All of them were here before.
    Known,
    /// They are of watches in which this phone has no part.
    Strange,
    /// They are this phone's own.
    Own,
    /// They do not verify.
    Unverified,
    /// The disk did not take them.
    NotKept,
}

/// Something was touched.
pub(crate) fn did(model: &mut Model, at: &Moment, tap: CarryTap, effects: &mut Effects) {
    match tap {
        CarryTap::Show => {
            let Some(device) = &model.device else { return };
            let (key, lines) = (device.key, to_show(model));
            model.carrying.showing = Some(Showing::of(lines.len()));
            crate::update::open(model, Page::Pieces, effects);
            if !lines.is_empty() {
                effects.push(Effect::CutPieces { key, lines });
            }
        }
        CarryTap::Turn { on } => turn(model, at, on),
        CarryTap::Hold(held) => {
            if let Some(showing) = &mut model.carrying.showing {
                showing.held = held;
            }
        }
    }
}
