//! What a camera reads from codes: links, codes of stops and of pages, lines of another phone. One code a row, shown
//! one after another to a phone of the first version that is on duty.

use crate::{Target, seeds, text};
use ledger::{DeviceKey, SignedLine};
use phone::stored::Stored;
use phone::sync::SentLine;
use phone::{Effect, Event, Lang, Model, Moment, Page, Parcel, Tap, What};
use sheet::SheetCode;
use std::sync::LazyLock;

pub(crate) const TARGET: Target = Target {
    name: "scan",
    says: "a code of a page comes back from its text; whatever codes a phone is shown, it has a screen",
    reads,
    seeds: good,
    longest: 8 * 1024,
};

fn good() -> Vec<Vec<u8>> {
    let key = DeviceKey::from_seed([1; 32]);
    let sent = |bytes: Vec<u8>| {
        let signed = SignedLine { signature: key.sign(&bytes), bytes };
        SentLine::of(&signed, None)
    };
    let lines = seeds::vectors("lines.jsonl", "line").into_iter();
    let lines: Vec<SentLine> =
        lines.filter(|line| std::str::from_utf8(line).is_ok()).take(3).map(sent).collect();
    let codes = phone::cut(key.public(), &lines).join("\n").into_bytes();
    let packed = Parcel::new(key.public(), lines).pack();
    let others = [
        "https://gannet.example/phone/#enrol=t-1",
        "https://gannet.example/t/floor-1",
        "RWS1/A/W-GANNET-HOTEL/1/3/C0FFEE/-360/29512920/900/28/300.640.115.70/FLOOR_1+:0A1B2C/00000000",
        "RWP2/later",
    ];
    let mut good: Vec<Vec<u8>> = others.iter().map(|text| text.as_bytes().to_vec()).collect();
    good.extend([codes, packed]);
    good
}

fn reads(bytes: &[u8]) {
    if let Ok(parcel) = Parcel::open(bytes) {
        assert_eq!(Parcel::open(&parcel.pack()).as_ref(), Ok(&parcel), "a parcel comes back");
    }
    let text = &*text(bytes);
    for code in [text.to_owned(), summed(text)] {
        if let Ok(code) = SheetCode::parse(&code) {
            // Long ids are told by digest, so it is the text that comes back.
            let again = SheetCode::parse(&code.text()).map(|again| again.text());
            assert_eq!(again, Ok(code.text()), "a code comes back");
            if let Some(grid) = &code.grid {
                let _ = (grid.boxes().count(), grid.window_ms(grid.rows.into()));
            }
        }
    }
    let mut model = Model::new("fuzz", "boot-1", Lang::En);
    happen(&mut model, What::Loaded(Box::new(KEPT.clone())));
    let (before, gathering) = text.split_once("\n\n").unwrap_or(("", text));
    before.lines().take(20).for_each(|code| happen(&mut model, What::Scanned(code.to_owned())));
    happen(&mut model, What::Did(Tap::Open(Page::Gather)));
    gathering.lines().take(20).for_each(|code| happen(&mut model, What::Scanned(code.to_owned())));
    let _ = phone::view(&model);
}

/// Lets something happen; a parcel is opened as the browser would.
fn happen(model: &mut Model, what: What) {
    let at = Moment {
        wall_ms: 1_798_747_206_000,
        mono_ms: 6_000,
        tz_min: 60,
        site_tz_min: None,
        random: [7; 16],
    };
    for effect in phone::update(Event { at, what }, model) {
        if let Effect::OpenParcel { packed } = effect {
            let opened = What::ParcelOpened(Parcel::open(&packed));
            let _ = phone::update(Event { at, what: opened }, model);
        }
    }
}

/// What the phone has kept.
static KEPT: LazyLock<Stored> = LazyLock::new(|| {
    let kept = seeds::kept_phone();
    let notes = kept["notes"].as_object().cloned().unwrap_or_default();
    let notes =
        notes.into_iter().filter_map(|(name, text)| Some((name, text.as_str()?.to_owned())));
    Stored {
        device: phone::parse(kept["device"].to_string()).ok(),
        notes: notes.collect(),
        ..Stored::default()
    }
});

/// A code with the checksum that its text should have: none but a printer of ours finds it by chance.
fn summed(text: &str) -> String {
    let text = text.to_ascii_lowercase().replace('*', "_");
    let before = text.rsplit_once('/').map_or(text.as_str(), |(before, _)| before);
    format!("{before}/{:08x}", crc32fast::hash(before.as_bytes()))
}
