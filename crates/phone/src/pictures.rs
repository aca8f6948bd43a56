//! Photos and signatures that are still on this phone: what each is, why it waits, and its way out.

use crate::effect::Effect;
use crate::kept::Kept;
use crate::model::{Effects, Model};
use ledger::Digest;
use ledger::order::{self, Map};
use record::Entry;

/// A photo or signature that waits here.
#[derive(Debug)]
pub(crate) struct Picture<'a> {
    pub(crate) blob: Digest,
    /// Its length, bytes.
    pub(crate) len: u64,
    pub(crate) why: Why,
    /// The line that names it, with what it states; none for a permit that is still being read.
    pub(crate) line: Option<(&'a Kept, Entry)>,
}

/// Why it is still here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Why {
    /// It is being sent.
    Going,
    /// Others go first.
    Turn,
    /// Nobody answers.
    NoNetwork,
    /// The desk answered and has not got it.
    NotTaken,
}

/// All of them, oldest line first.
pub(crate) fn waiting(model: &Model) -> Vec<Picture<'_>> {
    if model.unsent_blobs().next().is_none() {
        return Vec::new();
    }
    let mut naming = naming(model);
    let mut pictures: Vec<Picture<'_>> = model
        .unsent_blobs()
        .map(|stored| Picture {
            blob: stored.blob,
            len: stored.len,
            why: model.syncing.why(&stored.blob),
            line: naming.remove(&stored.blob),
        })
        .collect();
    order::sort_by_key(&mut pictures, |picture| {
        let line = picture.line.as_ref().map(|(kept, _)| kept.line.clk.recorded_ms());
        (line.unwrap_or(i64::MAX), picture.blob)
    });
    pictures
}

fn naming(model: &Model) -> Map<Digest, (&Kept, Entry)> {
    let may_name = |kept: &&Kept| {
        matches!(kept.line.kind.as_str(), "photo" | "shift_ended" | "hot_work_permitted")
    };
    let lines = model.lines.values().filter(may_name).filter_map(|kept| {
        let entry = Entry::of(&kept.line).ok()?;
        Some((blob_of(&entry)?, (kept, entry)))
    });
    Map::from_iter(lines)
}

/// The photo or signature that a line names.
pub(crate) fn blob_of(entry: &Entry) -> Option<Digest> {
    match entry {
        Entry::Photo(photo) => Some(photo.blob),
        Entry::ShiftEnded(ended) => ended.signature,
        Entry::HotWorkPermitted(permit) => permit.blob,
        _ => None,
    }
}

/// Hands one over as a file, under the name by which lines and bundles know it.
pub(crate) fn offer(model: &Model, blob: Digest, effects: &mut Effects) {
    let Some(stored) = model.blobs.get(&blob) else { return };
    let ending = match stored.mime.as_str() {
        "image/jpeg" => ".jpg",
        "image/png" => ".png",
        "image/webp" => ".webp",
        _ => "",
    };
    let (mime, name) = (stored.mime.clone(), format!("{blob}{ending}"));
    effects.push(Effect::OfferPicture { blob, mime, name });
}
