//! Documents that lines name by digest, read once when they arrive.

use floorplan::Plan;
use ledger::Digest;
use ledger::order::Map;
use record::documents::{Document, Instructions, Route, SiteCard, Terms};
use std::sync::Arc;

/// The documents held.
#[derive(Debug, Clone, Default)]
pub(crate) struct Documents {
    held: Map<Digest, Held>,
}

/// One document. A blob can be read as one kind only, since their required fields differ.
#[derive(Debug, Clone)]
enum Held {
    Plan(Arc<Plan>),
    Card(Box<SiteCard>),
    Instructions(Instructions),
    Terms(Box<Terms>),
    Route(Route),
    Other,
}

impl Documents {
    /// Takes a document in and gives its digest.
    pub(crate) fn add(&mut self, bytes: &[u8]) -> Digest {
        let digest = Digest::of(bytes);
        self.held.or_insert_with(digest, || Held::read(bytes));
        digest
    }

    /// Whether a document is held.
    pub(crate) fn has(&self, digest: &Digest) -> bool {
        self.held.contains_key(digest)
    }

    /// A plan.
    pub(crate) fn plan(&self, digest: &Digest) -> Option<&Arc<Plan>> {
        match self.held.get(digest)? {
            Held::Plan(plan) => Some(plan),
            _ => None,
        }
    }

    /// A site card.
    pub(crate) fn card(&self, digest: &Digest) -> Option<&SiteCard> {
        match self.held.get(digest)? {
            Held::Card(card) => Some(card),
            _ => None,
        }
    }

    /// Terms.
    pub(crate) fn terms(&self, digest: &Digest) -> Option<&Terms> {
        match self.held.get(digest)? {
            Held::Terms(terms) => Some(terms),
            _ => None,
        }
    }

    /// A route.
    pub(crate) fn route(&self, digest: &Digest) -> Option<&Route> {
        match self.held.get(digest)? {
            Held::Route(route) => Some(route),
            _ => None,
        }
    }

    /// Instructions.
    pub(crate) fn instructions(&self, digest: &Digest) -> Option<&Instructions> {
        match self.held.get(digest)? {
            Held::Instructions(instructions) => Some(instructions),
            _ => None,
        }
    }
}

impl Held {
    fn read(bytes: &[u8]) -> Held {
        if let Ok(card) = SiteCard::parse(bytes) {
            Held::Card(Box::new(card))
        } else if let Ok(instructions) = Instructions::parse(bytes) {
            Held::Instructions(instructions)
        } else if let Ok(terms) = Terms::parse(bytes) {
            Held::Terms(Box::new(terms))
        } else if let Ok(route) = Route::parse(bytes) {
            Held::Route(route)
        } else if let Some(plan) = plan(bytes) {
            Held::Plan(Arc::new(plan))
        } else {
            Held::Other
        }
    }
}

/// A plan of a version that this program knows, as [`Plan::read`] reads it; by the one reader of JSON that the
/// phone has, since another for the types of a plan would be a tenth of what it fetches.
fn plan(bytes: &[u8]) -> Option<Plan> {
    let plan: Plan = ledger::json::exactly(bytes).ok()?;
    (plan.version <= floorplan::VERSION).then_some(plan)
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLAN: &[u8] = include_bytes!("../../../fixtures/plans/gannet-quay.plan.json");

    #[test]
    fn a_plan_is_read_as_elsewhere() {
        let read = plan(PLAN).expect("the demonstration's plan");
        assert_eq!(read, Plan::read(PLAN).unwrap());
        let mut newer: serde_json::Value = serde_json::from_slice(PLAN).unwrap();
        newer["version"] = (floorplan::VERSION + 1).into();
        assert_eq!(plan(newer.to_string().as_bytes()), None);
        newer.as_object_mut().unwrap().remove("version");
        assert_eq!(plan(newer.to_string().as_bytes()), None);
    }
}
