//! What people said during a night and no rule counts stays in the state all the same: each line of the story beside what is kept
//! of it. Instants are minutes from 20:00.

use record::DemandFrom;

const MIN: i64 = 60_000;

const STORY: &str = "watch: 20:00 to 23:00
     gap hall: 30 min
     20:00 Ines begins
     20:01 Ines reads the notice
     20:02 Ines checks the kit without radio
     20:03 Ines tries the call in hall
     20:05 Ines sees hall
     20:10 the desk receives order 114 of authority, gap of hall 15 min
     20:18 Ines sees hall
     20:40 Ines notes: a door stands open
     21:00 Ines offers relief to Omar
     21:05 Omar relieves Ines
     23:00 Omar ends and signs";

#[test]
fn orders_notes_and_what_a_shift_did_are_kept() {
    let record = night::tell(STORY).unwrap_or_else(|fault| panic!("{fault}"));
    let state = record.folded().about(record.end_ms);
    let began_ms = state.cover.from_ms.unwrap();
    let minute = |at_ms: i64| (at_ms - began_ms) / MIN;

    let orders: Vec<_> = state.orders.iter().map(|o| (o.from, o.number.as_deref())).collect();
    assert_eq!(orders, [(DemandFrom::Authority, Some("114"))]);
    assert_eq!(state.orders[0].gaps_s.values().collect::<Vec<_>>(), [&900]);

    let hall = state.zones.iter().find(|zone| zone.id.as_str() == "hall").unwrap();
    let due: Vec<_> = hall
        .gaps
        .iter()
        .map(|gap| (minute(gap.from_ms), gap.due_ms.map(minute)))
        .filter(|(from, _)| *from >= 18)
        .collect();
    assert_eq!(due.first(), Some(&(18, Some(33))), "the order's quarter of an hour");

    let notes: Vec<_> = state.notes.iter().map(|note| minute(note.written.when.at_ms)).collect();
    assert_eq!(notes, [40]);

    let first = state.shifts.iter().find(|shift| minute(shift.from_ms) == 0).unwrap();
    assert!(first.notice_read.is_some(), "the notice was read");
    assert_eq!(first.equipment.values().filter(|there| !**there).count(), 1);
    assert!(first.equipment.values().any(|there| *there));
    let tried: Vec<_> = first.call_tried.iter().map(|zone| zone.as_str()).collect();
    assert_eq!(tried, ["hall"]);
    assert_eq!(first.relief_offered.as_ref().map(|w| minute(w.when.at_ms)), Some(60));
}
