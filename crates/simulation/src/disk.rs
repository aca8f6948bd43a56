//! A phone's storage: one strict transaction at a time, everything or nothing of it.

use ledger::{Digest, LineId};
use phone::effect::{Guard, Ticket};
use phone::stored::{Name, Put, Stored, StoredBlob, StoredDevice, StoredLine, StoredTip};
use phone::{SaveFault, What};
use std::collections::BTreeMap;

/// What outlives the program.
#[derive(Clone, Default)]
pub struct Disk {
    /// The device's key, once it was made.
    pub device: Option<StoredDevice>,
    /// Lines, own and others'.
    pub lines: BTreeMap<LineId, StoredLine>,
    /// The bytes of photos and signatures.
    pub contents: BTreeMap<Digest, Vec<u8>>,
    /// No space is left.
    pub full: bool,
    notes: BTreeMap<&'static str, String>,
    tips: BTreeMap<String, StoredTip>,
    blobs: BTreeMap<Digest, StoredBlob>,
    documents: BTreeMap<Digest, Vec<u8>>,
}

impl Disk {
    /// Everything, as the program reads it when it starts.
    pub fn read(&self) -> Stored {
        let notes = self.notes.iter().map(|(k, v)| ((*k).to_owned(), v.clone())).collect();
        Stored {
            device: self.device.clone(),
            notes,
            lines: self.lines.values().cloned().collect(),
            tips: self.tips.values().cloned().collect(),
            blobs: self.blobs.values().cloned().collect(),
            documents: self.documents.values().cloned().collect(),
        }
    }

    /// Keeps all of it, if the chain still ends where the guard says; else nothing.
    pub(crate) fn save(&mut self, ticket: Ticket, guard: Option<Guard>, puts: Vec<Put>) -> What {
        if self.full {
            return What::SaveFailed { ticket, why: SaveFault::Full };
        }
        if let Some(guard) = guard {
            let tip = self.tips.get(&format!("{} {}", guard.dev, guard.watch));
            let (count, last) = tip.map_or_else(Default::default, |tip| (tip.count, tip.last));
            if (count, last) != (guard.count, guard.last) {
                return What::SaveFailed { ticket, why: SaveFault::Moved };
            }
        }
        puts.into_iter().for_each(|put| self.put(put));
        What::Saved { ticket }
    }

    fn put(&mut self, put: Put) {
        match put {
            Put::Line(line) => {
                self.lines.insert(line.id, *line);
            }
            Put::Tip(tip) => {
                self.tips.insert(format!("{} {}", tip.dev, tip.watch), tip);
            }
            Put::Note { name, json: Some(json) } => {
                self.notes.insert(Name::key(name), json);
            }
            Put::Note { name, json: None } => {
                self.notes.remove(Name::key(name));
            }
            Put::Blob(blob) => {
                self.blobs.insert(blob.blob, blob);
            }
            Put::Document { blob, bytes } => {
                self.documents.insert(blob, bytes);
            }
            Put::ForgetBlob(blob) => {
                self.blobs.remove(&blob);
                self.contents.remove(&blob);
            }
            Put::ForgetLine(line) => {
                self.lines.remove(&line);
            }
        }
    }
}
