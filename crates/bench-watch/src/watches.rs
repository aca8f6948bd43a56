//! Signed lines of made-up watches, for the benches of the fold and of the rules.

use ledger::{Auth, Clk, DeviceKey, Digest, PersonId, Verified, WatchId};
use record::*;
use std::collections::BTreeMap;
use watch::{Held, Sealing, Watch};

/// 2026-01-01 18:00 UTC.
pub(crate) const START_MS: i64 = 1_767_290_400_000;

/// One phone that writes one watch.
pub(crate) struct Phone {
    key: DeviceKey,
    place: Place,
    who: PersonId,
    start_ms: i64,
    index: u64,
}

impl Phone {
    pub(crate) fn new(watch: &str, start_ms: i64) -> Phone {
        let key = DeviceKey::from_seed(Digest::of(watch.as_bytes()).0);
        let place = Place::start(key.device(), WatchId::new(watch).expect("an id"));
        Phone { key, place, who: PersonId::new("p-guard").expect("an id"), start_ms, index: 0 }
    }

    /// Signs and verifies one line; it is sealed a second later.
    pub(crate) fn write(&mut self, at_ms: i64, entry: impl Into<Entry>) -> Held {
        let draft = Draft {
            who: self.who.clone(),
            auth: Auth::Pin,
            clk: Clk {
                wall: at_ms,
                mono: at_ms - self.start_ms,
                boot: "boot-1".to_owned(),
                off: Some(0),
                err: Some(40),
                age: Some(at_ms - self.start_ms),
                tz: 0,
            },
            head: None,
            app: "bench".to_owned(),
            entry: entry.into(),
            words: Words::default(),
            salt: [0; 16],
        };
        let (line, _) = draft.line(&self.place).expect("small and canonical");
        let signed = line.sign(&self.key).expect("canonical");
        let line = Verified::check(signed, &self.key.public()).expect("signed just now");
        self.place = self.place.after(line.id());
        self.index += 1;
        let sealing =
            Sealing { index: self.index, rx_ms: at_ms + 1_000, rxe_ms: 20, not_before_ms: None };
        Held { line, sealing: Some(sealing), words: None }
    }

    /// Opening, terms for `zones` zones with one gap, and the beginning of the shift.
    pub(crate) fn opening(&mut self, zones: usize, gap_s: u32, until_ms: Option<i64>) -> Vec<Held> {
        let start_ms = self.start_ms;
        let opened = WatchOpened {
            site: SiteId::new("s-bench").expect("an id"),
            card: Digest::ZERO,
            tz: "UTC".to_owned(),
            from_ms: start_ms,
            until_ms,
            out: vec![System::FireAlarm],
            demo: false,
            test: true,
        };
        let terms = TermsSet {
            terms: Digest::ZERO,
            gaps_s: (0..zones).map(|n| (zone(n), gap_s)).collect::<BTreeMap<_, _>>(),
            first_round_s: None,
            people_at_least: 1,
            other_duties: false,
            retain_s: None,
        };
        vec![
            self.write(start_ms, opened),
            self.write(start_ms, terms),
            self.write(start_ms, ShiftBegan { until_ms, silent: false }),
        ]
    }

    pub(crate) fn see(&mut self, at_ms: i64, n: usize, round: u32) -> Held {
        let stop = StopId::new(format!("z{n}-1")).expect("an id");
        self.write(
            at_ms,
            Seen { stop, zone: zone(n), how: HowSeen::Tag, tag: None, round, fix: false },
        )
    }
}

pub(crate) fn zone(n: usize) -> ZoneId {
    ZoneId::new(format!("z{n}")).expect("an id")
}

pub(crate) fn folded(id: &str, lines: impl IntoIterator<Item = Held>) -> Watch {
    let mut watch = Watch::new(WatchId::new(id).expect("an id"));
    for held in lines {
        watch.add(held);
    }
    watch
}
