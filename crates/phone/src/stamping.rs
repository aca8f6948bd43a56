//! What the card stamped becomes lines, and the drill.

use crate::event::CardStamp;
use crate::model::Model;
use crate::moment::Moment;
use crate::stored::{Name, note};
use crate::writing::{Then, say, say_as};
use ledger::order;
use record::{Drill, DrillStage, Emergency, EmergencyStage, Entry, Words};

/// Turns stamps into lines, each once: the number of the last one is kept with its line.
pub(crate) fn stamps(model: &mut Model, at: &Moment, stamps: Vec<CardStamp>) {
    let (Some(watch), Some(who)) = (model.choices.watch.clone(), model.person().cloned()) else {
        return;
    };
    let drill = model.state.as_ref().is_some_and(|state| state.drill);
    let (stop, zone) = last_place(model);
    let mut fresh: Vec<CardStamp> =
        stamps.into_iter().filter(|stamp| stamp.n > model.log.stamps).collect();
    order::sort_by_key(&mut fresh, |stamp| stamp.n);
    for stamp in fresh {
        model.log.stamps = stamp.n;
        // The card has only the wall clock; the offset measured here makes it the record's time.
        let at_ms = stamp.at + (model.clock.now_ms(at) - at.wall_ms);
        let entry: Entry = match stamp.stage.emergency() {
            Some(stage) => {
                let at_ms = Some(at_ms);
                Emergency { stage, stop: stop.clone(), zone: zone.clone(), at_ms, drill }.into()
            }
            None => Drill { stage: DrillStage::Real }.into(),
        };
        let then = Then::ForgetStamps { upto: stamp.n };
        let puts = vec![note(Name::Log, &model.log)];
        say_as(model, at, watch.clone(), who.clone(), entry, Words::default(), then, puts);
    }
}

/// Where the guard was last: named only where it was seen, since an opened card says nothing of a place.
fn last_place(model: &Model) -> (Option<record::StopId>, Option<record::ZoneId>) {
    let Some(state) = &model.state else { return (None, None) };
    let who = model.person();
    let looks = state.zones.iter().flat_map(|zone| zone.looks.iter().map(move |look| (zone, look)));
    let own = looks.filter(|(_, look)| Some(&look.written.who) == who);
    match own.max_by_key(|(_, look)| look.written.when.at_ms) {
        Some((zone, look)) => (look.stop.clone(), Some(zone.id.clone())),
        None => (None, None),
    }
}

/// The fire service said that it is over, or nothing was found.
pub(crate) fn stand_down(model: &mut Model, at: &Moment) {
    let drill = model.state.as_ref().is_some_and(|state| state.drill);
    let stage = EmergencyStage::StoodDown;
    let entry = Emergency { stage, stop: None, zone: None, at_ms: None, drill };
    say(model, at, entry, Then::Nothing);
}

/// A drill begins, ends, or turns into earnest.
pub(crate) fn drill(model: &mut Model, at: &Moment, stage: DrillStage) {
    say(model, at, Drill { stage }, Then::Nothing);
}
