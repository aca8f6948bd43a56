//! The sentences of a night, one file per subject. A form is matched in the order of these tables.

mod desk;
mod emergency;
mod hot_work;
mod observation;
mod phone;
mod round;
mod shift;

use crate::form::Blanks;
use crate::teller::Teller;
use ledger::{Digest, LineId};
use record::HazardClass;
use std::collections::BTreeMap;

/// Writes what a sentence tells.
pub(crate) type Tell = fn(&mut Teller, &Blanks, i64) -> Result<(), String>;

type Forms = &'static [(&'static str, Tell)];

/// Every sentence.
pub(crate) fn all() -> impl Iterator<Item = (&'static str, Tell)> {
    let tables: [Forms; 7] = [
        shift::FORMS,
        round::FORMS,
        observation::FORMS,
        emergency::FORMS,
        hot_work::FORMS,
        desk::FORMS,
        phone::FORMS,
    ];
    tables.into_iter().flat_map(|table| table.iter().copied())
}

/// What later sentences refer to.
#[derive(Debug, Default)]
pub(crate) struct Memory {
    pub(crate) instructions: Digest,
    /// By person: the number of the round that goes on, or was last.
    pub(crate) rounds: BTreeMap<String, Round>,
    /// By person: their last line that can be taken back or corrected.
    pub(crate) last: BTreeMap<String, LineId>,
    pub(crate) observations: Vec<(LineId, HazardClass, bool)>,
    pub(crate) photos: u32,
    pub(crate) offer: Option<LineId>,
    pub(crate) permit: Option<LineId>,
    pub(crate) work: Option<LineId>,
    pub(crate) question: Option<LineId>,
    pub(crate) alert: Option<LineId>,
    pub(crate) hold: Option<LineId>,
    /// A drill is on: the card's stamps are a drill's until somebody says that it is real.
    pub(crate) drill: bool,
    pub(crate) reports: u32,
}

/// A round as its phone counts it.
#[derive(Debug, Default, Clone, Copy)]
pub(crate) struct Round {
    pub(crate) number: u32,
    pub(crate) open: bool,
    pub(crate) seen: u32,
}

impl Memory {
    /// The newest observation, or the newest of a class.
    pub(crate) fn observation(&self, class: Option<HazardClass>) -> Result<LineId, String> {
        let mut all = self.observations.iter().rev();
        let found = all.find(|(_, of, _)| class.is_none_or(|class| *of == class));
        found.map(|(id, ..)| *id).ok_or_else(|| "nothing has been found yet".to_owned())
    }

    pub(crate) fn open_observations(&self) -> Vec<LineId> {
        self.observations.iter().filter(|(_, _, open)| *open).map(|(id, ..)| *id).collect()
    }
}
