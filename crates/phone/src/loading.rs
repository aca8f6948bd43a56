//! From what is kept to the model, at the start and after another tab has written.

use crate::documents::Documents;
use crate::draft::Draft;
use crate::kept::Kept;
use crate::model::{Effects, Membership, Model, Started};
use crate::moment::Moment;
use crate::stored::{Choices, Enrolling, LogNote, Name, Stored, member, read};
use ledger::order::Map;
use ledger::{DeviceId, PublicKey};

/// Takes in what was read. What was said and is not kept yet stays in memory and is said again.
pub(crate) fn loaded(model: &mut Model, at: &Moment, stored: Stored, effects: &mut Effects) {
    model.started = Started::Yes;
    model.writing.loaded();
    model.log = read::<LogNote>(&stored, Name::Log).unwrap_or_default();
    model.choices = read::<Choices>(&stored, Name::Choices).unwrap_or_default();
    model.draft = read::<Draft>(&stored, Name::Draft).unwrap_or_default();
    model.pins = read(&stored, Name::Pins).unwrap_or_default();
    model.device = stored.device.clone();
    model.membership = match (member(&stored), read::<Enrolling>(&stored, Name::Enrolling)) {
        (Some(member), _) => Membership::In(Box::new(member)),
        (None, Some(Enrolling { token })) => Membership::Asking { token },
        (None, None) => Membership::None,
    };
    model.documents = Documents::default();
    stored.documents.iter().for_each(|bytes| {
        model.documents.add(bytes);
    });
    model.blobs = Map::from_iter(stored.blobs.iter().map(|blob| (blob.blob, blob.clone())));
    lines(model, &stored);
    tips(model, &stored);
    resume_clock(model, at);
    if model.choices.watch.is_none() {
        model.choices.watch = model.log.watches.first().cloned();
    }
    crate::syncing::woke(model, at);
    resume_enrolment(model, at, effects);
}

fn lines(model: &mut Model, stored: &Stored) {
    let keys = keys(model);
    model.lines.clear();
    model.watches.clear();
    model.state = None;
    model.damaged.clear();
    for line in &stored.lines {
        let device = ledger::json::parse::<Named>(&line.line).ok().map(|named| named.dev);
        let Some(key) = device.and_then(|device| keys.get(&device)) else { continue };
        match Kept::read(line.clone(), key) {
            Ok(kept) => model.take(kept),
            Err(_) => model.damaged.push(line.clone()),
        }
    }
}

/// A phone that was restarted without network still knows how far its clock was off.
fn resume_clock(model: &mut Model, at: &Moment) {
    let Some(device) = model.device.as_ref().map(|device| device.key.device()) else { return };
    let own = model.lines.values().filter(|kept| kept.line.dev == device);
    let measured = own.map(|kept| &kept.line.clk).filter(|clk| clk.off.is_some());
    // By recorded time: the wall clock may have been set back between two lines.
    if let Some(last) = measured.max_by_key(|clk| clk.recorded_ms()).cloned() {
        model.clock.resume(&last, at);
    }
    let proven = model.lines.values().filter_map(|kept| Some(kept.sealing()?.rx_ms)).max();
    if let Some(proven_ms) = proven {
        model.clock.is_later_than(proven_ms, at);
    }
}

#[derive(serde::Deserialize)]
struct Named {
    dev: DeviceId,
}

fn keys(model: &Model) -> Map<DeviceId, PublicKey> {
    let carried = model.log.carried.iter().map(|key| (key.device(), *key));
    let mut keys = Map::from_iter(carried);
    keys.extend(model.log.keys.iter().map(|k| (k.dev, k.key)));
    if let Membership::In(member) = &model.membership {
        keys.extend(member.server_keys.iter().map(|key| (key.device(), *key)));
    }
    keys.extend(model.device.iter().map(|own| (own.key.device(), own.key)));
    keys
}

fn tips(model: &mut Model, stored: &Stored) {
    let Some(device) = model.device.as_ref().map(|device| device.key.device()) else { return };
    let own = stored.tips.iter().filter(|tip| tip.dev == device);
    model.tips = Map::from_iter(own.map(|tip| {
        let watch = tip.watch.clone();
        (watch.clone(), record::Place { dev: device, watch, seq: tip.count, prev: tip.last })
    }));
}

/// A phone that died between token and key, or between key and first line, goes on where it was.
fn resume_enrolment(model: &mut Model, at: &Moment, effects: &mut Effects) {
    let Membership::Asking { .. } = &model.membership else { return };
    match (&model.device, model.lines.is_empty()) {
        (None, _) => effects.push(crate::effect::Effect::MakeKey),
        (Some(device), true) if model.writing.unsaved() == 0 => {
            let (key, keep) = (device.key, device.keep);
            crate::enrolling::key_made(model, at, key, keep);
        }
        _ => {}
    }
}
