//! The opening of the watch, and the plan, routes, terms and instructions in force.

use crate::fold::Item;
use crate::time::Written;
use ledger::order::Map;
use ledger::{Digest, PersonId};
use record::{
    Drill, DrillStage, InstructionsSet, PlanSet, RouteSet, SiteId, System, TermsSet, WatchOpened,
};
use serde::Serialize;

/// Site, card, window: from the newest opening line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Opening {
    /// The line.
    pub written: Written,
    /// The site.
    pub site: SiteId,
    /// The blob with the site card.
    pub card: Digest,
    /// IANA time zone of the site.
    pub tz: String,
    /// From when the watch is owed, ms UTC.
    pub from_ms: i64,
    /// Until when, if known, ms UTC.
    pub until_ms: Option<i64>,
    /// Systems that are out.
    pub out: Vec<System>,
    /// A demonstration.
    pub demo: bool,
    /// A test site.
    pub test: bool,
}

/// Something that is set by a line and holds until the next.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct InForce<T> {
    /// The line that set it.
    pub written: Written,
    /// What it set.
    pub set: T,
}

/// Terms.
pub type Terms = InForce<TermsSet>;

#[derive(Default)]
pub(crate) struct Fold {
    openings: Vec<Opening>,
    plan: Option<InForce<PlanSet>>,
    routes: Map<Option<PersonId>, InForce<RouteSet>>,
    terms: Vec<Terms>,
    instructions: Option<InForce<InstructionsSet>>,
    drill: bool,
}

/// The opening and what is in force.
pub(crate) struct Opened {
    pub(crate) opening: Option<Opening>,
    pub(crate) plan: Option<InForce<PlanSet>>,
    pub(crate) routes: Vec<InForce<RouteSet>>,
    pub(crate) terms: Option<Terms>,
    pub(crate) terms_history: Vec<Terms>,
    pub(crate) instructions: Option<InForce<InstructionsSet>>,
    pub(crate) drill: bool,
}

impl Fold {
    pub(crate) fn opened(&mut self, item: &Item<'_>, body: &WatchOpened) {
        self.openings.push(Opening {
            written: item.written.clone(),
            site: body.site.clone(),
            card: body.card,
            tz: body.tz.clone(),
            from_ms: body.from_ms,
            until_ms: body.until_ms,
            out: body.out.clone(),
            demo: body.demo,
            test: body.test,
        });
    }

    pub(crate) fn plan(&mut self, item: &Item<'_>, body: &PlanSet) {
        self.plan = Some(in_force(item, body));
    }

    pub(crate) fn route(&mut self, item: &Item<'_>, body: &RouteSet) {
        self.routes.insert(body.guard.clone(), in_force(item, body));
    }

    pub(crate) fn terms(&mut self, item: &Item<'_>, body: &TermsSet) {
        self.terms.push(in_force(item, body));
    }

    pub(crate) fn instructions(&mut self, item: &Item<'_>, body: &InstructionsSet) {
        self.instructions = Some(in_force(item, body));
    }

    pub(crate) fn drill(&mut self, body: &Drill) {
        self.drill = body.stage == DrillStage::Began;
    }

    pub(crate) fn finish(&mut self) -> Opened {
        Opened {
            opening: self.openings.pop(),
            plan: self.plan.take(),
            routes: std::mem::take(&mut self.routes).into_values().collect(),
            terms: self.terms.last().cloned(),
            terms_history: std::mem::take(&mut self.terms),
            instructions: self.instructions.take(),
            drill: self.drill,
        }
    }
}

fn in_force<T: Clone>(item: &Item<'_>, body: &T) -> InForce<T> {
    InForce { written: item.written.clone(), set: body.clone() }
}
