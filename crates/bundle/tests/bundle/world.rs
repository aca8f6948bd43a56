//! A small organisation with throw-away keys: a server, phones, their chains, and a log that takes
//! everything in. What it writes is fixed by what is asked of it, down to the last byte.

use bundle::{BundleParts, KeptLine, LogParts, Stamp};
use ledger::chain::Tip;
use ledger::leaf::{Close, Entry as LeafEntry, EntryTag};
use ledger::merkle::Tree;
use ledger::{
    Auth, Clk, DeviceId, DeviceKey, Digest, Head, HeadRef, Leaf, Line, LineId, LogKey, PersonId,
    Private, SignedLine, WatchId, line::VERSION, private::Salt,
};
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;

pub(crate) const WATCH: &str = "gannet-hotel-1";
pub(crate) const SERVER: u8 = 1;

/// 2026-12-31 20:00 UTC, ms.
pub(crate) const START_MS: i64 = 1_798_747_200_000;

pub(crate) struct World {
    pub(crate) now_ms: i64,
    keys: BTreeMap<u8, DeviceKey>,
    tips: BTreeMap<(WatchId, u8), Tip>,
    pub(crate) logs: Vec<Log>,
    pub(crate) kept: Vec<KeptLine>,
    pub(crate) org_lines: Vec<SignedLine>,
    pub(crate) blobs: Vec<Vec<u8>>,
    /// What is done to the next line before it is signed.
    pub(crate) twist: Option<fn(&mut Line)>,
    /// What is done to the next line after it was signed.
    pub(crate) twist_signed: Option<fn(&mut SignedLine)>,
}

pub(crate) struct Log {
    pub(crate) key: LogKey,
    pub(crate) tree: Tree,
    pub(crate) shown: Vec<Vec<u8>>,
    pub(crate) stamps: Vec<Stamp>,
}

impl World {
    pub(crate) fn new() -> World {
        let mut world = World {
            now_ms: START_MS,
            keys: BTreeMap::new(),
            tips: BTreeMap::new(),
            logs: Vec::new(),
            kept: Vec::new(),
            org_lines: Vec::new(),
            blobs: Vec::new(),
            twist: None,
            twist_signed: None,
        };
        world.open_log(2026);
        world.enrol(SERVER);
        world
    }

    pub(crate) fn log_key(year: u16) -> LogKey {
        let origin = format!("watch.example/gannet/{year}");
        LogKey::from_seed(&origin, [(year % 200) as u8; 32]).unwrap()
    }

    pub(crate) fn open_log(&mut self, year: u16) {
        let log = Log {
            key: World::log_key(year),
            tree: Tree::new(),
            shown: Vec::new(),
            stamps: Vec::new(),
        };
        self.logs.push(log);
    }

    /// Closes the newest log; the next one is that of `year`.
    pub(crate) fn close_log(&mut self, year: u16) {
        let log = self.logs.last_mut().unwrap();
        let next = World::log_key(year).vkey();
        let leaf = Leaf::Close(Close::new(log.tree.size(), self.now_ms, 5, next)).to_bytes();
        log.tree.push(ledger::merkle::leaf_hash(&leaf));
        log.shown.push(leaf);
        self.open_log(year);
    }

    pub(crate) fn key(&mut self, device: u8) -> &DeviceKey {
        self.keys.entry(device).or_insert_with(|| DeviceKey::from_seed([device; 32]))
    }

    pub(crate) fn dev(&mut self, device: u8) -> DeviceId {
        self.key(device).device()
    }

    /// The server lets a device in.
    pub(crate) fn enrol(&mut self, device: u8) {
        let (role, keep) =
            if device == SERVER { ("server", "server") } else { ("guard", "webcrypto") };
        let key = self.key(device).public();
        let body = json!({"device": key.device(), "key": key, "keep": keep, "role": role});
        let signed = self.org(SERVER, "enrolled", body);
        self.org_lines.push(signed);
    }

    /// A device vouches, with the key it has, for the one it will sign with.
    pub(crate) fn rekey(&mut self, device: u8, new: u8) {
        let key = self.key(new).public();
        let signed = self.org(device, "rekeyed", json!({"keep": "webcrypto", "key": key}));
        self.org_lines.push(signed);
    }

    /// A line of an organisation's chain that the bundle may show or not.
    pub(crate) fn org(&mut self, device: u8, kind: &str, body: Value) -> SignedLine {
        let (signed, _) = self.sign(device, WatchId::org(), kind, body, None);
        self.receive(device, &WatchId::org(), &signed, true);
        signed
    }

    /// A line of the watch, signed, kept and received.
    pub(crate) fn write(&mut self, device: u8, kind: &str, body: Value) -> LineId {
        self.write_with(device, kind, body, None)
    }

    pub(crate) fn write_with(
        &mut self,
        device: u8,
        kind: &str,
        body: Value,
        private: Option<Value>,
    ) -> LineId {
        let watch = WatchId::new(WATCH).unwrap();
        let (signed, private) = self.sign(device, watch.clone(), kind, body, private);
        self.receive(device, &watch, &signed, true);
        let id = signed.id();
        self.kept.push(KeptLine { signed, private });
        id
    }

    /// A line of somebody else's watch, which takes a place in the log and is not shown.
    pub(crate) fn write_elsewhere(&mut self, device: u8) {
        let watch = WatchId::new("another-site-4").unwrap();
        let (signed, _) = self.sign(device, watch.clone(), "round_began", json!({}), None);
        self.receive(device, &watch, &signed, false);
    }

    /// The same, but its leaf is shown.
    pub(crate) fn show_elsewhere(&mut self, device: u8) {
        let watch = WatchId::new("another-site-4").unwrap();
        let (signed, _) = self.sign(device, watch.clone(), "round_began", json!({}), None);
        self.receive(device, &watch, &signed, true);
    }

    /// Leaves out the lines of a device from `seq` on, and shows their leaves no more.
    pub(crate) fn forget(&mut self, device: u8, seq: u64) {
        let dev = self.dev(device);
        let of = |bytes: &[u8]| serde_json::from_slice::<Value>(bytes).unwrap();
        let drop = |line: &Value| {
            line["dev"] == json!(dev) && line["watch"] == WATCH && line["seq"].as_u64() >= Some(seq)
        };
        self.kept.retain(|kept| !drop(&of(&kept.signed.bytes)));
        self.logs[0].shown.retain(|leaf| !drop(&of(leaf)));
    }

    /// Leaves out every seal: the server's chain ends before the first.
    pub(crate) fn forget_seals(&mut self) {
        let of = |bytes: &[u8]| serde_json::from_slice::<Line>(bytes).unwrap();
        let mut lines = self.kept.iter().map(|kept| of(&kept.signed.bytes));
        let first = lines.find(|line| line.kind == "sealed").unwrap().seq;
        self.forget(SERVER, first);
    }

    pub(crate) fn blob(&mut self, bytes: &[u8]) -> Digest {
        self.blobs.push(bytes.to_vec());
        Digest::of(bytes)
    }

    /// The server states how many lines every chain has.
    pub(crate) fn seal(&mut self) -> LineId {
        let chains = self.chain_ends();
        self.write(SERVER, "sealed", json!({ "chains": chains }))
    }

    pub(crate) fn chain_ends(&self) -> Value {
        let of_watch = self.tips.iter().filter(|((of, _), _)| of.as_str() == WATCH);
        let mut tips: Vec<&Tip> = of_watch.map(|(_, tip)| tip).collect();
        tips.sort_by_key(|tip| tip.dev);
        tips.iter()
            .map(|tip| json!({"count": tip.count, "dev": tip.dev, "last": tip.last}))
            .collect()
    }

    pub(crate) fn head(&self) -> Head {
        let log = self.logs.last().unwrap();
        Head { origin: log.key.name().to_owned(), size: log.tree.size(), root: log.tree.root() }
    }

    pub(crate) fn parts(&mut self) -> BundleParts<'_> {
        let server = self.dev(SERVER);
        let shown = |device: &u8| {
            self.tips.iter().any(|((watch, of), tip)| {
                of == device && tip.count > 0 && (watch.as_str() == WATCH || watch.is_org())
            })
        };
        let keys = self.keys.iter().filter(|(device, _)| shown(device));
        let keys = keys.map(|(_, key)| key.public()).collect();
        let logs = self.logs.iter().map(|log| LogParts {
            vkey: log.key.vkey(),
            head: Head {
                origin: log.key.name().to_owned(),
                size: log.tree.size(),
                root: log.tree.root(),
            }
            .sign(&log.key)
            .to_string(),
            tree: &log.tree,
            leaves: log.shown.clone(),
            stamps: log.stamps.clone(),
        });
        BundleParts {
            watch: WatchId::new(WATCH).unwrap(),
            server,
            lines: self.kept.clone(),
            org_lines: self.org_lines.clone(),
            keys,
            logs: logs.collect(),
            blobs: self.blobs.clone(),
        }
    }

    pub(crate) fn bundle(&mut self) -> Vec<u8> {
        bundle::write(&self.parts()).unwrap()
    }

    fn sign(
        &mut self,
        device: u8,
        watch: WatchId,
        kind: &str,
        body: Value,
        private: Option<Value>,
    ) -> (SignedLine, Option<Vec<u8>>) {
        let Value::Object(body) = body else { panic!("a body is an object") };
        let private = private.map(|content| {
            let Value::Object(content) = content else { panic!("a private line is an object") };
            Private { salt: Salt([device; 16]), content }.to_bytes().unwrap()
        });
        let head = self.head();
        let dev = self.dev(device);
        let tip = self
            .tips
            .entry((watch.clone(), device))
            .or_insert_with(|| Tip::start(dev, watch.clone()));
        let mut line = Line {
            v: VERSION,
            kind: kind.to_owned(),
            dev,
            watch,
            seq: tip.count,
            prev: tip.last,
            who: PersonId::new(format!("person-{device}")).unwrap(),
            auth: if device == SERVER { Auth::Device } else { Auth::Pin },
            clk: Clk {
                wall: self.now_ms,
                mono: self.now_ms - START_MS,
                boot: format!("b{device}"),
                off: Some(0),
                err: Some(40),
                age: Some(1000),
                tz: 60,
            },
            head: (head.size > 0).then(|| HeadRef {
                origin: head.origin.clone(),
                size: head.size,
                root: head.root,
            }),
            app: "1.0.0".into(),
            body: Map::from_iter(body),
            private: private.as_deref().map(Digest::of),
        };
        if let Some(twist) = self.twist.take() {
            twist(&mut line);
        }
        let bytes = line.to_bytes().unwrap();
        let signature = self.keys[&device].sign(&bytes);
        let mut signed = SignedLine { bytes, signature };
        if let Some(twist) = self.twist_signed.take() {
            twist(&mut signed);
        }
        (signed, private)
    }

    /// Takes a line in as a log would that does not look.
    fn receive(&mut self, device: u8, watch: &WatchId, signed: &SignedLine, show: bool) {
        let tip = self.tips.get_mut(&(watch.clone(), device)).unwrap();
        let seq = tip.count;
        (tip.count, tip.last) = (seq + 1, signed.id());
        self.now_ms += 1000;
        let log = self.logs.last_mut().unwrap();
        let leaf = LeafEntry {
            dev: tip.dev,
            e: signed.id(),
            i: log.tree.size(),
            rx: self.now_ms,
            rxe: 5,
            seq,
            sig: signed.signature,
            t: EntryTag::Entry,
            v: VERSION,
            watch: watch.clone(),
        };
        let leaf = Leaf::Entry(leaf).to_bytes();
        log.tree.push(ledger::merkle::leaf_hash(&leaf));
        if show {
            log.shown.push(leaf);
        }
    }
}

/// The files of a bundle by name.
pub(crate) fn files(bundle: &[u8]) -> BTreeMap<String, Vec<u8>> {
    let list = bundle::archive::read(bundle).unwrap();
    let content = |file: &bundle::archive::File| {
        bundle[file.at as usize..(file.at + file.len) as usize].to_vec()
    };
    list.iter().map(|file| (file.name.clone(), content(file))).collect()
}

/// Packs files, with a manifest that fits them: whoever changes a file mends that too.
pub(crate) fn pack(mut files: BTreeMap<String, Vec<u8>>) -> Vec<u8> {
    files.remove(bundle::names::MANIFEST);
    let mut manifest = Vec::new();
    for (name, bytes) in &files {
        let row = json!({"bytes": bytes.len(), "name": name, "sha256": Digest::of(bytes)});
        manifest.extend(ledger::canonical::to_bytes(&row).unwrap());
        manifest.push(b'\n');
    }
    files.insert(bundle::names::MANIFEST.into(), manifest);
    bundle::archive::write(&files.into_iter().collect::<Vec<_>>()).unwrap()
}

/// One whole small watch: two phones, a photo, a private line that was erased, another client's
/// lines in between.
pub(crate) fn small_watch() -> World {
    let mut world = World::new();
    world.enrol(2);
    world.enrol(3);
    let plan = world.blob(b"a plan of three floors");
    world.write(SERVER, "plan_set", json!({"plan": plan, "zones": ["floor-1", "floor-2"]}));
    world.write_elsewhere(9);
    world.write_with(2, "shift_began", json!({}), Some(json!({"name": "Ines"})));
    world.write(2, "round_began", json!({}));
    for minute in 0..6 {
        world.now_ms += 60_000;
        world.write(2, "seen", json!({"stop": format!("stop-{minute}"), "how": "tag"}));
        world.write_elsewhere(9);
        world.write_elsewhere(9);
    }
    let photo = world.blob(b"\x89PNG not really");
    let words = json!({"words": ["smell of paint on the stair"]});
    let observed = world.write_with(2, "observed", json!({"class": "other"}), Some(words));
    world.write(2, "photo", json!({"blob": photo, "len": 16, "mime": "image/png", "of": observed}));
    let note = world.write_with(3, "note", json!({}), Some(json!({"words": ["a name"]})));
    world.org(SERVER, "tick", json!({"watches": 1}));
    world.write(3, "round_began", json!({}));
    world.write(2, "shift_ended", json!({}));
    world.write(SERVER, "erased", json!({"line": note, "by": "person-7"}));
    for kept in &mut world.kept {
        if kept.signed.id() == note {
            kept.private = None;
        }
    }
    world.seal();
    world
}
