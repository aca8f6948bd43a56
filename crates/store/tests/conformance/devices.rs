//! Devices that sign lines for the tests, with throw-away keys.

use ledger::head::{Head, LogKey, SignedHead};
use ledger::{Auth, Clk, DeviceKey, Digest, Line, LineId, PersonId, Verified, WatchId};
use serde_json::{Map, json};
use store::{Incoming, ReceivedAt};

pub(crate) const ORIGIN: &str = "gannet.example/quay/2026";

/// One chain of one device, as the device sees it.
pub(crate) struct Chain {
    key: DeviceKey,
    pub(crate) watch: WatchId,
    pub(crate) seq: u64,
    pub(crate) prev: LineId,
}

impl Chain {
    pub(crate) fn new(device: u8, watch: &str) -> Chain {
        let watch = WatchId::new(watch).unwrap();
        Chain { key: DeviceKey::from_seed([device; 32]), watch, seq: 0, prev: LineId::default() }
    }

    pub(crate) fn dev(&self) -> ledger::DeviceId {
        self.key.device()
    }

    /// The next line of the chain.
    pub(crate) fn say(&mut self, word: &str) -> Incoming {
        let line = self.draft(word, None);
        self.seq += 1;
        self.prev = line.line.id();
        line
    }

    /// The next line of the chain, with a private line.
    pub(crate) fn whisper(&mut self, word: &str, private: &str) -> Incoming {
        let private = format!(r#"{{"salt":"AAAAAAAAAAAAAAAAAAAAAA==","text":"{private}"}}"#);
        let line = self.draft(word, Some(private.into_bytes()));
        self.seq += 1;
        self.prev = line.line.id();
        line
    }

    /// What the next line would be, without going on from it.
    pub(crate) fn draft(&self, word: &str, private: Option<Vec<u8>>) -> Incoming {
        let mut body = Map::new();
        body.insert("word".into(), json!(word));
        let line = Line {
            v: ledger::line::VERSION,
            kind: "note".into(),
            dev: self.key.device(),
            watch: self.watch.clone(),
            seq: self.seq,
            prev: self.prev,
            who: PersonId::new("p-1").unwrap(),
            auth: Auth::Pin,
            clk: Clk { wall: 1, mono: 1, boot: "b".into(), off: None, err: None, age: None, tz: 0 },
            head: None,
            app: "test".into(),
            body,
            private: private.as_deref().map(Digest::of),
        };
        let signed = line.sign(&self.key).unwrap();
        Incoming { line: Verified::check(signed, &self.key.public()).unwrap(), private }
    }
}

pub(crate) fn at(ms: i64) -> ReceivedAt {
    ReceivedAt { ms, error_ms: 5 }
}

pub(crate) fn log_key() -> LogKey {
    LogKey::from_seed(ORIGIN, [9; 32]).unwrap()
}

pub(crate) fn sign(head: &Head) -> SignedHead {
    head.sign(&log_key())
}
