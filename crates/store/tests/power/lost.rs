//! Lost power at every moment of a script.
//!
//! Taken for granted: a file that was synced once is found in its folder again, one that was deleted is
//! not, and a write of 512
//! bytes at a multiple of 512 happens whole or not at all.

use crate::devices::ORIGIN;
use crate::script::{Promised, Script, options};
use crate::shim::{Call, recorder};
use std::collections::BTreeMap;
use std::path::Path;
use store::Store;

const STEPS: usize = 30;
const SECTOR: usize = 512;

/// What was promised once this many calls had been made, and the marks at that time.
struct Moment {
    calls: usize,
    promised: Promised,
    marks: BTreeMap<String, Vec<u8>>,
}

pub(crate) async fn run(images: u64, seed: u64) {
    let (calls, moments) = record().await;
    let mut random = Random(seed);
    let first = moments[0].calls;
    let places = (calls.len() - first) as u64;
    for image in 0..images {
        // All moments in turn when there are enough images, else by chance.
        let at = if images >= places { image % places } else { random.below(places) };
        let at = first + at as usize;
        let fate = Fate::ALL[random.below(Fate::ALL.len() as u64) as usize];
        let folder = tempfile::tempdir().unwrap();
        for (name, bytes) in image_at(&calls[..at], fate, &mut random) {
            std::fs::write(folder.path().join(name), bytes).unwrap();
        }
        let moment = moments.iter().rev().find(|moment| moment.calls <= at).unwrap();
        write_marks(folder.path(), &moment.marks);
        check(folder.path(), moment, &format!("seed {seed}, image {image}, call {at}, {fate:?}"))
            .await;
    }
    let promised = &moments.last().unwrap().promised;
    println!(
        "lost power: seed {seed}, {images} images of {places} moments, {} lines and {} heads: nothing lost",
        promised.lines.len(),
        promised.heads.len()
    );
    assert!(promised.lines.len() > 300 && promised.heads.len() > 2, "the script did too little");
}

async fn record() -> (Vec<Call>, Vec<Moment>) {
    let folder = tempfile::tempdir().unwrap();
    recorder().recording = true;
    let store = Store::open(&options(folder.path(), true)).await.unwrap();
    store.create_log(ORIGIN).await.unwrap();
    let (mut script, mut promised) = (Script::new(), Promised::default());
    let mut moments = Vec::new();
    let now = |promised: &Promised| Moment {
        calls: recorder().calls.len(),
        promised: promised.clone(),
        marks: read_marks(folder.path()),
    };
    moments.push(now(&promised));
    for _ in 0..STEPS {
        script.step(&store, &mut promised).await.unwrap();
        moments.push(now(&promised));
    }
    store.close().await;
    let mut recorder = recorder();
    recorder.recording = false;
    (std::mem::take(&mut recorder.calls), moments)
}

async fn check(folder: &Path, moment: &Moment, what: &str) {
    let store = Store::open(&options(folder, false)).await;
    let store = store.unwrap_or_else(|error| panic!("{what}: {error}"));
    moment.promised.check(&store, what).await;
    store.close().await;
}

/// What became of the writes since the last sync of their file.
#[derive(Debug, Clone, Copy)]
enum Fate {
    Dropped,
    Kept,
    Some,
    /// Some, and one of them only up to a sector.
    Torn,
}

impl Fate {
    const ALL: [Fate; 5] = [Fate::Dropped, Fate::Kept, Fate::Some, Fate::Some, Fate::Torn];
}

/// The files as the disk would have them after these calls.
fn image_at(calls: &[Call], fate: Fate, random: &mut Random) -> BTreeMap<String, Vec<u8>> {
    let mut files: BTreeMap<String, Vec<u8>> = BTreeMap::new();
    let mut pending: BTreeMap<String, Vec<Call>> = BTreeMap::new();
    for call in calls {
        match call {
            Call::Sync { file } => {
                let bytes = files.entry(file.clone()).or_default();
                for call in pending.remove(file).unwrap_or_default() {
                    apply(bytes, &call, usize::MAX);
                }
            }
            Call::Delete { file } => {
                files.remove(file);
                pending.remove(file);
            }
            Call::Write { file, .. } | Call::Truncate { file, .. } => {
                pending.entry(file.clone()).or_default().push(call.clone());
            }
        }
    }
    for (file, calls) in pending {
        let bytes = files.entry(file).or_default();
        let torn = random.below(calls.len() as u64) as usize;
        for (at, call) in calls.iter().enumerate() {
            let keeps = match fate {
                Fate::Dropped => 0,
                Fate::Kept => usize::MAX,
                Fate::Torn if at == torn => random.below(8) as usize * SECTOR,
                Fate::Some | Fate::Torn => [0, usize::MAX][random.below(2) as usize],
            };
            apply(bytes, call, keeps);
        }
    }
    files
}

/// Applies a call; of a write only the first `keeps` bytes.
fn apply(file: &mut Vec<u8>, call: &Call, keeps: usize) {
    match call {
        Call::Write { offset, bytes, .. } => {
            let bytes = &bytes[..bytes.len().min(keeps)];
            let (start, end) = (*offset as usize, *offset as usize + bytes.len());
            if bytes.is_empty() {
                return;
            }
            if file.len() < end {
                file.resize(end, 0);
            }
            file[start..end].copy_from_slice(bytes);
        }
        Call::Truncate { size, .. } if keeps > 0 => file.resize(*size as usize, 0),
        Call::Truncate { .. } | Call::Sync { .. } | Call::Delete { .. } => {}
    }
}

fn read_marks(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = std::fs::read_dir(folder.join("high-water")).unwrap().flatten();
    let read = |entry: std::fs::DirEntry| {
        let name = entry.file_name().into_string().unwrap();
        (name, std::fs::read(entry.path()).unwrap())
    };
    entries.map(read).collect()
}

fn write_marks(folder: &Path, marks: &BTreeMap<String, Vec<u8>>) {
    let folder = folder.join("high-water");
    std::fs::create_dir_all(&folder).unwrap();
    for (name, bytes) in marks {
        std::fs::write(folder.join(name), bytes).unwrap();
    }
}

/// SplitMix64 (Steele, Lea, Flood, OOPSLA 2014).
struct Random(u64);

impl Random {
    fn below(&mut self, end: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % end
    }
}
