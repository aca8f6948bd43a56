//! What a watch says of its lines: which are held and count, in which order, with which words, and what changed since.

use night::Record;
use record::Entry;
use watch::{Changed, Held, Watch};

fn record(night: &str) -> Record {
    night::tell(night).unwrap_or_else(|fault| panic!("{fault}"))
}

const NIGHT: &str = "watch: 20:00 to 23:00
     people: Ines, Omar
     gap hall: 60 min
     gap attic: 60 min
     phone of Omar: offline 20:15 to 21:30
     20:00 Ines begins
     20:00 Omar begins
     20:10 Ines sees hall
     20:20 Omar sees attic
     20:30 Ines finds exits in hall: Door chained
     20:40 Ines sees hall
     20:41 Ines takes back the last line
     20:50 Ines sees hall
     20:51 Ines corrects the time of the last line as of 20:45
     21:00 Omar sees attic
     21:40 Ines sees attic
     22:59 Omar ends and signs
     23:00 Ines ends and signs";

#[test]
fn every_line_is_held_once_and_found_by_its_id() {
    let record = record(NIGHT);
    let mut watch = Watch::new(record.watch.clone());
    assert_eq!((watch.len(), watch.is_empty(), watch.id()), (0, true, &record.watch));
    for (place, line) in record.lines.iter().enumerate() {
        let before = watch.revision();
        assert!(watch.add(line.held()));
        assert_eq!((watch.len(), watch.is_empty()), (place + 1, false));
        assert!(watch.revision() > before);
    }
    let before = watch.revision();
    assert!(!watch.add(record.lines[0].held()), "held already");
    assert_eq!(watch.len(), record.lines.len());
    assert!(watch.revision() > before, "its words or its seal may have been new");
    for line in &record.lines {
        let id = line.line.id();
        let kept = watch.line(id).expect("a held line");
        assert_eq!((kept.id, kept.seq), (id, line.line.seq));
        assert_eq!(
            watch.sealing(id).map(|sealing| sealing.index),
            line.held().sealing.map(|sealing| sealing.index)
        );
        assert_eq!(watch.words(id), line.held().words.as_ref());
        assert!(watch.effective(id).is_some());
    }
    // Four of five looks count, and the observation is one.
    assert_eq!(watch.looks(), 6);
    let times: Vec<i64> =
        watch.lines().map(|kept| watch.effective(kept.id).expect("it is held").at_ms).collect();
    assert!(times.is_sorted());
    assert_eq!(times.len(), record.lines.len());
}

#[test]
fn lines_of_another_watch_are_refused() {
    let record = record(NIGHT);
    let mut other = Watch::new(ledger::WatchId::new("w-other").unwrap());
    let before = other.revision();
    assert!(!other.add(record.lines[0].held()));
    assert!(other.is_empty());
    assert_eq!(other.revision(), before);
}

/// Words may come after their line; once they are there nothing replaces them.
#[test]
fn words_come_later_and_stay() {
    let record = record(NIGHT);
    let with_words = record
        .lines
        .iter()
        .find(|line| line.held().words.is_some_and(|words| words != record::Words::default()));
    let held = with_words.expect("somebody's name is a private word").held();
    let id = held.line.id();
    let mut watch = Watch::new(record.watch.clone());
    watch.add(Held { words: None, ..held.clone() });
    assert_eq!(watch.words(id), None);
    watch.add(held.clone());
    assert_eq!(watch.words(id), held.words.as_ref());
    watch.add(Held { words: Some(record::Words::default()), ..held.clone() });
    watch.add(Held { words: None, ..held.clone() });
    assert_eq!(watch.words(id), held.words.as_ref());
}

/// The lower leaf counts, whichever is told first.
#[test]
fn a_line_sealed_twice_has_its_first_seal() {
    let record = record(NIGHT);
    let held = record.lines[3].held();
    let sealing = held.sealing.expect("a told line is sealed");
    let later = watch::Sealing { index: sealing.index + 7, ..sealing };
    for seals in [[sealing, later], [later, sealing]] {
        let mut watch = Watch::new(record.watch.clone());
        watch.add(Held { sealing: None, ..held.clone() });
        let before = watch.revision();
        seals.iter().for_each(|sealing| watch.seal(held.line.id(), *sealing));
        assert!(watch.revision() > before);
        assert_eq!(watch.sealing(held.line.id()), Some(&sealing));
    }
}

/// The server counted each chain: what came in after that is not in the watch as it was counted.
#[test]
fn a_watch_as_it_was_counted() {
    let record = record(&format!("{NIGHT}\n23:30 the desk notes: Archive closed"));
    let watch = record.folded();
    let counts: Vec<_> =
        watch.lines().filter(|kept| matches!(kept.said, Entry::SealedChains(_))).collect();
    let by = counts.last().expect("the server counts after the last event");
    let counted = watch.as_counted(by.id).expect("it is held");
    let Entry::SealedChains(body) = &by.said else { unreachable!() };
    let mut of_chains: u64 =
        body.chains.iter().filter(|end| end.dev != by.dev).map(|end| end.count).sum();
    of_chains += by.seq + 1;
    assert_eq!(counted.len() as u64, of_chains);
    assert!(counted.line(by.id).is_some());
    assert!(watch.as_counted(record.lines[1].line.id()).is_none(), "no count");
    let mut without = Watch::new(record.watch.clone());
    record.lines.iter().take(3).for_each(|line| {
        without.add(line.held());
    });
    assert!(without.as_counted(by.id).is_none(), "not held");
}

/// What a report of the stretch from 20:00 to 21:00 did not know: the looks that were still on Omar's phone, and what Ines corrected.
#[test]
fn what_changed_since_a_report() {
    let record = record(NIGHT);
    let watch = record.folded();
    let opened = watch.about(record.end_ms).opening.expect("a night opens").from_ms;
    let minute = |n: i64| opened + n * 60_000;
    let mut early = Watch::new(record.watch.clone());
    for line in &record.lines {
        let held = line.held();
        // Known at 20:41:30: received by then, or by the phone at once.
        if held.sealing.is_some_and(|sealing| sealing.rx_ms < minute(41) - 30_000) {
            early.add(held);
        }
    }
    let changes = |from: i64, until: i64| -> Vec<(i64, String, Changed)> {
        let changes = watch.changes_since(&early, minute(from), minute(until));
        let shown = changes.into_iter().map(|change| {
            let kept = watch.line(change.line).expect("a held line");
            let effective = watch.effective(change.line).expect("a held line");
            ((effective.at_ms - opened) / 60_000, kept.said.kind().to_owned(), change.how)
        });
        shown.collect()
    };
    assert_eq!(
        changes(0, 60),
        [
            (20, "seen".to_owned(), Changed::Added),
            (40, "seen".to_owned(), Changed::TakenBack),
            (45, "seen".to_owned(), Changed::Added),
            (60, "seen".to_owned(), Changed::Added),
        ]
    );
    assert_eq!(changes(0, 19), []);
    assert_eq!(changes(20, 20), [(20, "seen".to_owned(), Changed::Added)]);
    assert_eq!(changes(46, 59), []);
    // Nothing differs from itself.
    assert_eq!(watch.changes_since(&watch, minute(0), minute(180)), []);
}
