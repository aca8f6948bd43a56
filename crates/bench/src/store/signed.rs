//! Signed lines as a busy night makes them: some chains, bodies of codes and times.

use ledger::{
    Auth, Clk, DeviceKey, HeadRef, Line, LineId, PersonId, PublicKey, SignedLine, Verified, WatchId,
};
use serde_json::{Map, json};
use store::Incoming;

/// Devices that take turns; as many chains.
pub(crate) const DEVICES: usize = 16;

#[derive(Clone)]
pub(crate) struct Signed {
    pub(crate) signed: SignedLine,
    pub(crate) key: PublicKey,
}

impl Signed {
    pub(crate) fn check(&self) -> Verified<Line> {
        Verified::check(self.signed.clone(), &self.key).expect("it was signed here")
    }
}

pub(crate) fn lines(count: usize) -> Vec<Signed> {
    let keys: Vec<DeviceKey> =
        (0..DEVICES).map(|device| DeviceKey::from_seed([device as u8 + 1; 32])).collect();
    let mut prev = [LineId::default(); DEVICES];
    (0..count)
        .map(|turn| {
            let device = turn % DEVICES;
            let seq = (turn / DEVICES) as u64;
            let signed = line(&keys[device], seq, prev[device]).sign(&keys[device]);
            let signed = signed.expect("it is canonical");
            prev[device] = signed.id();
            Signed { signed, key: keys[device].public() }
        })
        .collect()
}

fn line(key: &DeviceKey, seq: u64, prev: LineId) -> Line {
    let mut body = Map::new();
    body.insert("how".into(), json!("tag"));
    body.insert("round".into(), json!(seq / 20));
    body.insert("stop".into(), json!(format!("stair-b-{}", seq % 20)));
    let head = HeadRef {
        origin: "gannet.example/quay/2026".into(),
        size: seq,
        root: ledger::Digest::of(&seq.to_be_bytes()),
    };
    Line {
        v: ledger::line::VERSION,
        kind: "seen".into(),
        dev: key.device(),
        watch: WatchId::new("w-7c1f").expect("it follows the form"),
        seq,
        prev,
        who: PersonId::new("p-44").expect("it follows the form"),
        auth: Auth::Pin,
        clk: Clk {
            wall: 1_764_000_000_000 + seq as i64 * 1_000,
            mono: seq as i64 * 1_000,
            boot: "b1f0".into(),
            off: Some(12),
            err: Some(40),
            age: Some(60_000),
            tz: 60,
        },
        head: Some(head),
        app: "bench".into(),
        body,
        private: None,
    }
}

pub(crate) fn verified(signed: &[Signed]) -> Vec<Incoming> {
    signed.iter().map(|signed| Incoming { line: signed.check(), private: None }).collect()
}

/// Lines verified a second by two threads.
pub(crate) fn verify_on_two_threads(signed: &[Signed]) -> f64 {
    let began = super::now();
    std::thread::scope(|scope| {
        for half in signed.chunks(signed.len().div_ceil(2)) {
            scope.spawn(move || half.iter().for_each(|line| drop(line.check())));
        }
    });
    signed.len() as f64 / began.elapsed().as_secs_f64()
}
