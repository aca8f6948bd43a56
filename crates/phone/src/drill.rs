//! A practice shift: when it began, how much of its five minutes is left, which lines belong to it.

use crate::model::Model;
use ledger::{LineId, order};
use record::{DrillStage, Entry};

/// How long a practice is meant to last, s.
pub(crate) const LASTS_S: i64 = 300;

/// What is left of the practice that is going on, s; negative when it is over its time.
pub(crate) fn left_s(model: &Model) -> Option<i64> {
    let began_ms = spans(model).last().filter(|(_, until)| until.is_none())?.0;
    Some(LASTS_S - (model.now_ms - began_ms) / 1000)
}

/// Whether a line was written for practice.
pub(crate) fn is_practice(model: &Model, line: LineId) -> bool {
    let Some(at_ms) = model.watch().and_then(|watch| watch.effective(line)).map(|e| e.at_ms) else {
        return false;
    };
    spans(model)
        .iter()
        .any(|(from, until)| *from <= at_ms && until.is_none_or(|until| at_ms < until))
}

/// Every practice: from, and until somebody ended it or said that it is real, ms UTC.
fn spans(model: &Model) -> Vec<(i64, Option<i64>)> {
    let Some(watch) = model.watch() else { return Vec::new() };
    let mut stages: Vec<(i64, DrillStage)> = watch
        .lines()
        .filter_map(|kept| match &kept.said {
            Entry::Drill(drill) => Some((watch.effective(kept.id)?.at_ms, drill.stage)),
            _ => None,
        })
        .collect();
    order::sort_by_key(&mut stages, |(at_ms, _)| *at_ms);
    let mut spans: Vec<(i64, Option<i64>)> = Vec::new();
    for (at_ms, stage) in stages {
        match (stage, spans.last_mut().filter(|(_, until)| until.is_none())) {
            (DrillStage::Began, None) => spans.push((at_ms, None)),
            (DrillStage::Real | DrillStage::Ended, Some((_, until))) => *until = Some(at_ms),
            _ => {}
        }
    }
    spans
}
