//! The law of the fold on whole nights: any order of lines and seals, equal bytes.

use night::Record;
use proptest::prelude::*;
use std::path::Path;
use std::sync::OnceLock;
use watch::{Held, Sealing, Watch};

fn nights() -> &'static [(String, Record)] {
    static NIGHTS: OnceLock<Vec<(String, Record)>> = OnceLock::new();
    NIGHTS.get_or_init(|| {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/nights");
        let mut files: Vec<_> =
            std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        files.sort();
        let tell = |path: &Path| {
            let text = std::fs::read_to_string(path).unwrap();
            (path.display().to_string(), night::tell(&text).unwrap())
        };
        files.iter().map(|path| tell(path)).collect()
    })
}

/// Each line without its seal, and the seal.
fn held(record: &Record) -> Vec<(Held, Sealing)> {
    let apart = |held: Held| {
        let sealing = held.sealing.expect("a told line is sealed");
        (Held { sealing: None, ..held }, sealing)
    };
    record.lines.iter().map(|line| apart(line.held())).collect()
}

fn bytes(watch: &Watch, about_ms: i64) -> Vec<u8> {
    serde_json::to_vec(&watch.about(about_ms)).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn every_order_of_a_night_gives_equal_bytes(
        place in 0usize..64,
        keys in prop::collection::vec(any::<u64>(), 256),
        early_seals in any::<bool>(),
    ) {
        let (name, record) = &nights()[place % nights().len()];
        let mut lines = held(record);
        let mut order: Vec<usize> = (0..lines.len()).collect();
        order.sort_by_key(|place| keys[place % keys.len()].rotate_left(*place as u32));
        let mut watch = Watch::new(record.watch.clone());
        if early_seals {
            lines.iter().for_each(|(held, sealing)| watch.seal(held.line.id(), *sealing));
        }
        for place in order {
            let (held, sealing) = lines[place].clone();
            let sealing = (place % 3 == 0).then_some(sealing);
            watch.add(Held { sealing, ..held });
        }
        lines.reverse();
        lines.iter().for_each(|(held, sealing)| watch.seal(held.line.id(), *sealing));
        let end_ms = record.end_ms;
        for about_ms in [end_ms, end_ms - 3_600_000, end_ms - 2 * 3_600_000] {
            prop_assert_eq!(bytes(&record.folded(), about_ms), bytes(&watch, about_ms), "{}", name);
        }
    }
}

#[test]
fn what_was_known_at_an_earlier_head_does_not_change_later() {
    for (name, record) in nights() {
        let size = record.tree.size() / 2;
        let mut early = Watch::new(record.watch.clone());
        for (held, sealing) in held(record).into_iter().filter(|(_, s)| s.index < size) {
            early.add(Held { sealing: Some(sealing), ..held });
        }
        let then = record.folded().as_known(size);
        assert_eq!(bytes(&early, record.end_ms), bytes(&then, record.end_ms), "{name}");
    }
}
