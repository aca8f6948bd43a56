//! Hot work: permit, work, last spark, and the tail that outlives the shift.

use crate::fold::Item;
use crate::time::Written;
use ledger::{Digest, LineId, order};
use record::{
    HotWorkBegan, HotWorkClosed, HotWorkPermitted, LastSpark, LookedBack, PermitCheck, PlaceId,
    WorkStopped, ZoneId,
};
use serde::Serialize;
use std::collections::BTreeMap;

/// One piece of hot work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct HotWork {
    /// The line that began it.
    pub began: Written,
    /// Its permit, if one was read.
    pub permit: Option<Permit>,
    /// Where: a place from the site's list.
    pub place: Option<PlaceId>,
    /// Where: the zone.
    pub zone: Option<ZoneId>,
    /// The newest time that the work went on again.
    pub again: Option<Written>,
    /// The newest last spark, none if the work went on again since: the next one begins the tail anew.
    pub last_spark: Option<Written>,
    /// Until when somebody must stay, ms UTC: last spark plus the permit's watch.
    pub watch_until_ms: Option<i64>,
    /// Until when looks are owed after that, ms UTC.
    pub looks_until_ms: Option<i64>,
    /// Looks at the place.
    pub looked_back: Vec<LookBack>,
    /// The guard stopped the work.
    pub stopped: Option<Written>,
    /// Signed off, none if the work went on again since.
    pub closed: Option<Written>,
    /// At signing off: surveyed and found without further hazard.
    pub surveyed: bool,
}

/// A permit that was read and checked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Permit {
    /// The line.
    pub written: Written,
    /// Its number.
    pub number: Option<String>,
    /// A picture of it.
    pub blob: Option<Digest>,
    /// Valid until, ms UTC.
    pub until_ms: Option<i64>,
    /// What was checked, true if in order.
    pub checks: BTreeMap<PermitCheck, bool>,
    /// Continuous watch after the last spark, s.
    pub watch_s: Option<u32>,
    /// Looks after that, for so long, s.
    pub looks_s: Option<u32>,
    /// At most this far apart, s.
    pub look_every_s: Option<u32>,
    #[serde(skip)]
    place: Option<PlaceId>,
    #[serde(skip)]
    zone: Option<ZoneId>,
}

/// A look at the place of earlier hot work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LookBack {
    /// The line.
    pub written: Written,
    /// Nothing found.
    pub clear: bool,
}

#[derive(Default)]
pub(crate) struct Fold {
    permits: order::Map<LineId, Permit>,
    work: Vec<(HotWork, Option<LineId>)>,
    again: Vec<(LineId, Written)>,
    sparks: Vec<(LineId, Written)>,
    looked_back: Vec<(LineId, LookBack)>,
    stopped: Vec<(LineId, Written)>,
    closed: Vec<(LineId, Written, bool)>,
}

impl Fold {
    pub(crate) fn permitted(&mut self, item: &Item<'_>, body: &HotWorkPermitted) {
        let permit = Permit {
            written: item.written.clone(),
            number: body.permit.clone(),
            blob: body.blob,
            until_ms: body.until_ms,
            checks: body.checks.clone(),
            watch_s: body.watch_s,
            looks_s: body.looks_s,
            look_every_s: body.look_every_s,
            place: body.place.clone(),
            zone: item.effective.zone.clone(),
        };
        self.permits.insert(item.id(), permit);
    }

    pub(crate) fn began(&mut self, item: &Item<'_>, body: &HotWorkBegan) {
        if let Some(work) = body.again {
            self.again.push((work, item.written.clone()));
            return;
        }
        let work = HotWork {
            began: item.written.clone(),
            permit: None,
            place: body.place.clone(),
            zone: item.effective.zone.clone(),
            again: None,
            last_spark: None,
            watch_until_ms: None,
            looks_until_ms: None,
            looked_back: Vec::new(),
            stopped: None,
            closed: None,
            surveyed: false,
        };
        self.work.push((work, body.permitted));
    }

    pub(crate) fn last_spark(&mut self, item: &Item<'_>, body: &LastSpark) {
        self.sparks.push((body.work, item.written.clone()));
    }

    pub(crate) fn looked_back(&mut self, item: &Item<'_>, body: &LookedBack) {
        self.looked_back
            .push((body.work, LookBack { written: item.written.clone(), clear: body.clear }));
    }

    pub(crate) fn closed(&mut self, item: &Item<'_>, body: &HotWorkClosed) {
        self.closed.push((body.work, item.written.clone(), body.surveyed));
    }

    pub(crate) fn stopped(&mut self, item: &Item<'_>, body: &WorkStopped) {
        self.stopped.extend(body.work.map(|work| (work, item.written.clone())));
    }

    pub(crate) fn finish(self) -> Vec<HotWork> {
        let Fold { permits, work, again, sparks, looked_back, stopped, closed } = self;
        work.into_iter()
            .map(|(mut work, permitted)| {
                let id = work.began.line;
                work.permit = permitted.and_then(|line| permits.get(&line).cloned());
                if let Some(permit) = &work.permit {
                    work.place = work.place.take().or_else(|| permit.place.clone());
                    work.zone = work.zone.take().or_else(|| permit.zone.clone());
                }
                work.again = newest(&again, id);
                let again_ms = work.again.as_ref().map(|again| again.when.at_ms);
                let since = |written: &Written| {
                    again_ms.is_none_or(|again_ms| written.when.at_ms >= again_ms)
                };
                work.last_spark = newest(&sparks, id).filter(since);
                work.looked_back = looked_back
                    .iter()
                    .filter(|(of, _)| *of == id)
                    .map(|(_, look)| look.clone())
                    .collect();
                work.stopped =
                    stopped.iter().find(|(of, _)| *of == id).map(|(_, written)| written.clone());
                let mut mine = closed.iter().filter(|(of, written, _)| *of == id && since(written));
                if let Some((_, written, surveyed)) = mine.next_back() {
                    (work.closed, work.surveyed) = (Some(written.clone()), *surveyed);
                }
                work.tail();
                work
            })
            .collect()
    }
}

fn newest(all: &[(LineId, Written)], work: LineId) -> Option<Written> {
    all.iter()
        .filter(|(of, _)| *of == work)
        .map(|(_, written)| written.clone())
        .max_by_key(|written| (written.when.at_ms, written.line))
}

impl HotWork {
    fn tail(&mut self) {
        let (Some(spark), Some(permit)) = (&self.last_spark, &self.permit) else { return };
        let after = |from_ms: i64, length_s: u32| from_ms + i64::from(length_s) * 1000;
        self.watch_until_ms = permit.watch_s.map(|watch_s| after(spark.when.at_ms, watch_s));
        self.looks_until_ms = permit
            .looks_s
            .map(|looks_s| after(self.watch_until_ms.unwrap_or(spark.when.at_ms), looks_s));
    }
}
