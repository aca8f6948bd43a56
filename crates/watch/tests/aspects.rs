//! What a night folds into, aspect by aspect: each story beside what it must come to. Instants are
//! minutes from 20:00, when every watch here begins.

use record::{ImpairmentStep, Party, RestorationStep, System};
use watch::{HoleWhy, State};

const MIN: i64 = 60_000;

/// The state of a watch that begins at 20:00, at the end of its night.
fn told(story: &str) -> State {
    at(story, None)
}

/// The same some minutes after 20:00.
fn at(story: &str, minute: Option<i64>) -> State {
    let record = night::tell(story).unwrap_or_else(|fault| panic!("{fault}"));
    let watch = record.folded();
    let whole = watch.about(record.end_ms);
    match minute {
        Some(minute) => watch.about(whole.cover.from_ms.unwrap() + minute * MIN),
        None => whole,
    }
}

fn minute(state: &State, at_ms: i64) -> i64 {
    (at_ms - state.cover.from_ms.unwrap()) / MIN
}

/// The hall's gaps: from, to, due.
fn gaps(state: &State) -> Vec<(i64, i64, Option<i64>)> {
    let hall = state.zones.iter().find(|zone| zone.id.as_str() == "hall").unwrap();
    let minutes = |gap: &watch::Gap| {
        (
            minute(state, gap.from_ms),
            minute(state, gap.to_ms),
            gap.due_ms.map(|ms| minute(state, ms)),
        )
    };
    hall.gaps.iter().map(minutes).collect()
}

#[test]
fn an_outage_stated_twice_is_one_and_a_later_one_another() {
    let state = told(
        "watch: 20:00 to 23:00
         out: fire-alarm
         gap hall: 3 h
         19:50 the desk notifies the owner by phone of fire-alarm
         20:00 Ines begins
         20:05 the desk finds out that fire-alarm is out since 19:40, expected back 21:30
         20:06 the desk finds out that sprinkler is out since 20:06
         20:10 the desk notifies the fire-service by phone of fire-alarm
         21:00 the desk restores fire-alarm with tested
         21:10 the desk restores fire-alarm with tag-removed
         21:20 the desk notifies the insurer by phone of the end of fire-alarm
         22:00 the desk finds out that fire-alarm is out since 21:50
         23:00 Ines ends and signs",
    );
    let shown: Vec<_> = state
        .impairments
        .iter()
        .map(|one| {
            let until = one.until_ms.map(|ms| minute(&state, ms));
            (one.system, minute(&state, one.from_ms), until, one.told.len(), one.planned)
        })
        .collect();
    assert_eq!(
        shown,
        [
            (System::FireAlarm, -20, Some(60), 3, Some(false)),
            (System::Sprinkler, 6, None, 0, Some(false)),
            (System::FireAlarm, 110, None, 0, Some(false)),
        ]
    );
    let first = &state.impairments[0];
    assert_eq!(first.expected_ms.map(|ms| minute(&state, ms)), Some(90));
    assert_eq!(first.restored.as_ref().map(|line| minute(&state, line.when.at_ms)), Some(60));
    let steps: Vec<_> = first.restoration.iter().copied().collect();
    assert_eq!(steps, [RestorationStep::Tested, RestorationStep::TagRemoved]);
    // The fire service and the owner were told: advice to the owner is another step than telling.
    assert!(first.steps.is_empty());
    assert!(state.steps_of(first).into_iter().eq([ImpairmentStep::FireServiceTold]));
    assert!(state.steps_of(&state.impairments[1]).is_empty(), "only its end was told");
    assert!(state.impairments[2].restoration.is_empty());
    let parties: Vec<_> = state.notifications.iter().map(|n| (n.party, n.restored)).collect();
    assert_eq!(
        parties,
        [(Party::Owner, false), (Party::FireService, false), (Party::Insurer, true)]
    );
}

/// Work that goes on after its last spark, or after its sign-off, has neither until the next one.
#[test]
fn work_that_goes_on_begins_its_tail_anew() {
    let story = "watch: 20:00 to 23:59
         gap hall: 4 h
         20:00 Ines begins
         20:05 Ines reads a permit for hall, watch 60 min, looks 30 min every 15 min
         20:10 Ines notes hot work in hall
         20:30 Ines sees the last spark
         20:40 Ines closes the hot work
         20:45 Ines notes that the work goes on
         21:00 Ines sees the last spark
         22:05 Ines looks back, not clear
         22:10 Ines stops the work";
    let tail = |state: &State| {
        let work = &state.hot_work[0];
        let ends = [work.watch_until_ms, work.looks_until_ms];
        (work.closed.is_some(), ends.map(|ms| ms.map(|ms| minute(state, ms))))
    };
    assert_eq!(tail(&at(story, Some(41))), (true, [Some(90), Some(120)]));
    assert_eq!(tail(&at(story, Some(50))), (false, [None, None]));
    let state = told(story);
    assert_eq!(tail(&state), (false, [Some(120), Some(150)]));
    let work = &state.hot_work[0];
    assert_eq!(work.zone.as_ref().map(|zone| zone.as_str()), Some("hall"));
    assert_eq!(work.looked_back.iter().map(|look| look.clear).collect::<Vec<_>>(), [false]);
    assert_eq!(work.stopped.as_ref().map(|line| minute(&state, line.when.at_ms)), Some(130));
}

#[test]
fn a_break_leaves_a_hole_unless_somebody_covers_it() {
    let state = told(
        "watch: 20:00 to 23:00
         people: Ines, Omar
         gap hall: 3 h
         20:05 Ines begins
         20:20 Ines takes a break
         20:30 Ines ends the break
         20:40 Omar begins
         21:00 Ines takes a break, covered by Omar
         21:10 Ines ends the break
         21:30 Omar ends and signs
         22:00 Ines ends and signs
         22:30 Omar begins",
    );
    let holes: Vec<_> = state
        .cover
        .holes
        .iter()
        .map(|hole| (minute(&state, hole.from_ms), minute(&state, hole.until_ms), hole.why))
        .collect();
    assert_eq!(
        holes,
        [(0, 5, HoleWhy::NotBegun), (20, 30, HoleWhy::Break), (120, 150, HoleWhy::NoRelief)]
    );
    let lines: Vec<_> = state.cover.holes.iter().map(|hole| hole.lines.len()).collect();
    assert_eq!(lines, [1, 1, 2], "what begins and ends each");
    let stretches: Vec<_> = state
        .cover
        .stretches
        .iter()
        .map(|s| (minute(&state, s.from_ms), minute(&state, s.until_ms), s.guards.len()))
        .collect();
    assert_eq!(
        stretches,
        [
            (5, 20, 1),
            (30, 40, 1),
            (40, 60, 2),
            (60, 70, 1),
            (70, 90, 2),
            (90, 120, 1),
            (150, minute(&state, state.about_ms), 1)
        ]
    );
}

#[test]
fn a_relief_hands_over_what_is_open_and_ages_it() {
    let state = told(
        "watch: 20:00 to 23:59
         people: Ines, Omar, Ana
         gap hall: 4 h
         20:00 Ines begins until 22:00
         20:10 Ines finds exits in hall: Chained
         20:12 Ines asks: Cut it?
         20:13 the desk answers: Yes
         20:13 the desk answers: With the cutter
         20:14 Ines does cleared
         20:30 Ines finds rubbish in hall: Chute
         20:31 Ines closes rubbish with cleared
         21:00 Ines offers relief to Omar
         21:01 Omar relieves Ines
         21:05 Ines ends and signs
         22:00 Ana relieves Omar
         22:00 the desk plans Omar from 23:00 to 23:30",
    );
    let open = &state.observations[0];
    assert_eq!((open.reliefs, open.actions.len()), (2, 1));
    assert_eq!(
        minute(&state, state.cover.from_ms.unwrap() + open.open_ms),
        minute(&state, state.about_ms) - 10
    );
    let closed = &state.observations[1];
    assert_eq!((closed.reliefs, closed.open_ms, closed.closed.is_some()), (0, MIN, true));
    assert_eq!(state.questions[0].answers.len(), 2);
    let shown: Vec<_> = state
        .shifts
        .iter()
        .map(|shift| {
            let until = shift.until_ms.map(|ms| minute(&state, ms));
            let by = shift.relieved_by.as_ref().map(|who| who.as_str());
            (shift.who.as_str(), minute(&state, shift.from_ms), until, by, shift.ended.is_some())
        })
        .collect();
    assert_eq!(
        shown,
        [
            ("p-ines", 0, Some(61), Some("p-omar"), true),
            ("p-omar", 61, Some(120), Some("p-ana"), false),
            ("p-ana", 120, None, None, false),
        ]
    );
    assert_eq!(state.shifts[0].until_signed_ms().map(|ms| minute(&state, ms)), Some(65));
    assert_eq!(state.shifts[0].planned_until_ms.map(|ms| minute(&state, ms)), Some(120));
    let on_duty: Vec<_> = state.on_duty.iter().map(|duty| duty.who.as_str()).collect();
    assert_eq!(on_duty, ["p-ana"]);
    assert_eq!(state.scheduled.len(), 1);
}

#[test]
fn an_emergency_stops_the_clock_and_a_drill_does_not() {
    let story = |real: &str| {
        format!(
            "watch: 20:00 to 23:00
             gap hall: 30 min
             20:00 Ines begins
             20:10 Ines sees hall
             20:12 Ines opens the card
             {real}
             20:20 Ines calls the fire service
             20:50 Ines sees the engine
             20:55 Ines says it is over
             21:05 Ines sees hall"
        )
    };
    let state = told(&story("20:13 Ines notes: Smoke"));
    assert_eq!(gaps(&state)[1], (10, 65, Some(70)));
    assert!(state.is_held() && state.emergency().is_none());
    assert_eq!(state.emergencies.len(), 1);
    let during = at(&story("20:13 Ines notes: Smoke"), Some(30));
    assert!(during.due[0].stopped && during.emergency().is_some());
    assert_eq!(minute(&during, during.due[0].due_ms), 50, "ten minutes were stopped up to now");
}

#[test]
fn what_is_corrected_or_taken_back() {
    let story = "watch: 20:00 to 22:00
         gap hall: 30 min
         gap attic: 60 min
         20:00 Ines begins
         20:10 Ines sees hall
         20:20 Ines sees attic
         20:21 Ines corrects the last line to hall
         20:40 Ines sees hall
         20:41 Ines takes back the last line
         20:50 Ines sees hall
         20:55 Ines cannot reach attic-1, locked";
    let state = told(story);
    let hall: Vec<_> = gaps(&state).iter().map(|(from, to, _)| (*from, *to)).collect();
    assert_eq!(hall[..3], [(0, 10), (10, 20), (20, 50)]);
    assert_eq!((state.corrections.len(), state.taken_back.len()), (2, 1));
    let hall = state.zones.iter().find(|zone| zone.id.as_str() == "hall").unwrap();
    assert_eq!(hall.taken_back.len(), 1);
    let marks: Vec<_> =
        hall.looks.iter().map(|look| (look.marks.corrected, look.marks.late_entered)).collect();
    assert_eq!(marks, [(false, false), (true, false), (false, false)]);
    let attic = state.zones.iter().find(|zone| zone.id.as_str() == "attic").unwrap();
    assert_eq!((attic.looks.len(), attic.refused.len()), (0, 1), "a refused stop is no look");
}

#[test]
fn paper_is_to_be_collected_until_sheets_are_handed_over() {
    let story = "watch: 20:00 to 22:00
         gap hall: 60 min
         20:00 Ines begins
         20:10 the desk allows paper, phone-dead
         21:30 the desk hands over 2 sheets
         21:40 the desk types from paper of Ines, 20:30 hall
         21:45 the desk hears by telephone from Ines, 21:20 hall";
    let before = at(story, Some(60));
    assert!(before.paper.to_collect().is_some());
    let state = told(story);
    assert!(state.paper.to_collect().is_none());
    assert_eq!((state.paper.handed_over[0].sheets, state.paper.typed.len()), (2, 1));
    let hall = &state.zones[0];
    let marks: Vec<_> =
        hall.looks.iter().map(|look| (look.marks.paper, look.marks.phoned_in)).collect();
    assert_eq!(marks, [(true, false), (false, true)]);
}

#[test]
fn a_hold_stands_until_that_hold_is_lifted() {
    let story = "watch: 20:00 to 22:00
         gap hall: 60 min
         20:00 Ines begins
         20:10 the desk sets a hold
         20:20 the desk alerts, late in hall
         20:21 the desk takes the alert
         20:30 the desk lifts the hold";
    assert!(at(story, Some(15)).is_held());
    let state = told(story);
    assert!(!state.is_held());
    assert_eq!(state.holds.len(), 1);
    assert_eq!(state.alerts.iter().filter(|alert| alert.acknowledged.is_some()).count(), 1);
}

/// A planned end alone ends nothing while a guard still walks; the release does.
#[test]
fn the_watch_is_over_when_nobody_walks_any_more_or_at_the_release() {
    let story = "watch: 20:00 to 21:00
         gap hall: 30 min
         20:00 Ines begins
         20:10 Ines sees hall
         21:05 Ines sees hall
         21:10 Ines ends and signs
         21:20 the desk notes: Quiet";
    let walking = at(story, Some(66));
    assert_eq!((walking.due.len(), minute(&walking, walking.cover.until_ms)), (1, 66));
    let state = told(story);
    assert_eq!((state.due.len(), minute(&state, state.cover.until_ms)), (0, 60));
    assert_eq!(gaps(&state).last(), Some(&(10, 60, Some(40))));

    let released = told(
        "watch: 20:00 to 23:00
         gap hall: 30 min
         20:00 Ines begins
         20:10 Ines sees hall
         20:30 the desk releases the watch by authority in writing
         20:40 Ines ends and signs",
    );
    assert_eq!((released.due.len(), minute(&released, released.cover.until_ms)), (0, 30));
    assert_eq!(released.day_ms(1).map(|(_, until_ms)| minute(&released, until_ms)), Some(30));
    assert_eq!(released.day_ms(2), None);
}

/// A covered break puts the one who covers in the place of the one who is away: two where both have a shift are one person, and
/// who is on a break covers nobody.
#[test]
fn who_covers_a_break_is_one_person() {
    let state = told(
        "watch: 20:00 to 23:00
         people: Ines, Omar, Jon
         people at least: 2
         gap hall: 3 h
         20:00 Ines begins
         20:00 Omar begins
         20:10 Ines takes a break, covered by Omar
         20:20 Ines ends the break
         20:30 Ines takes a break, covered by Jon
         20:40 Ines ends the break
         20:50 Omar takes a break
         21:00 Ines takes a break, covered by Omar
         21:10 Ines ends the break
         21:20 Omar ends the break
         23:00 Ines ends and signs
         23:00 Omar ends and signs",
    );
    let stretches: Vec<_> = state
        .cover
        .stretches
        .iter()
        .map(|piece| {
            let guards: Vec<&str> = piece.guards.iter().map(|who| who.as_str()).collect();
            (minute(&state, piece.from_ms), minute(&state, piece.until_ms), guards.join(" "))
        })
        .collect();
    let piece = |from: i64, until: i64, who: &str| (from, until, who.to_owned());
    assert_eq!(
        stretches,
        [
            piece(0, 10, "p-ines p-omar"),
            piece(10, 20, "p-omar"),
            piece(20, 30, "p-ines p-omar"),
            piece(30, 40, "p-jon p-omar"),
            piece(40, 50, "p-ines p-omar"),
            piece(50, 60, "p-ines"),
            piece(70, 80, "p-ines"),
            piece(80, 180, "p-ines p-omar"),
        ]
    );
    let holes: Vec<_> = state
        .cover
        .holes
        .iter()
        .map(|hole| {
            (minute(&state, hole.from_ms), minute(&state, hole.until_ms), hole.people, hole.why)
        })
        .collect();
    assert_eq!(
        holes,
        [
            (10, 20, 1, HoleWhy::Break),
            (50, 60, 1, HoleWhy::Break),
            (60, 70, 0, HoleWhy::Break),
            (70, 80, 1, HoleWhy::Break),
        ]
    );
}
