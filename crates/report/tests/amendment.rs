//! A report that went out and what came in afterwards: the amendment lists it by itself.

#[expect(dead_code, reason = "the other papers ask more of the outside programs")]
mod outside;
mod told;

use outside::page_texts;
use report::sheets::NightSheet;
use report::{Amended, Copy, Folded, Issue, Kind, Nth, Request, Stretch, compose};
use told::fold;
use words::Lang;

/// The phone is without signal from 20:20 on; the desk sends the report of the watch at 21:35, as far as
/// it knows. At 23:00 the phone comes back, and somebody types a line from a notepad.
const LATE: &str = "\
site: Gannet Hotel, 3 Harbour Row, Gannet
id: w-amended
date: 2026-02-12
watch: 20:00 to 21:30
gap stair-b: 15 min
gap hall: 30 min
source: authority Order 26-118
people: Ines, Omar
first round: 15 min
phone of Ines: offline 20:20 to 23:00

20:00 Ines begins until 21:30
20:04 Ines sees stair-b
20:08 Ines sees hall
20:18 Ines sees stair-b
20:31 Ines sees hall
20:32 Ines sees stair-b
20:45 Ines sees stair-b
20:46 Ines finds fire-doors in stair-b: Door 7 wedged with a cart
20:47 Ines does cleared
20:58 Ines sees stair-b
21:00 Ines sees hall
21:11 Ines sees stair-b
21:24 Ines sees stair-b
21:25 Ines sees hall
21:30 Ines ends and signs
21:30 the desk releases the watch by the authority in writing
21:35 the desk sends report 1 of the watch, 20:00 to 21:30
23:10 the desk types from paper of Ines, 21:28 hall
23:20 the desk sends report 2 of the watch, 20:00 to 21:30
23:40 the desk types from paper of Ines, 21:29 stair-b
";

fn request(folded: &Folded, lang: Lang) -> Request<'_> {
    Request { copy: Copy::Client, lang, ..folded.whole() }
}

/// The amendment of a report that the record says went out.
fn amendment<T>(folded: &Folded, number: u32, lang: Lang, of: impl Fn(&Request<'_>) -> T) -> T {
    let about_ms = folded.last_rx_ms.expect("lines");
    let state = folded.watch.about(about_ms);
    let reported = |number| {
        let delivery = report::issued(&state, None, number).expect("it went out");
        delivery.report.clone().expect("what it rests on")
    };
    let before = reported(number);
    let watch = folded.watch.as_counted(before.counted).expect("the count is in the record");
    of(&Request {
        issue: Issue { number: number + 1, issued_ms: about_ms },
        amends: Some(Amended {
            watch: &watch,
            first_issued_ms: reported(1).issued_ms,
            issued_ms: before.issued_ms,
        }),
        ..request(folded, lang)
    })
}

#[test]
fn what_came_in_late_is_listed_with_both_times_and_page_one_says_it_first() {
    let folded = fold(LATE);
    let sheet = amendment(&folded, 1, Lang::En, compose);
    let changes = sheet.changes.as_ref().expect("an amendment");
    assert_eq!(changes.title, "Amendment 1 of the report of 12 February 2026, 21:35");
    let said = changes.rows.join("\n");
    for part in [
        // Eleven lines of the phone from 20:31 on, and two from the notepad.
        "13 lines came in since. They happened 12 February 2026, 20:31 to 21:30 and were received \
         12 February 2026, 23:00 to 23:40.",
        "Stair b: longest unseen now 14\u{a0}min, before",
        "The report before said: “",
    ] {
        assert!(said.contains(part), "{part:?} is not among the changes:\n{said}");
    }
    assert_eq!(sheet.changed.rows.len(), 13);
    let wedged = &sheet.changed.rows.iter().find(|row| row.what.words.join(" ").contains("wedged"));
    let wedged = wedged.expect("the finding of the phone");
    assert_eq!([&wedged.happened, &wedged.written, &wedged.received], ["20:46", "20:46", "23:00"]);
    assert_eq!(wedged.what.words, ["Door 7 wedged with a cart"]);
    assert_eq!(wedged.what.marks[0], "added");
    let typed = &sheet.changed.rows.iter().find(|row| row.happened == "21:28").expect("typed");
    assert_eq!([&typed.written, &typed.received], ["23:10", "23:10"]);
    assert!(typed.what.marks.iter().any(|mark| mark.starts_with("from paper")), "{typed:?}");

    let pdf = amendment(&folded, 1, Lang::En, |r| Kind::Night.to_pdf(r, "w").expect("a page"));
    let pages = page_texts(&pdf);
    let place = |text: &str| {
        pages[0].find(text).unwrap_or_else(|| panic!("{text:?} is not on page one: {}", pages[0]))
    };
    assert!(place("Amendment 1 of the report of 12 February 2026, 21:35") < place("What was owed"));
    for page in &pages {
        assert!(page.contains("Amendment 1 of the report of"), "at the foot of every page: {page}");
    }
}

#[test]
fn the_next_amendment_lists_only_what_came_after_the_one_before() {
    let folded = fold(LATE);
    let sheet = amendment(&folded, 2, Lang::Es, compose);
    let changes = sheet.changes.as_ref().expect("an amendment");
    assert_eq!(changes.title, "Enmienda 2 del informe del 12 de febrero de 2026, 21:35");
    assert_eq!(sheet.changed.rows.len(), 1, "{:?}", sheet.changed.rows);
    assert_eq!(sheet.changed.rows[0].happened, "21:29");
}

#[test]
fn the_same_record_gives_the_same_amendment() {
    let set = || {
        let folded = fold(LATE);
        amendment(&folded, 1, Lang::En, |r| Kind::Night.to_pdf(r, "same").expect("a page"))
    };
    assert!(set() == set());
}

#[test]
fn a_correction_is_listed_at_the_line_that_it_corrects() {
    let night = LATE
        .replace("phone of Ines: offline 20:20 to 23:00\n", "")
        .replace("21:35 the desk sends report 1", "21:33 the desk sends report 1")
        .replace("23:10 the desk types from paper of Ines, 21:28 hall\n", "")
        .replace("23:20 the desk sends report 2 of the watch, 20:00 to 21:30\n", "")
        .replace("23:40 the desk types from paper of Ines, 21:29 stair-b\n", "")
        .replace("21:25 Ines sees hall\n21:30 Ines ends and signs\n", "21:25 Ines sees hall\n")
        + "21:40 Ines takes back the last line\n";
    let folded = fold(&night);
    let sheet = amendment(&folded, 1, Lang::En, compose);
    let said = sheet.changes.as_ref().expect("an amendment").rows.join("\n");
    assert!(said.contains("1 line was taken back since."), "{said}");
    let row = &sheet.changed.rows[0];
    assert_eq!((row.happened.as_str(), row.received.as_str()), ("21:25", "21:40"));
    assert_eq!(row.what.marks[0], "taken back since");
}

const HOTEL: &str = include_str!("../../../fixtures/nights/gannet-hotel.night");

fn shift(folded: &Folded, nth: Nth) -> NightSheet {
    let about_ms = folded.last_rx_ms.expect("lines");
    let stretch = Stretch::shift(&folded.watch, about_ms, nth).expect("a shift");
    compose(&Request { stretch: Some(stretch), ..request(folded, Lang::En) })
}

#[test]
fn one_shift_is_reported_with_its_own_people_times_and_lines() {
    let folded = fold(HOTEL);
    let first = shift(&folded, Nth::Number(1));
    assert!(first.subtitle.contains("20:00 to 23:01 on 10 February 2026"), "{}", first.subtitle);
    assert!(
        first.covers.as_deref().unwrap_or_default().contains("one shift"),
        "{:?}",
        first.covers
    );
    assert!(first.log.rows.iter().any(|row| row.happened == "22:56"));
    assert!(!first.log.rows.iter().any(|row| row.happened == "23:04"), "the next shift's look");
    assert_eq!(first.goes_on.rows[0], "The watch continues. On duty: Omar.");
    let last = shift(&folded, Nth::Last);
    assert!(last.subtitle.contains("23:00 to 02:00"), "{}", last.subtitle);
    assert!(last.log.rows.iter().all(|row| row.happened != "22:56"));
    let about_ms = folded.last_rx_ms.expect("lines");
    let fault = Stretch::shift(&folded.watch, about_ms, Nth::Number(3)).expect_err("two shifts");
    assert!(fault.to_string().contains("the record holds 2"), "{fault}");
}

#[test]
fn one_day_is_24_hours_from_the_beginning_of_the_watch() {
    let folded = fold(HOTEL);
    let about_ms = folded.last_rx_ms.expect("lines");
    let day = Stretch::day(&folded.watch, about_ms, "2026-02-10").expect("the first day");
    // 20:00 to the release at 02:00.
    assert_eq!(day.until_ms - day.from_ms, 6 * 3_600_000);
    let fault = Stretch::day(&folded.watch, about_ms, "2026-02-11").expect_err("one day only");
    assert!(fault.to_string().contains("2026-02-10"), "{fault}");
}
