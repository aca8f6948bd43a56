//! A phone without a browser: the model, a disk that can be full or lost, a radio that can be off,
//! drop an answer or bring it twice, and a battery that can die between any two steps.

use crate::desk::Desk;
use ledger::{DeviceKey, Digest, LineId};
use phone::stored::{Name, Put, Stored, StoredBlob, StoredDevice, StoredLine, StoredTip};
use phone::{
    Body, CardRecord, Effect, Event, KeyKept, Lang, Method, Model, Moment, Purpose, Reminder,
    SaveFault, Tap, View, What, update, view,
};
use std::collections::{BTreeMap, VecDeque};

/// What outlives the program.
#[derive(Clone, Default)]
pub struct Disk {
    pub device: Option<StoredDevice>,
    seed: Option<[u8; 32]>,
    notes: BTreeMap<&'static str, String>,
    pub lines: BTreeMap<LineId, StoredLine>,
    tips: BTreeMap<String, StoredTip>,
    blobs: BTreeMap<Digest, StoredBlob>,
    documents: BTreeMap<Digest, Vec<u8>>,
    pub contents: BTreeMap<Digest, Vec<u8>>,
    pub full: bool,
}

impl Disk {
    /// As a file: what the browser keeps, store by store.
    pub fn to_json(&self) -> serde_json::Value {
        let text = |bytes: &Vec<u8>| String::from_utf8(bytes.clone()).expect("documents are JSON");
        serde_json::json!({
            "device": self.device,
            "seed": self.seed,
            "notes": self.notes,
            "lines": self.lines.values().collect::<Vec<_>>(),
            "tips": self.tips.values().collect::<Vec<_>>(),
            "blobs": self.blobs.values().collect::<Vec<_>>(),
            "documents": self.documents.values().map(text).collect::<Vec<_>>(),
        })
    }

    /// From such a file.
    pub fn of_json(kept: &serde_json::Value) -> Disk {
        let list = |name: &str| kept[name].as_array().cloned().unwrap_or_default();
        let mut disk = Disk {
            device: serde_json::from_value(kept["device"].clone()).unwrap(),
            seed: serde_json::from_value(kept["seed"].clone()).unwrap(),
            ..Disk::default()
        };
        for name in Name::ALL {
            if let Some(note) = kept["notes"][name.key()].as_str() {
                disk.notes.insert(name.key(), note.to_owned());
            }
        }
        for line in list("lines") {
            let line: StoredLine = phone::parse(line.to_string()).unwrap();
            disk.lines.insert(line.id, line);
        }
        for tip in list("tips") {
            let tip: StoredTip = phone::parse(tip.to_string()).unwrap();
            disk.tips.insert(format!("{} {}", tip.dev, tip.watch), tip);
        }
        for document in list("documents") {
            let bytes = document.as_str().unwrap().as_bytes().to_vec();
            disk.documents.insert(Digest::of(&bytes), bytes);
        }
        disk
    }
}

/// How the radio behaves.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Radio {
    On,
    Off,
    /// The server hears, the phone does not.
    DropsAnswers,
    /// Every answer comes twice.
    Twice,
    /// Half of every answer comes.
    CutsAnswers,
}

pub struct Handset {
    pub model: Model,
    pub disk: Disk,
    pub radio: Radio,
    pub wall_ms: i64,
    pub mono_ms: i64,
    /// Phone minus true time, ms.
    pub clock_off_ms: i64,
    /// The phone's local time minus UTC, minutes.
    pub tz_min: i64,
    /// The same at the site, where the phone can tell.
    pub site_tz_min: Option<i64>,
    pub card: Option<CardRecord>,
    pub card_opened: u32,
    pub reminders: Vec<Reminder>,
    pub forgotten: u64,
    seed: u8,
    starts: u32,
    events: u64,
    /// Effects carried out so far; the power fails when this reaches `dies_at`.
    pub steps: u64,
    pub dies_at: Option<u64>,
    pub dead: bool,
    /// How many lines each question to the desk brought along.
    pub brought: Vec<usize>,
    /// How often the browser was asked for what.
    pub asked: BTreeMap<&'static str, u64>,
    /// What the reader of sheets answers.
    pub reader: Option<String>,
    /// Pictures that were handed over as files, by their names.
    pub handed_over: BTreeMap<String, Vec<u8>>,
}

impl Handset {
    pub fn new(seed: u8, now_ms: i64) -> Handset {
        let mut handset = Handset {
            model: Model::new("test", "boot-0", Lang::En),
            disk: Disk::default(),
            radio: Radio::On,
            wall_ms: now_ms,
            mono_ms: 0,
            clock_off_ms: 0,
            tz_min: -360,
            site_tz_min: None,
            card: None,
            card_opened: 0,
            reminders: Vec::new(),
            forgotten: 0,
            seed,
            starts: 0,
            events: 0,
            steps: 0,
            dies_at: None,
            dead: false,
            brought: Vec::new(),
            asked: BTreeMap::new(),
            reader: None,
            handed_over: BTreeMap::new(),
        };
        handset.wall_ms = now_ms;
        handset
    }

    /// Starts the program anew from what is on the disk.
    pub fn start(&mut self, desk: &mut Desk) {
        self.starts += 1;
        self.dead = false;
        self.dies_at = None;
        self.mono_ms = 0;
        self.model = Model::new("test", &format!("boot-{}", self.starts), Lang::En);
        let stored = self.read();
        self.happen(desk, What::Loaded(Box::new(stored)));
    }

    pub fn read(&self) -> Stored {
        let notes = self.disk.notes.iter().map(|(k, v)| ((*k).to_owned(), v.clone())).collect();
        Stored {
            device: self.disk.device.clone(),
            notes,
            lines: self.disk.lines.values().cloned().collect(),
            tips: self.disk.tips.values().cloned().collect(),
            blobs: self.disk.blobs.values().cloned().collect(),
            documents: self.disk.documents.values().cloned().collect(),
        }
    }

    fn moment(&mut self) -> Moment {
        self.events += 1;
        let mut random = [self.seed; 16];
        random[8..].copy_from_slice(&self.events.to_be_bytes());
        random[7] = self.starts as u8;
        Moment {
            wall_ms: self.wall_ms + self.clock_off_ms,
            mono_ms: self.mono_ms,
            tz_min: self.tz_min,
            site_tz_min: self.site_tz_min,
            random,
        }
    }

    pub fn tap(&mut self, desk: &mut Desk, tap: Tap) {
        self.happen(desk, What::Did(tap));
    }

    /// Lets something happen and everything that follows from it.
    pub fn happen(&mut self, desk: &mut Desk, what: What) {
        let mut events = VecDeque::from([what]);
        while let Some(what) = events.pop_front() {
            if self.dead {
                return;
            }
            let at = self.moment();
            for effect in update(Event { at, what }, &mut self.model) {
                if self.dies_at.is_some_and(|dies_at| self.steps >= dies_at) {
                    self.dead = true;
                    return;
                }
                self.steps += 1;
                *self.asked.entry(called(&effect)).or_default() += 1;
                events.extend(self.carry_out(desk, effect));
            }
        }
    }

    /// Time goes by, with a tick of the screen at its end.
    pub fn wait_s(&mut self, desk: &mut Desk, seconds: i64) {
        self.wall_ms += seconds * 1000;
        self.mono_ms += seconds * 1000;
        self.happen(desk, What::Tick);
    }

    /// Ticks until nothing more is under way.
    pub fn settle(&mut self, desk: &mut Desk) {
        (0..40).for_each(|_| self.wait_s(desk, 11));
    }

    pub fn view(&self) -> View {
        view(&self.model)
    }

    fn carry_out(&mut self, desk: &mut Desk, effect: Effect) -> Vec<What> {
        match effect {
            Effect::MakeKey => {
                let mut seed = [self.seed; 32];
                seed[0] = self.starts as u8;
                let key = DeviceKey::from_seed(seed).public();
                let keep = KeyKept::Soft;
                self.disk.seed = Some(seed);
                self.disk.device = Some(StoredDevice { key, keep });
                vec![What::KeyMade { key, keep }]
            }
            Effect::Sign { ticket, bytes } => {
                vec![What::Signed { ticket, signature: self.key().sign(&bytes) }]
            }
            Effect::Save { ticket, guard, puts } => vec![self.save(ticket, guard, puts)],
            Effect::Load => vec![What::Loaded(Box::new(self.read()))],
            Effect::Send { ticket, method, path, body, note } => {
                self.send(desk, ticket, method, &path, body, &note)
            }
            Effect::MirrorCard(card) => {
                self.card = Some(*card);
                Vec::new()
            }
            Effect::OpenCard => {
                self.card_opened += 1;
                Vec::new()
            }
            Effect::ForgetStamps { upto } => {
                self.forgotten = upto;
                Vec::new()
            }
            Effect::Remind(how) => {
                self.reminders.push(how);
                Vec::new()
            }
            Effect::ReadSheet { blob, .. } => {
                vec![What::SheetRead { blob, json: self.reader.clone() }]
            }
            Effect::CutPieces { key, lines } => vec![What::PiecesCut(phone::cut(key, &lines))],
            Effect::OpenParcel { packed } => {
                vec![What::ParcelOpened(phone::Parcel::open(&packed))]
            }
            Effect::WatchPosition
            | Effect::ReadTag
            | Effect::PersistStorage
            | Effect::TakeUpdate
            | Effect::OfferFile { .. } => Vec::new(),
            Effect::OfferPicture { blob, name, .. } => {
                self.handed_over.insert(name, self.disk.contents[&blob].clone());
                Vec::new()
            }
        }
    }

    fn key(&self) -> DeviceKey {
        DeviceKey::from_seed(self.disk.seed.expect("a key was made"))
    }

    fn save(&mut self, ticket: u64, guard: Option<phone::effect::Guard>, puts: Vec<Put>) -> What {
        if self.disk.full {
            return What::SaveFailed { ticket, why: SaveFault::Full };
        }
        if let Some(guard) = guard {
            let tip = self.disk.tips.get(&format!("{} {}", guard.dev, guard.watch));
            let (count, last) = tip.map_or_else(Default::default, |tip| (tip.count, tip.last));
            if (count, last) != (guard.count, guard.last) {
                return What::SaveFailed { ticket, why: SaveFault::Moved };
            }
        }
        for put in puts {
            match put {
                Put::Line(line) => {
                    self.disk.lines.insert(line.id, *line);
                }
                Put::Tip(tip) => {
                    self.disk.tips.insert(format!("{} {}", tip.dev, tip.watch), tip);
                }
                Put::Note { name, json: Some(json) } => {
                    self.disk.notes.insert(Name::key(name), json);
                }
                Put::Note { name, json: None } => {
                    self.disk.notes.remove(Name::key(name));
                }
                Put::Blob(blob) => {
                    self.disk.blobs.insert(blob.blob, blob);
                }
                Put::Document { blob, bytes } => {
                    self.disk.documents.insert(blob, bytes);
                }
                Put::ForgetBlob(blob) => {
                    self.disk.blobs.remove(&blob);
                    self.disk.contents.remove(&blob);
                }
                Put::ForgetLine(line) => {
                    self.disk.lines.remove(&line);
                }
            }
        }
        What::Saved { ticket }
    }

    fn send(
        &mut self,
        desk: &mut Desk,
        ticket: u64,
        method: Method,
        path: &str,
        body: Body,
        note: &str,
    ) -> Vec<What> {
        if let ("/sync", Body::Text(text)) = (path, &body) {
            let request: phone::sync::Request = phone::parse(text).expect("a request");
            self.brought.push(request.lines.len());
        }
        if self.radio == Radio::Off {
            return vec![What::NoAnswer { ticket }];
        }
        let signature = self.key().sign(note.as_bytes());
        let bytes = match body {
            Body::Empty => Vec::new(),
            Body::Text(text) => text.into_bytes(),
            Body::Blob(blob) => self.disk.contents[&blob].clone(),
        };
        let method = match method {
            Method::Get => "GET",
            Method::Post => "POST",
            Method::Put => "PUT",
        };
        let now_ms = self.wall_ms;
        let (status, body) = desk.answer(method, path, &bytes, note, &signature, now_ms);
        match self.radio {
            Radio::DropsAnswers => vec![What::NoAnswer { ticket }],
            Radio::CutsAnswers => {
                let body = body[..body.len() / 2].to_vec();
                vec![What::Answer { ticket, status, body }]
            }
            Radio::Twice => vec![
                What::Answer { ticket, status, body: body.clone() },
                What::Answer { ticket, status, body },
            ],
            _ => vec![What::Answer { ticket, status, body }],
        }
    }

    /// A small thing on the disk becomes unreadable.
    pub fn spoil(&mut self, name: Name) {
        self.disk.notes.insert(Name::key(name), "{\"half".to_owned());
    }

    /// Where the own chains end.
    pub fn disk_tips(&self) -> Vec<StoredTip> {
        self.disk.tips.values().cloned().collect()
    }

    /// A photo was taken: its bytes lie on the disk before anything is said of it.
    pub fn photo(&mut self, desk: &mut Desk, bytes: &[u8], purpose: Purpose) -> Digest {
        let blob = Digest::of(bytes);
        self.disk.contents.insert(blob, bytes.to_vec());
        let (len, mime) = (bytes.len() as u64, "image/jpeg".to_owned());
        self.happen(desk, What::BlobKept { purpose, blob, len, mime });
        blob
    }
}

fn called(effect: &Effect) -> &'static str {
    match effect {
        Effect::Sign { .. } => "signatures",
        Effect::Save { .. } => "transactions",
        Effect::Send { .. } => "requests",
        Effect::MirrorCard(_) => "cards mirrored",
        Effect::Remind(_) => "reminders",
        _ => "other things",
    }
}
