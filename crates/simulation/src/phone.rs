//! A scripted phone: its own key and chains, the conversation of `phone::sync`, every reply checked.

use anyhow::{Context, Result, bail, ensure};
use ledger::{Auth, Clk, DeviceKey, HeadRef, LineId, PersonId, PublicKey, Verified, Vkey, WatchId};
use phone::sync::{
    DEVICE_HEADER, EnrolReply, EnrolRequest, Is, Member, Reply, Request, RequestNote,
    SIGNATURE_HEADER, SentLine, WatchFrom,
};
use record::{Draft, Enrolled, Entry, KeyKept, Place, Role, Words};
use reqwest::{Client, Method, Response};
use std::collections::BTreeMap;

/// A phone that a program carries.
pub struct Phone {
    url: String,
    client: Client,
    key: DeviceKey,
    places: BTreeMap<WatchId, Place>,
    waiting: Vec<(Verified<ledger::Line>, SentLine)>,
    member: Option<Member>,
    head: Option<HeadRef>,
    known: ledger::order::Map<ledger::DeviceId, PublicKey>,
    salt: u64,
    /// Its clock, ms UTC.
    pub now_ms: i64,
    /// Without signal it keeps what it writes.
    pub signal: bool,
}

impl Phone {
    /// A phone with a throw-away key from a seed.
    pub fn new(url: &str, seed: u64, now_ms: i64) -> Phone {
        let mut secret = [7; 32];
        secret[..8].copy_from_slice(&seed.to_be_bytes());
        Phone {
            url: url.to_owned(),
            client: crate::web_client::client(),
            key: DeviceKey::from_seed(secret),
            places: BTreeMap::new(),
            waiting: Vec::new(),
            member: None,
            head: None,
            known: ledger::order::Map::new(),
            salt: seed << 32,
            now_ms,
            signal: true,
        }
    }

    /// Lines that wait for a receipt.
    pub fn waiting(&self) -> usize {
        self.waiting.len()
    }

    /// Writes a line.
    pub fn write(
        &mut self,
        watch: &WatchId,
        entry: impl Into<Entry>,
        words: Words,
    ) -> Result<LineId> {
        self.salt += 1;
        let mut salt = [0; 16];
        salt[..8].copy_from_slice(&self.salt.to_be_bytes());
        let who = match &self.member {
            Some(member) => member.person.id.clone(),
            None => PersonId::new("nobody").expect("a plain id"),
        };
        let draft = Draft {
            who,
            auth: Auth::Device,
            clk: Clk {
                wall: self.now_ms,
                mono: self.now_ms,
                boot: "b-simulated".into(),
                off: Some(0),
                err: Some(40),
                age: Some(0),
                tz: 0,
            },
            head: self.head.clone(),
            app: concat!("simulation ", env!("CARGO_PKG_VERSION")).into(),
            entry: entry.into(),
            words,
            salt,
        };
        let start = Place::start(self.key.device(), watch.clone());
        let place = self.places.entry(watch.clone()).or_insert(start);
        let (line, private) = draft.line(place)?;
        let signed = line.sign(&self.key)?;
        let line = Verified::check(signed.clone(), &self.key.public())?;
        *place = place.after(line.id());
        let private =
            private.map(|p| p.to_bytes()).transpose()?.map(String::from_utf8).transpose()?;
        let id = line.id();
        self.waiting.push((line, SentLine::of(&signed, private)));
        Ok(id)
    }

    /// Asks to be let in and returns the six digits to read aloud.
    pub async fn ask_in(&mut self, token: &str) -> Result<String> {
        let entry = Enrolled {
            device: self.key.device(),
            key: self.key.public(),
            keep: KeyKept::Soft,
            role: Role::Guard,
            person: None,
            token: None,
            by: None,
        };
        self.write(&WatchId::org(), entry, Words::default())?;
        let (line, _) = &self.waiting[0];
        let request = EnrolRequest {
            token: token.to_owned(),
            key: self.key.public(),
            keep: KeyKept::Soft,
            line: String::from_utf8(line.bytes().to_vec())?,
            sig: line.signature(),
        };
        let body = serde_json::to_vec(&request)?;
        match self.signed(Method::POST, "/enrol", body).await?.json().await? {
            EnrolReply::Waiting { code } => Ok(code),
            other => bail!("the desk should be asked first: {other:?}"),
        }
    }

    /// Asks whether the desk has said yes.
    pub async fn is_in(&mut self, token: &str) -> Result<()> {
        let answer = self.signed(Method::GET, &format!("/enrol/{token}"), Vec::new()).await?;
        let EnrolReply::In(member) = answer.json().await? else { bail!("the phone is not let in") };
        for key in &member.server_keys {
            self.known.insert(key.device(), *key);
        }
        self.member = Some(*member);
        Ok(())
    }

    /// One conversation, if there is signal; what has a receipt is let go.
    pub async fn sync(&mut self) -> Result<()> {
        if !self.signal {
            return Ok(());
        }
        let member = self.member.as_ref().context("the phone is not let in yet")?;
        let request = Request {
            v: phone::sync::VERSION,
            t0: self.now_ms,
            head: self.head.clone(),
            lines: self.waiting.iter().map(|(_, sent)| sent.clone()).collect(),
            watches: member
                .watches
                .iter()
                .map(|watch| WatchFrom { watch: watch.clone(), from: 0, log: None })
                .collect(),
        };
        let pinned: Vec<Vkey> = vec![member.log_key.clone()];
        let answer = self.signed(Method::POST, "/sync", serde_json::to_vec(&request)?).await?;
        ensure!(answer.status().is_success(), "sync: {}", answer.status());
        let reply: Reply = answer.json().await?;
        let own =
            |id: LineId| self.waiting.iter().map(|(line, _)| line).find(|line| line.id() == id);
        let read = reply.read(self.head.as_ref(), &pinned, &self.known, own).map_err(|fault| {
            anyhow::anyhow!("a reply that a phone would not believe: {fault:?}")
        })?;
        self.head = Some(read.head.quoted());
        if let (Some(next), Some(member)) = (&read.next_key, &mut self.member) {
            member.log_key = next.clone();
        }
        let sealed: Vec<LineId> = read
            .outcomes
            .iter()
            .filter(|outcome| matches!(outcome.is, Is::Received | Is::Again))
            .map(|outcome| outcome.id)
            .collect();
        self.waiting.retain(|(line, _)| !sealed.contains(&line.id()));
        Ok(())
    }

    async fn signed(&self, method: Method, path: &str, body: Vec<u8>) -> Result<Response> {
        let note = RequestNote::new(self.key.device(), path, &body, self.now_ms);
        let signature = self.key.sign(note.text().as_bytes());
        Ok(self
            .client
            .request(method, format!("{}{path}", self.url))
            .header(DEVICE_HEADER, note.text())
            .header(SIGNATURE_HEADER, signature.to_string())
            .header("content-type", "application/json")
            .body(body)
            .send()
            .await?)
    }
}
