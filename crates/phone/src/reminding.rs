//! Reminders: each thing that needs the guard calls once, silently where people sleep, and not at all
//! during an emergency. What called stands on the screen until it is seen to; a locked phone may never
//! have been heard.

use crate::effect::{Effect, Reminder};
use crate::hot_work::{self, Stage};
use crate::model::{Effects, Model};
use crate::{round, shift};
use ledger::LineId;

/// Battery levels at which it is said, per cent.
pub(crate) const BATTERY: [u8; 2] = [40, 20];

/// A line that has waited so long is safe nowhere else, ms (ours).
const WAITED_MS: i64 = 2 * 3_600_000;

/// Less free storage than this is a risk, KiB (ours): some fifty photos.
const FREE_KIB: u64 = 20 * 1024;

/// Something that called.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Call {
    /// The next stop is due by then; the round's number.
    Due(u32, i64),
    /// The watch after the last spark is over.
    TailOver(LineId, i64),
    /// A look back is due by then.
    Look(LineId, i64),
    /// The battery fell to this.
    Battery(u8),
    /// Lines have been on this phone alone since then.
    Waiting(i64),
    /// Storage runs out.
    Storage,
}

/// Calls once for what is new.
pub(crate) fn step(model: &mut Model, effects: &mut Effects) {
    let calls = calls(model);
    // What no longer holds may call again when it comes back; a round that is due is known by its time.
    model.reminded.retain(|call| matches!(call, Call::Due(..)) || calls.contains(call));
    let fresh = calls.into_iter().filter(|call| !model.reminded.contains(call));
    let fresh: Vec<Call> = fresh.collect();
    if fresh.is_empty() || model.emergency() {
        return;
    }
    model.reminded.extend(fresh);
    let silent = model.choices.silent;
    effects.push(Effect::Remind(if silent { Reminder::Silent } else { Reminder::Aloud }));
}

fn calls(model: &Model) -> Vec<Call> {
    let mut calls = Vec::new();
    let (Some(state), true) = (&model.state, shift::on_duty(model)) else { return calls };
    calls.extend(due(model));
    for work in hot_work::open(state) {
        let line = work.began.line;
        match hot_work::stage(model, work) {
            Stage::Over => {
                let until_ms = work.last_spark.as_ref().map_or(0, |spark| spark.when.at_ms);
                calls.push(Call::TailOver(line, until_ms));
            }
            Stage::Looks { due_ms: Some(due_ms), .. } if model.now_ms + 300_000 >= due_ms => {
                calls.push(Call::Look(line, due_ms));
            }
            _ => {}
        }
    }
    calls.extend(battery(model).map(Call::Battery));
    calls.extend(waiting_since_ms(model).map(Call::Waiting));
    calls.extend(storage_low(model).then_some(Call::Storage));
    calls
}

fn due(model: &Model) -> Option<Call> {
    let (state, guard) = (model.state.as_ref()?, model.person()?);
    let progress = round::progress(model, state, guard)?;
    let due = state.due.first()?;
    let left_s = (due.due_ms - model.now_ms) / 1000;
    let early_s = i64::from(due.allowed_s / 6).max(60);
    (left_s <= early_s).then_some(Call::Due(progress.number, due.due_ms))
}

/// The lowest level that the battery is under.
pub(crate) fn battery(model: &Model) -> Option<u8> {
    let percent = model.battery?;
    BATTERY.into_iter().rev().find(|level| percent <= *level)
}

/// Since when the oldest line has been on this phone alone, ms UTC, if that is too long.
pub(crate) fn waiting_since_ms(model: &Model) -> Option<i64> {
    let oldest = model.waiting().map(|kept| kept.line.clk.recorded_ms()).min()?;
    (model.now_ms - oldest >= WAITED_MS).then_some(oldest)
}

/// Whether little space is left.
pub(crate) fn storage_low(model: &Model) -> bool {
    model.free_kib.is_some_and(|free_kib| free_kib < FREE_KIB)
}
