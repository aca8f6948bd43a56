//! The conversation between phone and server, and the letting in of phones (`docs/spec/sync.md`).

use crate::{Target, seeds};
use ledger::{DeviceKey, LogKey};
use phone::sync::{EnrolReply, EnrolRequest, LineFrom, Reply, Request};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::fmt::Debug;

pub(crate) const TARGET: Target = Target {
    name: "sync",
    says: "a message comes back from its own text; a reply that no log of ours signed is not believed",
    reads,
    seeds: good,
    longest: 32 * 1024,
};

fn good() -> Vec<Vec<u8>> {
    let line = seeds::vectors("lines.jsonl", "line").swap_remove(0);
    let line = serde_json::Value::from(String::from_utf8_lossy(&line));
    let head = seeds::vectors("heads.jsonl", "head").swap_remove(0);
    let head = serde_json::Value::from(String::from_utf8_lossy(&head));
    let (key, sig) = ("iojj3XQJ8ZX9UtstPLpdcspnCb8dlBIb83SIAbQPb1w=", "A".repeat(86) + "==");
    let id = "0".repeat(64);
    [
        format!(
            r#"{{"v":1,"t0":1795658400000,"head":{{"origin":"h/o/2026","size":4,"root":"{id}"}},"lines":[{{"line":{line},"sig":"{sig}","private":"{{}}"}}],"watches":[{{"watch":"w-1","from":0,"log":"h/o/2026"}}]}}"#
        ),
        format!(
            r#"{{"v":1,"t1":1,"t2":2,"head":{head},"consistency":["{id}"],"outcomes":[{{"id":"{id}","is":"received","leaf":"{{}}","proof":["{id}"]}},{{"id":"{id}","is":"held","missing":[1,2]}}],"lines":[{{"line":{line},"sig":"{sig}","leaf":"{{}}","proof":[]}}],"keys":[{{"dev":"{id}","key":"{key}","role":"guard","person":"p-1"}}],"watches":["w-1"],"people":[{{"id":"p-1","name":"Ines"}}],"more":true,"logs":{{"earlier":[{head}],"cut":[{{"origin":"h/o/2026","size":3}}]}}}}"#
        ),
        format!(r#"{{"token":"t-1","key":"{key}","keep":"soft","line":{line},"sig":"{sig}"}}"#),
        r#"{"state":"waiting","code":"751269"}"#.to_owned(),
    ]
    .map(String::into_bytes)
    .into()
}

fn reads(bytes: &[u8]) {
    again::<EnrolReply>(bytes);
    again::<EnrolRequest>(bytes);
    let key = DeviceKey::from_seed([1; 32]).public();
    if let Some(request) = again::<Request>(bytes) {
        for sent in &request.lines {
            let _ = sent.stated_device();
            if let Ok(line) = sent.verify(&key) {
                assert_eq!(line.bytes(), sent.line.as_bytes(), "nothing re-encodes a line");
            }
        }
    }
    if let Some(reply) = again::<Reply>(bytes) {
        let pinned = LogKey::from_seed("h/o/2026", [9; 32]).expect("a plain name").vkey();
        let read = reply.read(None, &[pinned], &ledger::order::Map::new(), |_| None);
        assert!(read.is_err(), "believed without the signature of the pinned log");
    }
}

fn again<T: Serialize + DeserializeOwned + PartialEq + Debug>(bytes: &[u8]) -> Option<T> {
    let message: T = ledger::json::parse(bytes).ok()?;
    let text = serde_json::to_string(&message).expect("messages hold text, numbers and lists");
    assert_eq!(ledger::json::parse::<T>(&text).ok().as_ref(), Some(&message), "comes back");
    Some(message)
}
