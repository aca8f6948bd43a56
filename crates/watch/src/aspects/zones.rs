//! Zones: every look, every gap, what was refused.

use super::gaps::{self, Gap, GapEnd, Stopped};
use super::opening::Opened;
use crate::due::{Demands, Due};
use crate::fold::Item;
use crate::looks::{Look, Marks, how_of};
use crate::time::Written;
use ledger::order::{self, Map, Set};
use record::{AccessRefused, Entry, StopId, WhyNot, ZoneId};
use serde::Serialize;

/// One zone of the watch.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Zone {
    /// Its id.
    pub id: ZoneId,
    /// The longest gap allowed now, s.
    pub gap_s: Option<u32>,
    /// The stops in it, by the plan in force.
    pub stops: Vec<StopId>,
    /// Looks in the order in which they happened.
    pub looks: Vec<Look>,
    /// Looks that were taken back.
    pub taken_back: Vec<Written>,
    /// Gaps between looks, and to the end.
    pub gaps: Vec<Gap>,
    /// Stops that could not be reached: they count as not seen.
    pub refused: Vec<Refused>,
}

/// A stop that could not be reached.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Refused {
    /// The line.
    pub written: Written,
    /// The stop.
    pub stop: StopId,
    /// Why.
    pub why: WhyNot,
}

impl Zone {
    /// The newest look.
    pub fn last_look(&self) -> Option<&Look> {
        self.looks.last()
    }

    /// The newest look at one stop.
    pub fn last_look_at(&self, stop: &StopId) -> Option<&Look> {
        self.looks.iter().rfind(|look| look.stop.as_ref() == Some(stop))
    }

    /// The longest gap.
    pub fn longest_gap(&self) -> Option<&Gap> {
        self.gaps.iter().max_by_key(|gap| gap.length_ms())
    }
}

#[derive(Default)]
pub(crate) struct Fold {
    looks: Map<ZoneId, Vec<Look>>,
    taken_back: Map<ZoneId, Vec<Written>>,
    refused: Map<ZoneId, Vec<Refused>>,
}

impl Fold {
    pub(crate) fn look(&mut self, item: &Item<'_>) {
        let (Some(how), Some(zone)) = (how_of(&item.kept.said), &item.effective.zone) else {
            return;
        };
        let look = Look {
            written: item.written.clone(),
            stop: item.effective.stop.clone(),
            how,
            round: match &item.kept.said {
                Entry::Seen(body) => Some(body.round),
                _ => None,
            },
            marks: Marks::of(item.kept, &item.effective),
        };
        self.looks.or_default(zone.clone()).push(look);
    }

    pub(crate) fn taken_back(&mut self, item: &Item<'_>) {
        if let (Some(_), Some(zone)) = (how_of(&item.kept.said), &item.effective.zone) {
            self.taken_back.or_default(zone.clone()).push(item.written.clone());
        }
    }

    pub(crate) fn refused(&mut self, item: &Item<'_>, body: &AccessRefused) {
        let zone = item.effective.zone.clone().unwrap_or_else(|| body.zone.clone());
        let stop = item.effective.stop.clone().unwrap_or_else(|| body.stop.clone());
        let refused = Refused { written: item.written.clone(), stop, why: body.why };
        self.refused.or_default(zone).push(refused);
    }

    pub(crate) fn finish(
        &mut self,
        opened: &Opened,
        demands: &Demands,
        owed: Option<(i64, i64)>,
        (stopped, end): (&Stopped, GapEnd),
        now_ms: i64,
    ) -> Vec<Zone> {
        let mut ids: Set<ZoneId> = demands.zones().cloned().collect();
        ids.extend(opened.plan.iter().flat_map(|plan| plan.set.zones.iter().cloned()));
        ids.extend(self.looks.keys().chain(self.refused.keys()).cloned());
        ids.into_iter()
            .map(|id| {
                let looks = self.looks.remove(&id).unwrap_or_default();
                let epochs = demands.epochs(&id, now_ms);
                Zone {
                    gap_s: epochs.now(),
                    stops: stops(opened, &id),
                    taken_back: self.taken_back.remove(&id).unwrap_or_default(),
                    refused: self.refused.remove(&id).unwrap_or_default(),
                    gaps: owed
                        .map_or(Vec::new(), |owed| gaps::gaps(&looks, owed, end, &epochs, stopped)),
                    looks,
                    id,
                }
            })
            .collect()
    }
}

fn stops(opened: &Opened, zone: &ZoneId) -> Vec<StopId> {
    let Some(plan) = &opened.plan else { return Vec::new() };
    plan.set.stops.iter().filter(|(_, of)| *of == zone).map(|(stop, _)| stop.clone()).collect()
}

/// What is due next in each zone, soonest first: the open gaps.
pub(crate) fn due(zones: &[Zone], stopped: &Stopped, now_ms: i64) -> Vec<Due> {
    let mut due: Vec<Due> = zones
        .iter()
        .filter_map(|zone| {
            let gap = zone.gaps.last().filter(|gap| gap.to == GapEnd::Now)?;
            Some(Due {
                zone: zone.id.clone(),
                due_ms: gap.due_ms?,
                allowed_s: gap.allowed_s?,
                since_ms: gap.from_ms,
                since: match gap.from {
                    GapEnd::Look(line) => Some(line),
                    GapEnd::Begun | GapEnd::Over | GapEnd::Now => None,
                },
                stopped: stopped.at(now_ms),
            })
        })
        .collect();
    order::sort_by(&mut due, |a, b| (a.due_ms, &a.zone).cmp(&(b.due_ms, &b.zone)));
    due
}
