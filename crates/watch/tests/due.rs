//! What is due next: asked of the watch alone, of its state, and of many watches at once.

use ledger::WatchId;
use proptest::prelude::*;
use std::path::Path;
use watch::{Deadlines, State, Watch};

const MIN: i64 = 60_000;

fn told(night: &str) -> (Watch, State) {
    let record = night::tell(night).unwrap_or_else(|fault| panic!("{fault}"));
    let watch = record.folded();
    let state = watch.about(record.end_ms);
    (watch, state)
}

/// Zone, minutes after 20:00 from which it counts and by which it is due, and the gap in minutes.
fn next(watch: &Watch, state: &State, minute: i64) -> Option<(String, i64, i64, u32)> {
    let start_ms = state.opening.as_ref().expect("a night opens").from_ms;
    let due = watch.next_due(start_ms + minute * MIN)?;
    let minutes = |ms: i64| (ms - start_ms) / MIN;
    Some((due.zone.to_string(), minutes(due.since_ms), minutes(due.due_ms), due.allowed_s / 60))
}

fn at(zone: &str, since: i64, due: i64, gap: u32) -> Option<(String, i64, i64, u32)> {
    Some((zone.to_owned(), since, due, gap))
}

/// The desk asks each watch alone, a thousand times a minute; the phone folds the night. As long as no emergency stops the
/// rounds both say the same, to the minute, at every minute of every shared night.
#[test]
fn the_watch_alone_says_what_its_state_says() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/nights");
    let mut compared = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let (watch, whole) = told(&std::fs::read_to_string(&path).unwrap());
        let Some(opening) = &whole.opening else { continue };
        for minute in (-5..12 * 60).step_by(7) {
            let now_ms = opening.from_ms + minute * MIN;
            let state = watch.about(now_ms);
            if state.emergencies.iter().any(|emergency| emergency.rounds_stopped.is_some()) {
                continue;
            }
            assert_eq!(
                watch.next_due(now_ms),
                state.due.first().cloned(),
                "{} {minute}",
                path.display()
            );
            for due in &state.due {
                assert_eq!(watch.due(&due.zone, now_ms).as_ref(), Some(due));
            }
            compared += state.due.len();
        }
    }
    assert!(compared > 500, "{compared}");
}

/// Nothing is due before the watch begins or before anybody is on duty; then from the later of the two.
#[test]
fn due_from_the_beginning_and_the_first_guard() {
    let (watch, state) = told(
        "watch: 20:00 to 23:00
         gap hall: 30 min
         19:50 the desk plans Ines from 20:00 to 23:00
         20:05 Ines begins
         20:20 Ines sees hall
         23:00 Ines ends and signs",
    );
    assert_eq!(next(&watch, &state, -1), None);
    assert_eq!(next(&watch, &state, 0), at("hall", 0, 30, 30));
    assert_eq!(next(&watch, &state, 4), at("hall", 0, 30, 30));
    assert_eq!(next(&watch, &state, 5), at("hall", 5, 35, 30));
    assert_eq!(next(&watch, &state, 19), at("hall", 5, 35, 30));
    assert_eq!(next(&watch, &state, 20), at("hall", 20, 50, 30));
}

/// Who came before the beginning owes nothing earlier, and a look from before it does not count.
#[test]
fn nothing_before_the_beginning_counts() {
    let (watch, state) = told(
        "watch: 20:00 to 23:00
         gap hall: 30 min
         19:40 Ines begins
         19:50 Ines sees hall
         20:40 Ines sees hall",
    );
    assert_eq!(next(&watch, &state, 10), at("hall", 0, 30, 30));
    assert_eq!(next(&watch, &state, 40), at("hall", 40, 70, 30));
}

/// A planned end ends nothing while somebody still walks, whoever else has gone; a release ends all at its own instant.
#[test]
fn due_until_the_last_guard_or_the_release() {
    let (watch, state) = told(
        "watch: 20:00 to 21:00
         gap hall: 30 min
         20:00 Ines begins
         20:00 Omar begins
         20:40 Ines ends and signs
         20:50 Omar sees hall
         21:10 Omar ends and signs",
    );
    assert_eq!(next(&watch, &state, 59), at("hall", 50, 80, 30));
    assert_eq!(next(&watch, &state, 60), at("hall", 50, 80, 30));
    assert_eq!(next(&watch, &state, 69), at("hall", 50, 80, 30));
    assert_eq!(next(&watch, &state, 70), None);

    let (watch, state) = told(
        "watch: 20:00 to 23:00
         gap hall: 30 min
         20:00 Ines begins
         20:20 Ines sees hall
         20:40 Ines ends and signs
         21:10 the desk releases the watch by authority in writing",
    );
    // Nobody is there, and it goes on.
    assert_eq!(next(&watch, &state, 69), at("hall", 20, 50, 30));
    assert_eq!(next(&watch, &state, 70), None);
}

/// Relief keeps the watch going: the one who took over is on duty, the one who was relieved is not.
#[test]
fn due_over_a_relief() {
    let (watch, state) = told(
        "watch: 20:00 to 21:00
         gap hall: 30 min
         20:00 Ines begins
         20:30 Omar relieves Ines
         20:50 Omar sees hall
         21:10 Omar ends and signs",
    );
    assert_eq!(next(&watch, &state, 69), at("hall", 50, 80, 30));
    assert_eq!(next(&watch, &state, 70), None);
}

/// An order tightens at once and never loosens; new terms take it up. The zone with the earliest instant is next, of two with
/// the same the first by name.
#[test]
fn an_order_tightens_and_new_terms_replace_it() {
    let (watch, state) = told(
        "watch: 20:00 to 23:00
         gap hall: 40 min
         gap attic: 60 min
         20:00 Ines begins
         20:10 Ines sees hall
         20:10 Ines sees attic
         20:20 the desk receives an order of authority, gap of hall 15 min
         20:25 the desk receives an order of client, gap of hall 30 min
         20:26 the desk receives an order of client, gap of attic 25 min
         20:34 Ines sees hall
         20:45 the desk sets the gap of hall to 45 min",
    );
    assert_eq!(next(&watch, &state, 19), at("hall", 10, 50, 40));
    assert_eq!(next(&watch, &state, 20), at("hall", 10, 35, 15));
    assert_eq!(next(&watch, &state, 25), at("hall", 10, 35, 15));
    assert_eq!(next(&watch, &state, 34), at("hall", 34, 49, 15));
    // The new terms know the hall's 45 minutes and the attic's 60.
    assert_eq!(next(&watch, &state, 45), at("attic", 10, 70, 60));
    let (watch, state) = told(
        "watch: 20:00
         gap hall: 30 min
         gap attic: 30 min
         20:00 Ines begins",
    );
    assert_eq!(next(&watch, &state, 1), at("attic", 0, 30, 30));
}

/// A look that was taken back sets nothing off, nor do terms or a shift's end of a line that no longer counts.
#[test]
fn what_was_taken_back_counts_no_more() {
    let (watch, state) = told(
        "watch: 20:00 to 23:00
         gap hall: 30 min
         20:00 Ines begins
         20:10 Ines sees hall
         20:20 Ines sees hall
         20:21 Ines takes back the last line",
    );
    assert_eq!(watch.looks(), 1);
    assert_eq!(next(&watch, &state, 25), at("hall", 10, 40, 30));
}

/// A clock that runs ahead makes no look younger than its receipt.
#[test]
fn a_look_from_the_future_counts_from_its_receipt() {
    let (watch, state) = told(
        "watch: 20:00 to 23:00
         gap hall: 30 min
         20:00 Ines begins
         20:10 Ines sees hall
         20:11 Ines corrects the time of the last line as of 20:40
         21:00 Ines notes: All quiet",
    );
    assert_eq!(next(&watch, &state, 10), at("hall", 10, 40, 30));
    assert_eq!(next(&watch, &state, 30), at("hall", 10, 40, 30));
}

proptest! {
    /// Against a list that is searched from end to end.
    #[test]
    fn many_deadlines_are_a_sorted_list(told in prop::collection::vec((0u8..12, prop::option::of(0i64..40)), 0..60), now_ms in 0i64..40) {
        let mut deadlines = Deadlines::default();
        let mut list: Vec<(WatchId, i64)> = Vec::new();
        prop_assert!(deadlines.is_empty());
        for (n, due_ms) in told {
            let watch = WatchId::new(format!("w-{n:02}")).unwrap();
            deadlines.set(&watch, due_ms);
            list.retain(|(known, _)| *known != watch);
            list.extend(due_ms.map(|due_ms| (watch, due_ms)));
        }
        list.sort_by(|a, b| (a.1, &a.0).cmp(&(b.1, &b.0)));
        prop_assert_eq!(deadlines.len(), list.len());
        prop_assert_eq!(deadlines.is_empty(), list.is_empty());
        let first = list.first().map(|(watch, due_ms)| (*due_ms, watch));
        prop_assert_eq!(deadlines.first(), first);
        let due: Vec<(i64, &WatchId)> = deadlines.due_by(now_ms).collect();
        let expected: Vec<(i64, &WatchId)> =
            list.iter().filter(|(_, due_ms)| *due_ms <= now_ms).map(|(watch, due_ms)| (*due_ms, watch)).collect();
        prop_assert_eq!(due, expected);
    }
}
