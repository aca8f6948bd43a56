//! A scripted phone: its own key and chains, the real conversation.

use ledger::{
    Auth, Clk, DeviceKey, HeadRef, LineId, PersonId, PublicKey, Signature, SignedLine, Verified,
    Vkey, WatchId,
};
use phone::sync::{
    DEVICE_HEADER, EnrolReply, EnrolRequest, Is, Member, ReadReply, Reply, Request, RequestNote,
    SIGNATURE_HEADER, SentLine, WatchFrom, confirmation_code,
};
use record::{
    Draft, Enrolled, Entry, HazardClass, HowSeen, KeyKept, Observed, Place, Role, RoundBegan, Seen,
    Severity, ShiftBegan, ShiftEnded, StopId, Words, ZoneId,
};
use reqwest::{Client, Method, Response, StatusCode};
use std::collections::BTreeMap;

pub(crate) struct Phone {
    url: String,
    client: Client,
    key: DeviceKey,
    places: BTreeMap<WatchId, Place>,
    /// Lines without a receipt.
    pub(crate) waiting: Vec<(Verified<ledger::Line>, SentLine)>,
    pub(crate) member: Option<Member>,
    pub(crate) head: Option<HeadRef>,
    known: ledger::order::Map<ledger::DeviceId, PublicKey>,
    /// The phone's clock, ms UTC: the server's at first, then moved by the tests.
    pub(crate) now_ms: i64,
}

impl Phone {
    pub(crate) fn new(url: &str, seed: u8) -> Phone {
        #[expect(clippy::disallowed_methods, reason = "a scripted phone begins at the real time")]
        let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap();
        Phone {
            url: url.to_owned(),
            client: Client::new(),
            key: DeviceKey::from_seed([seed; 32]),
            places: BTreeMap::new(),
            waiting: Vec::new(),
            member: None,
            head: None,
            known: ledger::order::Map::new(),
            now_ms: now.as_millis() as i64,
        }
    }

    pub(crate) fn dev(&self) -> ledger::DeviceId {
        self.key.device()
    }

    /// What it must hold to go on later: who it is, what it verified, and where its chains end.
    pub(crate) fn kept(&self) -> serde_json::Value {
        let ends = self.places.iter().map(|(watch, place)| {
            serde_json::json!({ "watch": watch, "seq": place.seq, "prev": place.prev })
        });
        serde_json::json!({
            "member": self.member,
            "head": self.head,
            "ends": ends.collect::<Vec<_>>(),
            "keys": self.known.values().collect::<Vec<_>>(),
        })
    }

    /// A phone with that key goes on from what was [kept](Phone::kept).
    pub(crate) fn again(url: &str, seed: u8, kept: &serde_json::Value) -> Phone {
        let read = |name: &str| kept[name].clone();
        let mut phone = Phone::new(url, seed);
        phone.member = serde_json::from_value(read("member")).unwrap();
        phone.head = serde_json::from_value(read("head")).unwrap();
        let keys: Vec<PublicKey> = serde_json::from_value(read("keys")).unwrap();
        phone.known = keys.into_iter().map(|key| (key.device(), key)).collect();
        for end in kept["ends"].as_array().unwrap() {
            let watch: WatchId = serde_json::from_value(end["watch"].clone()).unwrap();
            let prev = serde_json::from_value(end["prev"].clone()).unwrap();
            let seq = end["seq"].as_u64().unwrap();
            let place = Place { seq, prev, ..Place::start(phone.dev(), watch.clone()) };
            phone.places.insert(watch, place);
        }
        phone
    }

    /// Another server answers from now on.
    pub(crate) fn moves_to(&mut self, url: &str) {
        url.clone_into(&mut self.url);
    }

    pub(crate) fn sign(&self, bytes: &[u8]) -> Signature {
        self.key.sign(bytes)
    }

    pub(crate) fn wait_min(&mut self, minutes: i64) {
        self.now_ms += minutes * 60_000;
    }

    /// Writes a line, not sent yet.
    pub(crate) fn write(
        &mut self,
        watch: &WatchId,
        entry: impl Into<Entry>,
        words: Words,
    ) -> LineId {
        let who = match &self.member {
            Some(member) => member.person.id.clone(),
            None => PersonId::new("nobody").unwrap(),
        };
        let draft = Draft {
            who,
            auth: Auth::Device,
            clk: Clk {
                wall: self.now_ms,
                mono: self.now_ms - 1_700_000_000_000,
                boot: "b-test".into(),
                off: Some(0),
                err: Some(20),
                age: Some(0),
                tz: -360,
            },
            head: self.head.clone(),
            app: "test".into(),
            entry: entry.into(),
            words,
            salt: [3; 16],
        };
        let start = Place::start(self.key.device(), watch.clone());
        let place = self.places.entry(watch.clone()).or_insert(start);
        let (line, private) = draft.line(place).unwrap();
        let signed = line.sign(&self.key).unwrap();
        let line = Verified::check(signed.clone(), &self.key.public()).unwrap();
        *place = place.after(line.id());
        let private = private.map(|p| String::from_utf8(p.to_bytes().unwrap()).unwrap());
        let id = line.id();
        self.waiting.push((line, SentLine::of(&signed, private)));
        id
    }

    pub(crate) fn begins(&mut self, watch: &WatchId) {
        let entry = ShiftBegan { until_ms: None, silent: false };
        self.write(watch, entry, Words::default());
        self.write(watch, RoundBegan { round: 1 }, Words::default());
    }

    /// Ends and signs.
    pub(crate) fn ends(&mut self, watch: &WatchId) {
        let entry = ShiftEnded { all_clear: true, signature: None, rounds: 1, lines: 1 };
        self.write(watch, entry, Words::default());
    }

    /// Stands at a floor.
    pub(crate) fn sees(&mut self, watch: &WatchId, floor: &str) -> LineId {
        let entry = Seen {
            stop: StopId::new(floor).unwrap(),
            zone: ZoneId::new(floor).unwrap(),
            how: HowSeen::Hand,
            tag: None,
            round: 1,
            fix: false,
        };
        self.write(watch, entry, Words::default())
    }

    /// Writes down a blocked way out that nothing was done about yet.
    pub(crate) fn observes(&mut self, watch: &WatchId, floor: &str) -> LineId {
        let entry = Observed {
            class: HazardClass::Exits,
            severity: Severity::ThisRound,
            zone: ZoneId::new(floor).ok(),
            stop: None,
            place: None,
            at_ms: None,
            again: None,
        };
        self.write(watch, entry, Words::default())
    }

    /// A request signed with the device's key.
    pub(crate) async fn signed(&self, method: Method, path: &str, body: Vec<u8>) -> Response {
        let note = RequestNote::new(self.key.device(), path, &body, self.now_ms);
        let signature = self.key.sign(note.text().as_bytes());
        self.with_headers(method, path, body, &note.text(), &signature).await
    }

    pub(crate) async fn with_headers(
        &self,
        method: Method,
        path: &str,
        body: Vec<u8>,
        note: &str,
        signature: &Signature,
    ) -> Response {
        self.client
            .request(method, format!("{}{path}", self.url))
            .header(DEVICE_HEADER, note)
            .header(SIGNATURE_HEADER, signature.to_string())
            .header("content-type", "application/json")
            .body(body)
            .send()
            .await
            .unwrap()
    }

    /// Shows a token and returns the six digits.
    pub(crate) async fn ask_in(&mut self, token: &str) -> String {
        let request = self.enrol_request(token);
        let reply = self.enrol(&request).await;
        let EnrolReply::Waiting { code } = reply else { panic!("waits for the desk: {reply:?}") };
        assert_eq!(code, confirmation_code(&self.key.public(), token), "both sides derive it");
        code
    }

    pub(crate) fn enrol_request(&mut self, token: &str) -> EnrolRequest {
        let org = WatchId::org();
        if !self.places.contains_key(&org) {
            let entry = Enrolled {
                device: self.key.device(),
                key: self.key.public(),
                keep: KeyKept::Soft,
                role: Role::Guard,
                person: None,
                token: None,
                by: None,
            };
            self.write(&org, entry, Words::default());
        }
        let (line, _) = &self.waiting[0];
        EnrolRequest {
            token: token.to_owned(),
            key: self.key.public(),
            keep: KeyKept::Soft,
            line: String::from_utf8(line.bytes().to_vec()).unwrap(),
            sig: line.signature(),
        }
    }

    pub(crate) async fn enrol(&self, request: &EnrolRequest) -> EnrolReply {
        let body = serde_json::to_vec(request).unwrap();
        let answer = self.signed(Method::POST, "/enrol", body).await;
        assert_eq!(answer.status(), StatusCode::OK);
        answer.json().await.unwrap()
    }

    /// Polls until the desk has said yes.
    pub(crate) async fn is_in(&mut self, token: &str) {
        let answer = self.signed(Method::GET, &format!("/enrol/{token}"), Vec::new()).await;
        let reply: EnrolReply = answer.json().await.unwrap();
        let EnrolReply::In(member) = reply else { panic!("the phone is in: {reply:?}") };
        for key in &member.server_keys {
            self.known.insert(key.device(), *key);
        }
        self.member = Some(*member);
    }

    pub(crate) fn request(&self) -> Request {
        let member = self.member.as_ref().expect("the phone is in");
        Request {
            v: phone::sync::VERSION,
            t0: self.now_ms,
            head: self.head.clone(),
            lines: self.waiting.iter().map(|(_, sent)| sent.clone()).collect(),
            watches: member
                .watches
                .iter()
                .map(|w| WatchFrom { watch: w.clone(), from: 0, log: None })
                .collect(),
        }
    }

    /// One conversation; the reply is checked as a phone checks it, and lines with a receipt are let go.
    pub(crate) async fn sync(&mut self) -> ReadReply {
        let body = serde_json::to_vec(&self.request()).unwrap();
        let answer = self.signed(Method::POST, "/sync", body).await;
        let status = answer.status();
        assert_eq!(status, StatusCode::OK, "{}", answer.text().await.unwrap_or_default());
        let reply: Reply = answer.json().await.unwrap();
        self.read(&reply)
    }

    pub(crate) fn read(&mut self, reply: &Reply) -> ReadReply {
        let pinned: Vec<Vkey> = vec![self.member.as_ref().unwrap().log_key.clone()];
        let own =
            |id: LineId| self.waiting.iter().map(|(line, _)| line).find(|line| line.id() == id);
        let read =
            reply.read(self.head.as_ref(), &pinned, &self.known, own).expect("a reply to believe");
        self.head = Some(read.head.quoted());
        if let Some(next) = &read.next_key {
            self.member.as_mut().unwrap().log_key = next.clone();
        }
        let got: Vec<LineId> = read
            .outcomes
            .iter()
            .filter(|outcome| matches!(outcome.is, Is::Received | Is::Again))
            .map(|outcome| outcome.id)
            .collect();
        self.waiting.retain(|(line, _)| !got.contains(&line.id()));
        read
    }

    /// The last line written, as it was signed.
    pub(crate) fn last(&self) -> SignedLine {
        let (line, _) = self.waiting.last().unwrap();
        SignedLine { bytes: line.bytes().to_vec(), signature: line.signature() }
    }
}

impl Phone {
    /// As [`Phone::signed`], for a server that may be gone.
    pub(crate) async fn try_signed(&self, path: &str, body: Vec<u8>) -> Option<Response> {
        let note = RequestNote::new(self.key.device(), path, &body, self.now_ms);
        let signature = self.key.sign(note.text().as_bytes());
        self.client
            .post(format!("{}{path}", self.url))
            .header(DEVICE_HEADER, note.text())
            .header(SIGNATURE_HEADER, signature.to_string())
            .header("content-type", "application/json")
            .body(body)
            .send()
            .await
            .ok()
    }
}
