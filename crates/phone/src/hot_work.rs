//! Hot work: the permit read at the place, the work, the last spark, and the tail that outlives the
//! shift. What is owed after the last spark comes from the permit and the terms; where neither states a
//! number, none is made up.

use crate::model::{Model, Notice};
use crate::moment::Moment;
use crate::tap::{Field, Page, Place};
use crate::writing::{Then, say, say_with};
use ledger::order::Set;
use ledger::{Digest, LineId};
use record::{
    Entry, HotWorkBegan, HotWorkClosed, HotWorkPermitted, LastSpark, LookedBack, PermitCheck,
    Words, WorkStopped, ZoneId,
};
use serde::{Deserialize, Serialize};
use watch::{HotWork, State};

/// What a person can say about hot work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum HotWorkTap {
    /// A permit is read in this zone.
    At(ZoneId),
    /// The permit asks for a watch of so long after the last spark, s.
    Watch(u32),
    /// And then for looks over so long, s.
    Looks(u32),
    /// At most so far apart, s.
    Every(u32),
    /// This was checked and is in order, or not after all.
    Check(PermitCheck),
    /// Keep the permit as read.
    KeepPermit,
    /// Work goes on in this zone without a permit: it is stopped.
    NoPermit,
    /// The work under this permit begins.
    Begins(LineId),
    /// The last spark of this work was so long ago, min.
    LastSpark(LineId, u32),
    /// The work goes on again.
    Again(LineId),
    /// The guard stops the work.
    Stop(LineId),
    /// A look at the place, with nothing found or with something.
    Look {
        /// The line that began the work.
        work: LineId,
        /// Nothing found.
        clear: bool,
    },
    /// The tail is over and signed off.
    Close {
        /// The line that began the work.
        work: LineId,
        /// The place was gone over and nothing was found.
        surveyed: bool,
    },
}

/// A permit half read.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct PermitDraft {
    /// Where.
    #[serde(default)]
    pub zone: Option<ZoneId>,
    /// Watch after the last spark, s; none while nothing was chosen.
    #[serde(default)]
    pub watch_s: Option<u32>,
    /// Looks after that, over so long, s.
    #[serde(default)]
    pub looks_s: Option<u32>,
    /// So far apart, s.
    #[serde(default)]
    pub every_s: Option<u32>,
    /// What was checked and is in order.
    #[serde(default)]
    pub checks: Set<PermitCheck>,
    /// A picture of it.
    #[serde(default)]
    pub blob: Option<Digest>,
}

/// How far a piece of hot work is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stage {
    /// Sparks may fly: somebody stays.
    Burning,
    /// Somebody stays until then, ms UTC.
    Tail { until_ms: i64, allowed_s: u32 },
    /// Looks are owed: the next one by then, if it is said how far apart; the last one then.
    Looks { since_ms: i64, due_ms: Option<i64>, until_ms: i64 },
    /// Neither the permit nor the terms say how long.
    Unstated { since_ms: i64 },
    /// Everything owed was kept: it can be signed off.
    Over,
}

impl Stage {
    /// By when somebody must look, ms UTC.
    pub(crate) fn due_ms(self) -> Option<i64> {
        match self {
            Stage::Looks { due_ms, until_ms, .. } => Some(due_ms.unwrap_or(until_ms)),
            _ => None,
        }
    }
}

/// Hot work that is not signed off.
pub(crate) fn open(state: &State) -> impl Iterator<Item = &HotWork> {
    state.hot_work.iter().filter(|work| work.closed.is_none())
}

/// Permits that were read and under which nothing has begun.
pub(crate) fn unused_permits(model: &Model) -> Vec<(LineId, HotWorkPermitted)> {
    let (Some(watch), Some(state)) = (model.watch(), &model.state) else { return Vec::new() };
    let used = |id| {
        let permits = state.hot_work.iter().filter_map(|work| work.permit.as_ref());
        permits.map(|permit| permit.written.line).any(|line| line == id)
    };
    let withdrawn = |id| state.taken_back.iter().any(|written| written.line == id);
    watch
        .lines()
        .filter_map(|kept| match &kept.said {
            Entry::HotWorkPermitted(body) => Some((kept.id, body.clone())),
            _ => None,
        })
        .filter(|(id, _)| !used(*id) && !withdrawn(*id))
        .collect()
}

/// How far this work is.
pub(crate) fn stage(model: &Model, work: &HotWork) -> Stage {
    let Some(spark) = &work.last_spark else { return Stage::Burning };
    let since_ms = spark.when.at_ms;
    let permit = work.permit.as_ref();
    let watch_s = permit.and_then(|permit| permit.watch_s).max(tail_of_terms(model));
    let looks_until_ms = work.looks_until_ms;
    if watch_s.is_none() && looks_until_ms.is_none() {
        return Stage::Unstated { since_ms };
    }
    let watch_s = watch_s.unwrap_or(0);
    let watch_until_ms = since_ms + i64::from(watch_s) * 1000;
    if model.now_ms < watch_until_ms {
        return Stage::Tail { until_ms: watch_until_ms, allowed_s: watch_s };
    }
    let Some(until_ms) = looks_until_ms else { return Stage::Over };
    // Looks count from the end of the permit's own watch, as whoever judges counts them.
    let from_ms = work.watch_until_ms.unwrap_or(since_ms);
    let looks = work.looked_back.iter().map(|look| look.written.when.at_ms);
    let last_ms = looks.filter(|at_ms| *at_ms > from_ms).max();
    if last_ms.is_some_and(|last_ms| last_ms >= until_ms) {
        return Stage::Over;
    }
    let every_s = permit.and_then(|permit| permit.look_every_s);
    let since_ms = last_ms.unwrap_or(from_ms);
    let due_ms = every_s.map(|every_s| since_ms + i64::from(every_s) * 1000);
    Stage::Looks { since_ms, due_ms, until_ms }
}

/// What the terms ask for after the last spark, s.
pub(crate) fn tail_of_terms(model: &Model) -> Option<u32> {
    let terms = model.state.as_ref()?.terms.as_ref()?;
    model.documents.terms(&terms.set.terms)?.owed.tail_s
}

/// Something was touched.
pub(crate) fn did(model: &mut Model, at: &Moment, tap: HotWorkTap) {
    let permit = &mut model.draft.permit;
    match tap {
        HotWorkTap::At(zone) => {
            *permit = PermitDraft { zone: Some(zone), ..PermitDraft::default() };
            model.page = Some(Page::Permit);
        }
        HotWorkTap::Watch(watch_s) => permit.watch_s = toggled(permit.watch_s, watch_s),
        HotWorkTap::Looks(looks_s) => permit.looks_s = toggled(permit.looks_s, looks_s),
        HotWorkTap::Every(every_s) => permit.every_s = toggled(permit.every_s, every_s),
        HotWorkTap::Check(check) => {
            if !permit.checks.remove(&check) {
                permit.checks.insert(check);
            }
        }
        HotWorkTap::KeepPermit => keep_permit(model, at),
        HotWorkTap::NoPermit => {
            let zone = std::mem::take(&mut model.draft.permit).zone;
            let began = HotWorkBegan { permitted: None, place: None, zone, again: None };
            say(model, at, began, Then::StopWork);
        }
        HotWorkTap::Begins(permit) => begins(model, at, permit),
        HotWorkTap::LastSpark(work, ago_min) => {
            let at_ms = (ago_min > 0).then(|| model.now_ms - i64::from(ago_min) * 60_000);
            say(model, at, LastSpark { work, at_ms }, Then::Nothing);
        }
        HotWorkTap::Again(work) => {
            let zone = zone_of(model, work);
            let again = Some(work);
            say(
                model,
                at,
                HotWorkBegan { permitted: None, place: None, zone, again },
                Then::Nothing,
            );
        }
        HotWorkTap::Stop(work) => stop(model, at, work),
        HotWorkTap::Look { work, clear } => look(model, at, work, clear),
        HotWorkTap::Close { work, surveyed } => {
            say(model, at, HotWorkClosed { work, surveyed }, Then::Nothing);
            model.page = Some(Page::HotWorkList);
            model.notice = Some(Notice::Saved);
        }
    }
}

fn toggled(before: Option<u32>, now: u32) -> Option<u32> {
    (before != Some(now)).then_some(now)
}

fn zone_of(model: &Model, work: LineId) -> Option<ZoneId> {
    let state = model.state.as_ref()?;
    state.hot_work.iter().find(|held| held.began.line == work)?.zone.clone()
}

fn keep_permit(model: &mut Model, at: &Moment) {
    let draft = std::mem::take(&mut model.draft.permit);
    let number = model.draft.text.remove(&Field::Permit).map(|typed| code_of(&typed));
    let checks =
        ledger::order::map_of(PermitCheck::ALL.map(|check| (check, draft.checks.contains(&check))));
    let entry = HotWorkPermitted {
        permit: number.filter(|number| !number.is_empty()),
        place: None,
        zone: draft.zone,
        blob: draft.blob,
        until_ms: None,
        checks,
        watch_s: draft.watch_s,
        looks_s: draft.looks_s,
        look_every_s: draft.every_s,
    };
    say(model, at, entry, Then::Nothing);
    (model.place, model.page) = (Place::Write, Some(Page::HotWorkList));
    model.notice = Some(Notice::Saved);
}

/// A permit's number is a code: letters, digits and the usual strokes, nothing that could be a name.
fn code_of(typed: &str) -> String {
    let kept = typed.trim().chars().filter(|c| c.is_ascii_alphanumeric() || "-/.".contains(*c));
    kept.take(40).collect()
}

fn begins(model: &mut Model, at: &Moment, permit: LineId) {
    let found = unused_permits(model).into_iter().find(|(id, _)| *id == permit);
    let Some((id, body)) = found else { return };
    let began =
        HotWorkBegan { permitted: Some(id), place: body.place, zone: body.zone, again: None };
    say(model, at, began, Then::OpenHotWork);
}

/// The guard stops the work; what was burning counts as ended now, so the tail runs at once.
pub(crate) fn stop(model: &mut Model, at: &Moment, work: LineId) {
    say(model, at, WorkStopped { work: Some(work), place: None }, Then::Nothing);
    say(model, at, LastSpark { work, at_ms: None }, Then::Nothing);
    (model.place, model.page) = (Place::Write, Some(Page::HotWork(work)));
}

fn look(model: &mut Model, at: &Moment, work: LineId, clear: bool) {
    let zone = zone_of(model, work);
    let what = String::new();
    let words = Words { fix: crate::round::fresh_fix(model, at), ..Words::default() };
    say_with(model, at, LookedBack { work, zone, clear }, words, Then::TakeBack { what });
    if !clear {
        (model.place, model.page) = (Place::Write, Some(Page::Class));
    }
}

/// A picture of the permit lies in the blob store.
pub(crate) fn pictured(model: &mut Model, blob: Digest) {
    model.draft.permit.blob = Some(blob);
}

#[cfg(test)]
mod tests {
    use super::code_of;

    #[test]
    fn a_permit_number_is_a_code_and_never_words() {
        assert_eq!(code_of(" HW-114/26 "), "HW-114/26");
        assert_eq!(code_of("permit of José"), "permitofJos");
        assert_eq!(code_of(&"9".repeat(90)).len(), 40);
    }
}
