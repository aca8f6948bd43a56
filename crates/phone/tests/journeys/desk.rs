//! A server small enough to read: one log, the rules of `docs/spec/sync.md`, nothing on a disk.

use crate::EIGHT_MS;
use ledger::chain::Tip;
use ledger::head::LogKey;
use ledger::leaf::{Entry as EntryLeaf, Leaf};
use ledger::merkle::Tree;
use ledger::{
    Auth, Clk, DeviceId, DeviceKey, Digest, Head, Line, LineId, PersonId, PublicKey, Verified,
    WatchId,
};
use phone::sync::{
    EnrolReply, EnrolRequest, GivenLine, Is, KnownKey, LineFrom, Member, Named, Outcome, Reply,
    Request, RequestNote, VERSION, confirmation_code,
};
use record::documents::{Document, Instructions, SiteCard};
use record::{
    Draft, Entry, InstructionsSet, PlanSet, Role, SiteId, StopId, TermsSet, WatchOpened, Words,
    ZoneId,
};
use std::collections::BTreeMap;

const ORIGIN: &str = "gannet.example/quay/2026";

pub struct Kept {
    pub line: Verified<Line>,
    pub private: Option<String>,
    pub leaf: EntryLeaf,
}

pub struct Desk {
    log_key: LogKey,
    own_key: DeviceKey,
    own: BTreeMap<WatchId, record::Place>,
    tree: Tree,
    pub kept: Vec<Kept>,
    pub aside: Vec<LineId>,
    held: Vec<(Verified<Line>, Option<String>)>,
    tips: BTreeMap<(DeviceId, WatchId), Tip>,
    pub devices: BTreeMap<DeviceId, (PublicKey, Option<Named>)>,
    waiting: BTreeMap<String, (PublicKey, Verified<Line>)>,
    tokens: BTreeMap<String, Named>,
    pub blobs: BTreeMap<Digest, Vec<u8>>,
    pub people: Vec<Named>,
    pub watch: WatchId,
    /// The version of the conversation that it answers with.
    pub speaks: u64,
}

pub(crate) fn named(id: &str, name: &str) -> Named {
    Named { id: PersonId::new(id).unwrap(), name: name.to_owned() }
}

impl Desk {
    /// A desk with one watch open from `from_ms`: three floors and a stair, 15 minutes each.
    pub fn open(from_ms: i64, demo: bool) -> Desk {
        Desk::open_as("w-quay", from_ms, demo)
    }

    /// The same under another id of the watch.
    pub fn open_as(watch: &str, from_ms: i64, demo: bool) -> Desk {
        let mut desk = Desk {
            log_key: LogKey::from_seed(ORIGIN, [3; 32]).unwrap(),
            own_key: DeviceKey::from_seed([4; 32]),
            own: BTreeMap::new(),
            tree: Tree::new(),
            kept: Vec::new(),
            aside: Vec::new(),
            held: Vec::new(),
            tips: BTreeMap::new(),
            devices: BTreeMap::new(),
            waiting: BTreeMap::new(),
            tokens: BTreeMap::new(),
            blobs: BTreeMap::new(),
            people: vec![named("p-ines", "Ines"), named("p-jon", "Jon")],
            watch: WatchId::new(watch).unwrap(),
            speaks: VERSION,
        };
        let key = desk.own_key.public();
        desk.devices.insert(key.device(), (key, None));
        let mut card = SiteCard::plain("Gannet Hotel", "4 Quay Street", "Port Gannet");
        card.emergency_number = Some("911".to_owned());
        let mut plan = floorplan::Plan::simple(
            "Gannet Hotel",
            &["Floor 5", "Floor 6", "Floor 7", "Stair B"],
            900,
        );
        plan.name = "Gannet Hotel".to_owned();
        let lines = vec!["Keys at the desk.".to_owned(), "Horn in every stair.".to_owned()];
        let sheet = Instructions { v: 1, language: "en".to_owned(), lines };
        let (card, sheet) = (desk.blob(card.to_bytes()), desk.blob(sheet.to_bytes()));
        let zones: Vec<ZoneId> =
            plan.zones.iter().map(|zone| ZoneId::new(zone.id.as_str()).unwrap()).collect();
        let stops: BTreeMap<StopId, ZoneId> = plan
            .stop_zones()
            .iter()
            .map(|(s, z)| (StopId::new(s.as_str()).unwrap(), ZoneId::new(z.as_str()).unwrap()))
            .collect();
        let plan = desk.blob(plan.canonical());
        let gaps_s = zones.iter().map(|zone| (zone.clone(), 900)).collect();
        let opened = WatchOpened {
            site: SiteId::new("gannet-hotel").unwrap(),
            card,
            tz: "America/Chicago".to_owned(),
            from_ms,
            until_ms: None,
            out: vec![record::System::FireAlarm],
            demo,
            test: false,
        };
        let terms = TermsSet {
            terms: Digest::of(b"terms"),
            gaps_s,
            first_round_s: None,
            people_at_least: 1,
            other_duties: false,
            retain_s: None,
        };
        let at = from_ms - 60_000;
        desk.state(at, opened.into());
        desk.state(at + 1, PlanSet { plan, zones, stops }.into());
        desk.state(at + 2, terms.into());
        let set = InstructionsSet { instructions: sheet, version: 1, language: "en".to_owned() };
        desk.state(at + 3, set.into());
        desk
    }

    fn blob(&mut self, bytes: Vec<u8>) -> Digest {
        let digest = Digest::of(&bytes);
        self.blobs.insert(digest, bytes);
        digest
    }

    /// Terms with a watch after the last spark of so long, s.
    pub fn terms_with_tail(&mut self, now_ms: i64, tail_s: u32) {
        let owed = record::documents::Owed { tail_s: Some(tail_s), ..Default::default() };
        let terms = record::documents::Terms { v: 1, demands: Vec::new(), owed };
        let terms = self.blob(terms.to_bytes());
        let gaps_s = self.zones().into_iter().map(|zone| (zone, 900)).collect();
        let set = TermsSet {
            terms,
            gaps_s,
            first_round_s: None,
            people_at_least: 1,
            other_duties: false,
            retain_s: None,
        };
        self.state(now_ms, set.into());
    }

    fn zones(&self) -> Vec<ZoneId> {
        self.state_of_watch(EIGHT_MS).zones.into_iter().map(|zone| zone.id).collect()
    }

    /// The server states something itself.
    pub fn state(&mut self, now_ms: i64, entry: Entry) -> LineId {
        let watch = self.watch.clone();
        let start = || record::Place::start(self.own_key.device(), watch.clone());
        let place = self.own.get(&watch).cloned().unwrap_or_else(start);
        let clk = Clk {
            wall: now_ms,
            mono: 0,
            boot: "s".into(),
            off: Some(0),
            err: Some(5),
            age: Some(0),
            tz: 0,
        };
        let draft = Draft {
            who: PersonId::new("server").unwrap(),
            auth: Auth::Device,
            clk,
            head: None,
            app: "desk".to_owned(),
            entry,
            words: Words::default(),
            salt: [0; 16],
        };
        let (line, _) = draft.line(&place).unwrap();
        let signed = line.sign(&self.own_key).unwrap();
        let line = Verified::check(signed, &self.own_key.public()).unwrap();
        let id = line.id();
        self.own.insert(watch, place.after(id));
        self.append(line, None, now_ms);
        id
    }

    /// A one-time token for a person.
    pub fn token(&mut self, token: &str, person: Named) {
        self.tokens.insert(token.to_owned(), person);
    }

    /// Somebody at the desk compares the code and says yes; gives the code shown there.
    pub fn confirm(&mut self, token: &str, now_ms: i64) -> String {
        let (key, line) = self.waiting.remove(token).expect("a phone waits");
        let person = self.tokens[token].clone();
        self.devices.insert(key.device(), (key, Some(person)));
        self.take(line, None, now_ms);
        confirmation_code(&key, token)
    }

    /// Answers any request of a phone: status and body.
    pub fn answer(
        &mut self,
        method: &str,
        path: &str,
        body: &[u8],
        note: &str,
        signature: &ledger::Signature,
        now_ms: i64,
    ) -> (u16, Vec<u8>) {
        if let Some(token) = path.strip_prefix("/enrol/") {
            return json(200, &self.enrolled(token));
        }
        if path == "/enrol" {
            return json(200, &self.enrol(&serde_json::from_slice(body).unwrap()));
        }
        let known = RequestNote::check(note, signature, path, body, now_ms, |dev| {
            self.devices.get(&dev).map(|(key, _)| *key)
        });
        if known.is_err() {
            return (401, Vec::new());
        }
        if let Some(blob) = path.strip_prefix("/blob/") {
            let digest: Digest = blob.parse().unwrap();
            return match method {
                "PUT" if Digest::of(body) == digest => {
                    self.blobs.insert(digest, body.to_vec());
                    (201, Vec::new())
                }
                "GET" => self.blobs.get(&digest).map_or((404, Vec::new()), |b| (200, b.clone())),
                _ => (400, Vec::new()),
            };
        }
        json(200, &self.sync(&serde_json::from_slice(body).unwrap(), now_ms))
    }

    fn enrol(&mut self, request: &EnrolRequest) -> EnrolReply {
        let known = self.tokens.contains_key(&request.token);
        let other = self.waiting.get(&request.token).is_some_and(|(key, _)| *key != request.key);
        if !known || other {
            return EnrolReply::Refused { says: "used".to_owned() };
        }
        let signed =
            ledger::SignedLine { bytes: request.line.clone().into_bytes(), signature: request.sig };
        let line = Verified::check(signed, &request.key).expect("the phone proves its key");
        if !self.devices.contains_key(&request.key.device()) {
            self.waiting.insert(request.token.clone(), (request.key, line));
        }
        EnrolReply::Waiting { code: confirmation_code(&request.key, &request.token) }
    }

    fn enrolled(&self, token: &str) -> EnrolReply {
        if let Some((key, _)) = self.waiting.get(token) {
            return EnrolReply::Waiting { code: confirmation_code(key, token) };
        }
        let Some(person) = self.tokens.get(token) else {
            return EnrolReply::Refused { says: "unknown".to_owned() };
        };
        EnrolReply::In(Box::new(Member {
            person: person.clone(),
            org: "Gannet Watch".to_owned(),
            origin: ORIGIN.to_owned(),
            log_key: self.log_key.vkey(),
            server_keys: vec![self.own_key.public()],
            watches: vec![self.watch.clone()],
            people: self.people.clone(),
            language: None,
        }))
    }

    fn sync(&mut self, request: &Request, now_ms: i64) -> Reply {
        let mut is = Vec::new();
        for sent in &request.lines {
            let line: Line = serde_json::from_str(&sent.line).unwrap();
            let (key, _) = self.devices[&line.dev];
            let line = sent.verify(&key).expect("the test's phones sign well");
            is.push((line.id(), self.take(line, sent.private.clone(), now_ms)));
        }
        let size = self.tree.size();
        let head = Head { origin: ORIGIN.to_owned(), size, root: self.tree.root() };
        let old = request.head.as_ref().map_or(0, |head| head.size);
        let consistency = if old > 0 && old < size {
            self.tree.consistency(old, size).unwrap()
        } else {
            Vec::new()
        };
        let outcomes = is.into_iter().map(|(id, is)| self.outcome(id, is, size)).collect();
        let from =
            |watch: &WatchId| request.watches.iter().find(|w| w.watch == *watch).map(|w| w.from);
        let lines = self
            .kept
            .iter()
            .filter(|kept| from(&kept.line.watch).is_some_and(|from| kept.leaf.i >= from))
            .map(|kept| GivenLine {
                line: String::from_utf8(kept.line.bytes().to_vec()).unwrap(),
                sig: kept.line.signature(),
                private: kept.private.clone(),
                leaf: leaf_text(&kept.leaf),
                proof: self.tree.inclusion(kept.leaf.i, size).unwrap(),
                log: None,
            })
            .collect();
        let keys = self.devices.values().map(|(key, person)| KnownKey {
            dev: key.device(),
            key: *key,
            role: if person.is_some() { Role::Guard } else { Role::Server },
            person: person.as_ref().map(|named| named.id.clone()),
            name: person.as_ref().map(|named| named.name.clone()),
        });
        Reply {
            v: self.speaks,
            t1: now_ms,
            t2: now_ms,
            head: head.sign(&self.log_key).to_string(),
            consistency,
            outcomes,
            lines,
            keys: keys.collect(),
            watches: vec![self.watch.clone()],
            people: self.people.clone(),
            more: false,
            logs: phone::sync::OtherLogs::default(),
        }
    }

    fn outcome(&self, id: LineId, is: Is, size: u64) -> Outcome {
        let kept = self.kept.iter().find(|kept| kept.line.id() == id);
        Outcome {
            id,
            is: if kept.is_some() && is == Is::Held { Is::Again } else { is },
            leaf: kept.map(|kept| leaf_text(&kept.leaf)),
            proof: kept.map(|kept| self.tree.inclusion(kept.leaf.i, size).unwrap()),
            log: None,
            missing: None,
            says: None,
        }
    }

    /// The laws of record.md section 2: the same again, a fork, a gap, or the next one.
    fn take(&mut self, line: Verified<Line>, private: Option<String>, now_ms: i64) -> Is {
        let chain = (line.dev, line.watch.clone());
        if self.kept.iter().any(|kept| kept.line.id() == line.id()) {
            return Is::Again;
        }
        let start = || Tip::start(chain.0, chain.1.clone());
        let tip = self.tips.entry(chain.clone()).or_insert_with(start);
        match tip.extend(&line) {
            Ok(()) => {
                self.append(line, private, now_ms);
                self.release(now_ms);
                Is::Received
            }
            Err(ledger::chain::ChainFault::Gap { .. }) => {
                self.held.push((line, private));
                Is::Held
            }
            Err(_) => {
                self.aside.push(line.id());
                Is::Forked
            }
        }
    }

    fn release(&mut self, now_ms: i64) {
        for (line, private) in std::mem::take(&mut self.held) {
            self.take(line, private, now_ms);
        }
    }

    fn append(&mut self, line: Verified<Line>, private: Option<String>, now_ms: i64) {
        let leaf = EntryLeaf::of(&line, self.tree.size(), now_ms, 5);
        self.tree.push(Leaf::Entry(leaf.clone()).hash());
        self.kept.push(Kept { line, private, leaf });
    }

    /// The names in the private line of the newest line of a kind.
    pub fn names_in(&self, kind: &str) -> BTreeMap<String, String> {
        let kept = self.kept.iter().rfind(|kept| kept.line.kind == kind).expect("such a line");
        let private = kept.private.as_ref().expect("its private line came too");
        Words::open(&ledger::Private::parse(private.as_bytes()).unwrap()).names
    }

    /// What the desk knows of the watch.
    pub fn state_of_watch(&self, now_ms: i64) -> watch::State {
        let mut watch = watch::Watch::new(self.watch.clone());
        for kept in self.kept.iter().filter(|kept| kept.line.watch == self.watch) {
            let private = kept.private.as_ref();
            let words = private.and_then(|p| ledger::Private::parse(p.as_bytes()).ok());
            watch.add(watch::Held {
                line: kept.line.clone(),
                sealing: Some(watch::Sealing {
                    index: kept.leaf.i,
                    rx_ms: kept.leaf.rx,
                    rxe_ms: kept.leaf.rxe,
                    not_before_ms: None,
                }),
                words: words.as_ref().map(Words::open),
            });
        }
        watch.about(now_ms)
    }
}

fn leaf_text(leaf: &EntryLeaf) -> String {
    String::from_utf8(Leaf::Entry(leaf.clone()).to_bytes()).unwrap()
}

fn json(status: u16, value: &impl serde::Serialize) -> (u16, Vec<u8>) {
    (status, serde_json::to_vec(value).unwrap())
}
