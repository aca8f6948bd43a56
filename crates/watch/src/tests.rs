//! The law of the fold on lines of every aspect: any order of arrival, equal bytes.

use crate::{Held, Sealing, State, Watch};
use ledger::{Auth, Clk, DeviceKey, Digest, LineId, PersonId, Verified, WatchId};
use proptest::prelude::*;
use record::*;
use std::collections::BTreeMap;

const START: i64 = 1_780_000_000_000;
const MIN: i64 = 60_000;

/// Writes lines for two guards' phones and the server, minute by minute.
struct Pen {
    keys: Vec<DeviceKey>,
    places: Vec<Place>,
    lines: Vec<Held>,
}

impl Pen {
    fn new() -> Pen {
        let keys: Vec<DeviceKey> = (1..=3).map(|n| DeviceKey::from_seed([n; 32])).collect();
        let watch = WatchId::new("w-1").unwrap();
        let places = keys.iter().map(|key| Place::start(key.device(), watch.clone())).collect();
        Pen { keys, places, lines: Vec::new() }
    }

    fn write(&mut self, device: usize, minute: i64, entry: impl Into<Entry>) -> LineId {
        let who = ["p-server", "p-ines", "p-omar"][device];
        let draft = Draft {
            who: PersonId::new(who).unwrap(),
            auth: Auth::Pin,
            clk: Clk {
                wall: START + minute * MIN,
                mono: minute * MIN,
                boot: format!("b{device}"),
                off: Some(0),
                err: Some(40),
                age: Some(minute * MIN),
                tz: 0,
            },
            head: None,
            app: "test".into(),
            entry: entry.into(),
            words: Words::default(),
            salt: [0; 16],
        };
        let (line, _) = draft.line(&self.places[device]).unwrap();
        let key = &self.keys[device];
        let line = Verified::check(line.sign(key).unwrap(), &key.public()).unwrap();
        self.places[device] = self.places[device].after(line.id());
        let (id, index) = (line.id(), self.lines.len() as u64);
        let rx_ms = START + minute * MIN + 1_000;
        let sealing = Some(Sealing { index, rx_ms, rxe_ms: 20, not_before_ms: None });
        self.lines.push(Held { line, sealing, words: None });
        id
    }

    fn see(&mut self, device: usize, minute: i64, zone: &str, round: u32) -> LineId {
        let seen = Seen {
            stop: StopId::new(format!("{zone}-1")).unwrap(),
            zone: ZoneId::new(zone).unwrap(),
            how: HowSeen::Tag,
            tag: None,
            round,
            fix: false,
        };
        self.write(device, minute, seen)
    }
}

fn zone(id: &str) -> ZoneId {
    ZoneId::new(id).unwrap()
}

/// A night with something of every aspect that refers to other lines.
fn night() -> Pen {
    let mut pen = Pen::new();
    let opened = WatchOpened {
        site: SiteId::new("s-1").unwrap(),
        card: Digest::ZERO,
        tz: "Europe/Madrid".into(),
        from_ms: START,
        until_ms: None,
        out: vec![System::FireAlarm],
        demo: false,
        test: true,
    };
    pen.write(0, 0, opened);
    let terms = TermsSet {
        terms: Digest::ZERO,
        gaps_s: BTreeMap::from([(zone("stair"), 900), (zone("hall"), 1800)]),
        first_round_s: None,
        people_at_least: 1,
        other_duties: false,
        retain_s: None,
    };
    pen.write(0, 0, terms);
    pen.write(1, 1, ShiftBegan { until_ms: None, silent: false });
    pen.see(1, 5, "stair", 1);
    let wrong = pen.see(1, 9, "hall", 1);
    let observed = Observed {
        class: HazardClass::Exits,
        severity: Severity::ThisRound,
        zone: Some(zone("hall")),
        stop: None,
        place: None,
        at_ms: Some(START + 8 * MIN),
        again: None,
    };
    let observed = pen.write(1, 11, observed);
    pen.write(1, 12, Acted { of: observed, done: vec![WhatDone::Cleared], at_ms: None });
    let correction = Corrected {
        of: wrong,
        why: WhyCorrected::WrongPlace,
        at_ms: None,
        zone: Some(zone("stair")),
        stop: None,
        severity: None,
        withdrawn: false,
    };
    let correction = pen.write(1, 14, correction);
    let back = Corrected {
        of: correction,
        why: WhyCorrected::TakenBack,
        at_ms: None,
        zone: None,
        stop: None,
        severity: None,
        withdrawn: true,
    };
    pen.write(1, 15, back);
    pen.see(1, 21, "stair", 2);
    let stamp = |stage| Emergency { stage, stop: None, zone: None, at_ms: None, drill: false };
    pen.write(1, 30, stamp(EmergencyStage::Seen));
    pen.write(1, 31, stamp(EmergencyStage::Called));
    pen.write(1, 45, stamp(EmergencyStage::StoodDown));
    let person = PersonId::new("p-ines").unwrap();
    pen.write(2, 46, ReliefTaken { offered: None, from: person, open: vec![observed] });
    pen.see(2, 50, "stair", 1);
    pen.write(1, 51, ShiftEnded { all_clear: true, signature: None, rounds: 2, lines: 12 });
    pen
}

fn bytes(state: &State) -> Vec<u8> {
    serde_json::to_vec(state).unwrap()
}

fn folded(lines: impl IntoIterator<Item = Held>) -> Watch {
    let mut watch = Watch::new(WatchId::new("w-1").unwrap());
    lines.into_iter().for_each(|held| {
        watch.add(held);
    });
    watch
}

#[test]
fn a_night_folds_into_what_it_says() {
    let state = folded(night().lines).about(START + 60 * MIN);
    let stair = state.zone(&zone("stair")).unwrap();
    let minutes: Vec<i64> = stair.gaps.iter().map(|gap| gap.length_ms() / MIN).collect();
    assert_eq!(minutes, [4, 16, 29, 10]);
    assert_eq!(stair.gaps[1].over_ms(), Some(MIN));
    assert_eq!(stair.gaps[2].stopped_ms, 15 * MIN);
    assert_eq!(stair.gaps[2].over_ms(), Some(-MIN), "the emergency does not count");
    assert_eq!(state.zone(&zone("hall")).unwrap().looks.len(), 2, "the correction was taken back");
    assert_eq!(state.on_duty.iter().map(|d| d.who.as_str()).collect::<Vec<_>>(), ["p-omar"]);
    assert_eq!(state.cover.stretches.len(), 2);
    assert_eq!((state.cover.holes.len(), state.cover.holes[0].until_ms), (1, START + MIN));
    let observation = &state.observations[0];
    assert_eq!((observation.actions.len(), observation.reliefs), (1, 1));
    assert!(state.is_held(), "an emergency in earnest holds by itself");
    let due: Vec<_> =
        state.due.iter().map(|d| (d.zone.as_str(), (d.due_ms - START) / MIN)).collect();
    assert_eq!(due, [("hall", 54), ("stair", 65)], "half an hour and the quarter that was stopped");
}

#[test]
fn a_state_is_good_for_as_long_as_the_revision_stands() {
    let lines = night().lines;
    let mut watch = Watch::new(lines[0].line.watch.clone());
    for held in lines {
        let (before, id) = (watch.revision(), held.line.id());
        assert!(watch.add(Held { sealing: None, ..held.clone() }));
        let added = watch.revision();
        assert!(added > before);
        watch.seal(id, held.sealing.unwrap());
        assert!(watch.revision() > added);
    }
}

#[test]
fn as_known_leaves_out_what_came_later() {
    let watch = folded(night().lines);
    let then = watch.as_known(8).about(START + 60 * MIN);
    assert_eq!(then.lines, 8);
    assert_eq!(then.zone(&zone("hall")).unwrap().looks.len(), 1);
}

#[test]
fn a_forked_place_counts_nowhere() {
    let mut pen = night();
    let mut other = Pen::new();
    other.see(1, 2, "stair", 1);
    pen.lines.extend(other.lines);
    let state = folded(pen.lines).about(START + 60 * MIN);
    let phone = state.devices.iter().find(|device| !device.forks.is_empty()).unwrap();
    assert_eq!((phone.forks[0].seq, phone.forks[0].lines.len()), (0, 2));
    assert!(state.shifts.iter().all(|shift| shift.who.as_str() != "p-ines"));
}

/// A stop may have been moved: the walk over the change belongs to neither plan.
#[test]
fn each_leg_names_its_plan_and_a_walk_over_a_change_of_plan_is_none() {
    let mut pen = Pen::new();
    let plan = |name: u8| Digest::of(&[name]);
    let set = |name| PlanSet { plan: plan(name), zones: Vec::new(), stops: BTreeMap::new() };
    pen.write(0, 0, set(1));
    ["stair", "hall"].into_iter().zip([2, 4]).for_each(|(zone, minute)| {
        pen.see(1, minute, zone, 1);
    });
    pen.write(0, 5, set(2));
    ["cellar", "stair"].into_iter().zip([6, 9]).for_each(|(zone, minute)| {
        pen.see(1, minute, zone, 1);
    });
    let watch = folded(pen.lines);
    let legs = watch.legs(&watch.about(START + 60 * MIN));
    let walked: Vec<_> = legs.walked.iter().map(|leg| (leg.took_ms / MIN, leg.plan)).collect();
    assert_eq!(walked, [(2, Some(plan(1))), (3, Some(plan(2)))]);
    assert_eq!(legs.left_out, BTreeMap::from([(crate::NoLeg::PlanChanged, 1)]));
}

#[test]
fn the_quick_due_agrees_with_the_state() {
    let watch = folded(night().lines);
    for minute in [0, 3, 7, 25, 47, 55, 70] {
        let now_ms = START + minute * MIN;
        let state = watch.about(now_ms);
        if state
            .emergencies
            .iter()
            .any(|e| e.rounds_stopped.is_some_and(|(from, _)| from <= now_ms))
        {
            continue;
        }
        assert_eq!(watch.next_due(now_ms).as_ref(), state.due.first(), "minute {minute}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn every_order_of_arrival_gives_equal_bytes(
        order in Just((0..night().lines.len()).collect::<Vec<_>>()).prop_shuffle(),
        late_seal in prop::collection::vec(any::<bool>(), 32),
        twice in 0usize..16,
        fork in any::<bool>(),
    ) {
        let mut lines = night().lines;
        if fork {
            let mut other = Pen::new();
            other.see(1, 2, "stair", 1);
            other.see(2, 3, "hall", 1);
            lines.truncate(order.len());
            let spare = other.lines.remove(1);
            lines.push(spare);
        }
        let straight = folded(lines.clone());
        let mut watch = Watch::new(WatchId::new("w-1").unwrap());
        let mut seals = Vec::new();
        let count = lines.len();
        for place in order.into_iter().chain(order_rest(count)) {
            let mut held = lines[place].clone();
            if late_seal[place] {
                seals.push((held.line.id(), held.sealing.take()));
            }
            watch.add(held.clone());
            if place == twice {
                prop_assert!(!watch.add(held));
            }
        }
        for (id, sealing) in seals {
            watch.seal(id, sealing.unwrap());
        }
        for minute in [0, 20, 33, 60] {
            let now_ms = START + minute * MIN;
            prop_assert_eq!(bytes(&straight.about(now_ms)), bytes(&watch.about(now_ms)));
            prop_assert_eq!(straight.next_due(now_ms), watch.next_due(now_ms));
            let legs = |watch: &Watch| watch.legs(&watch.about(now_ms));
            prop_assert_eq!(legs(&straight), legs(&watch));
        }
    }
}

/// The lines that were added to the night after the order was drawn.
fn order_rest(count: usize) -> impl Iterator<Item = usize> {
    let night = night().lines.len();
    night..count
}
