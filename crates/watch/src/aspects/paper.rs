//! Paper: when it was allowed, how many sheets were handed over, what was typed from them.

use crate::fold::Item;
use crate::kept::Via;
use crate::time::Written;
use ledger::PersonId;
use record::{PaperAllowed, PaperHandedOver, PaperWhy};
use serde::Serialize;

/// Paper that took over, and where its sheets are.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Paper {
    /// When it was allowed, why, for whom.
    pub allowed: Vec<Allowed>,
    /// Sheets that were handed over.
    pub handed_over: Vec<HandedOver>,
    /// Lines that were typed from paper.
    pub typed: Vec<Written>,
}

/// Paper was allowed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Allowed {
    /// The line.
    pub written: Written,
    /// Why.
    pub why: PaperWhy,
    /// For whom.
    pub guard: Option<PersonId>,
}

/// Sheets were handed over.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct HandedOver {
    /// The line.
    pub written: Written,
    /// How many.
    pub sheets: u16,
    /// To whom.
    pub to: Option<PersonId>,
}

impl Paper {
    /// Paper was allowed and no sheet has been handed over since.
    pub fn to_collect(&self) -> Option<&Allowed> {
        let allowed = self.allowed.last()?;
        let collected =
            self.handed_over.iter().any(|h| h.written.when.at_ms >= allowed.written.when.at_ms);
        (!collected).then_some(allowed)
    }
}

#[derive(Default)]
pub(crate) struct Fold(Paper);

impl Fold {
    pub(crate) fn any(&mut self, item: &Item<'_>) {
        if item.kept.via == Via::Paper {
            self.0.typed.push(item.written.clone());
        }
    }

    pub(crate) fn allowed(&mut self, item: &Item<'_>, body: &PaperAllowed) {
        self.0.allowed.push(Allowed {
            written: item.written.clone(),
            why: body.why,
            guard: body.guard.clone(),
        });
    }

    pub(crate) fn handed_over(&mut self, item: &Item<'_>, body: &PaperHandedOver) {
        self.0.handed_over.push(HandedOver {
            written: item.written.clone(),
            sheets: body.sheets,
            to: body.to.clone(),
        });
    }

    pub(crate) fn finish(self) -> Paper {
        self.0
    }
}
