//! A phone without a browser: the phone's own core, a disk, a radio and a clock that can all go wrong,
//! and the real server at the other end.

use crate::disk::Disk;
use anyhow::{Result, bail};
use ledger::{DeviceKey, Digest};
use phone::stored::StoredDevice;
use phone::sync::{DEVICE_HEADER, SIGNATURE_HEADER};
use phone::view::{Block, Control};
use phone::{
    Body, CardRecord, Effect, Event, KeyKept, Lang, Method, Model, Moment, Purpose, View, What,
    update, view,
};
use reqwest::Client;
use std::collections::VecDeque;

/// How the radio behaves.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Radio {
    /// Each request is answered.
    On,
    /// Nobody is heard.
    Off,
    /// The server hears, the phone does not.
    DropsAnswers,
}

/// Gives true time, ms UTC.
pub type TrueTime = Box<dyn Fn() -> i64 + Send + Sync>;

/// One phone.
pub struct Handset {
    /// What outlives the program.
    pub disk: Disk,
    /// How the radio behaves.
    pub radio: Radio,
    /// The wall clock's error: phone minus true time, ms.
    pub clock_off_ms: i64,
    /// The card as the static page would show it.
    pub card: Option<CardRecord>,
    /// How often the card was opened.
    pub card_opened: u32,
    /// Stamps that the card has kept so far.
    pub stamps: u64,
    /// True time, ms UTC, as the server has it: it goes on while an answer is awaited.
    true_ms: TrueTime,
    model: Model,
    client: Client,
    url: String,
    language: Lang,
    seed: u64,
    /// True time of the last start of the program.
    began_ms: i64,
    starts: u32,
    events: u64,
}

impl Handset {
    /// A phone fresh from its box, switched on, with a throw-away key drawn from the seed.
    pub async fn new(url: &str, seed: u64, language: Lang, true_ms: TrueTime) -> Result<Handset> {
        let began_ms = true_ms();
        let mut handset = Handset {
            disk: Disk::default(),
            radio: Radio::On,
            clock_off_ms: 0,
            card: None,
            card_opened: 0,
            stamps: 0,
            true_ms,
            model: Model::new("simulation", "boot-0", language),
            client: crate::web_client::client(),
            url: url.to_owned(),
            language,
            seed,
            began_ms,
            starts: 0,
            events: 0,
        };
        handset.start().await?;
        Ok(handset)
    }

    /// Starts the program anew from what is on the disk.
    pub async fn start(&mut self) -> Result<()> {
        self.starts += 1;
        self.began_ms = self.now_ms();
        let boot = format!("boot-{}-{}", self.seed, self.starts);
        self.model = Model::new("simulation", &boot, self.language);
        let stored = self.disk.read();
        self.happen(What::Loaded(Box::new(stored))).await
    }

    /// The server has moved to another address.
    pub fn moves_to(&mut self, url: &str) {
        url.clone_into(&mut self.url);
    }

    /// What is on the screen.
    pub fn view(&self) -> View {
        view(&self.model)
    }

    /// The control of this name on the screen, if it is there.
    pub fn control(&self, id: &str) -> Option<Control> {
        controls(&self.view()).into_iter().find(|control| control.id == id)
    }

    /// Touches a control on the screen, as a person would; an error names what is there instead.
    pub async fn touch(&mut self, id: &str) -> Result<()> {
        let Some(control) = self.control(id) else {
            let view = self.view();
            let ids: Vec<String> = controls(&view).into_iter().map(|control| control.id).collect();
            bail!("no control {id:?} on the screen {:?}, only {ids:?}", view.name);
        };
        self.tap(control.tap).await
    }

    /// Does what a touch would do.
    pub async fn tap(&mut self, tap: phone::Tap) -> Result<()> {
        self.happen(What::Did(tap)).await
    }

    /// Time has gone by: a tick of the screen.
    pub async fn tick(&mut self) -> Result<()> {
        self.happen(What::Tick).await
    }

    /// True time, ms UTC.
    pub fn now_ms(&self) -> i64 {
        (self.true_ms)()
    }

    /// A photo was taken: its bytes lie on the disk before anything is said of it.
    pub async fn photo(&mut self, bytes: &[u8], purpose: Purpose) -> Result<()> {
        let blob = Digest::of(bytes);
        self.disk.contents.insert(blob, bytes.to_vec());
        let (len, mime) = (bytes.len() as u64, "image/png".to_owned());
        self.happen(What::BlobKept { purpose, blob, len, mime }).await
    }

    /// Lets something happen and everything that follows from it.
    pub async fn happen(&mut self, what: What) -> Result<()> {
        let mut events = VecDeque::from([what]);
        while let Some(what) = events.pop_front() {
            let at = self.moment();
            for effect in update(Event { at, what }, &mut self.model) {
                events.extend(self.carry_out(effect).await?);
            }
        }
        Ok(())
    }

    fn moment(&mut self) -> Moment {
        self.events += 1;
        let mut random = [0; 16];
        random[..8].copy_from_slice(&self.seed.to_be_bytes());
        random[8..].copy_from_slice(&self.events.to_be_bytes());
        let now_ms = self.now_ms();
        Moment {
            wall_ms: now_ms + self.clock_off_ms,
            mono_ms: now_ms - self.began_ms,
            tz_min: 0,
            site_tz_min: None,
            random,
        }
    }

    async fn carry_out(&mut self, effect: Effect) -> Result<Option<What>> {
        Ok(match effect {
            Effect::MakeKey => {
                let keep = KeyKept::Soft;
                let key = self.key().public();
                self.disk.device = Some(StoredDevice { key, keep });
                Some(What::KeyMade { key, keep })
            }
            Effect::Sign { ticket, bytes } => {
                Some(What::Signed { ticket, signature: self.key().sign(&bytes) })
            }
            Effect::Save { ticket, guard, puts } => Some(self.disk.save(ticket, guard, puts)),
            Effect::Load => Some(What::Loaded(Box::new(self.disk.read()))),
            Effect::Send { ticket, method, path, body, note } => {
                Some(match self.send(method, &path, body, &note).await {
                    Some((status, body)) => What::Answer { ticket, status, body },
                    None => What::NoAnswer { ticket },
                })
            }
            Effect::MirrorCard(card) => {
                self.card = Some(*card);
                None
            }
            Effect::OpenCard => {
                self.card_opened += 1;
                None
            }
            // What only a browser has: nobody here looks at it.
            _ => None,
        })
    }

    fn key(&self) -> DeviceKey {
        let mut seed = [0; 32];
        seed[..8].copy_from_slice(&self.seed.to_be_bytes());
        DeviceKey::from_seed(seed)
    }

    /// None when nobody answers, whatever the reason.
    async fn send(
        &self,
        method: Method,
        path: &str,
        body: Body,
        note: &str,
    ) -> Option<(u16, Vec<u8>)> {
        if self.radio == Radio::Off {
            return None;
        }
        let method = match method {
            Method::Get => reqwest::Method::GET,
            Method::Post => reqwest::Method::POST,
            Method::Put => reqwest::Method::PUT,
        };
        let bytes = match body {
            Body::Empty => Vec::new(),
            Body::Text(text) => text.into_bytes(),
            Body::Blob(blob) => self.disk.contents.get(&blob).cloned().unwrap_or_default(),
        };
        let request = self
            .client
            .request(method, format!("{}{path}", self.url))
            .header(DEVICE_HEADER, note)
            .header(SIGNATURE_HEADER, self.key().sign(note.as_bytes()).to_string())
            .header("content-type", "application/json")
            .body(bytes);
        let answer = request.send().await.ok()?;
        let status = answer.status().as_u16();
        let body = answer.bytes().await.ok()?.to_vec();
        (self.radio == Radio::On).then_some((status, body))
    }
}

/// Every control of a screen, from top to bottom.
pub fn controls(view: &View) -> Vec<Control> {
    let mut all = Vec::new();
    for block in &view.blocks {
        match block {
            Block::Act(control) | Block::Said { control, .. } => all.push(control.clone()),
            Block::Row(controls) | Block::Choices { controls, .. } => all.extend(controls.clone()),
            _ => {}
        }
    }
    all
}
