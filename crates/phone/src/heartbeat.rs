//! A sign of life of the phone itself while somebody is on duty with it: how full the battery is, how
//! much waits. Written only while the network works, since it tells the desk nothing later.

use crate::model::{Membership, Model};
use crate::moment::Moment;
use crate::shift;
use crate::writing::{Then, say_as};
use ledger::WatchId;
use record::{Heartbeat, Words};

/// So often, ms.
const EVERY_MS: i64 = 15 * 60_000;

/// Writes one if one is owed.
pub(crate) fn step(model: &mut Model, at: &Moment) {
    let Membership::In(_) = model.membership else { return };
    let owed = at.mono_ms - model.heartbeat_mono_ms >= EVERY_MS;
    let heard = model.syncing.heard_ms.is_some() && !model.syncing.offline();
    if !owed || !heard || model.other_tab || !shift::on_duty(model) {
        return;
    }
    let Some(who) = model.person().cloned() else { return };
    model.heartbeat_mono_ms = at.mono_ms;
    let waiting = model.waiting().count() as u64;
    let beat = Heartbeat { battery: model.battery, waiting, free_kib: model.free_kib };
    say_as(
        model,
        at,
        WatchId::org(),
        who,
        beat.into(),
        Words::default(),
        Then::Nothing,
        Vec::new(),
    );
}
