//! Every paper from every kind of night: it prints, it is a sound file, it says what it must.

#[expect(dead_code, reason = "other tests ask more of the outside programs")]
mod outside;
mod told;

use outside::{check_sound, page_texts, text};
use report::{Copy, Folded, Kind, Paper, Request, Unaltered};
use told::fold;
use words::Lang;

const HOTEL: &str = include_str!("../../../fixtures/nights/gannet-hotel.night");
const EMERGENCY: &str = include_str!("../../../fixtures/nights/emergency.night");
const TAIL: &str = include_str!("../../../fixtures/nights/tail-over-midnight.night");
const QUAY: &str = include_str!("../../../fixtures/nights/gannet-quay.night");
const EMPTY: &str = "site: Gannet Quay\nid: w-empty\nwatch: 20:00 to 21:00\ngap hall: 30 min\n";

fn request(folded: &Folded, lang: Lang) -> Request<'_> {
    let bundle = Some(ledger::Digest::of(b"a bundle"));
    Request { copy: Copy::Client, lang, bundle, ..folded.whole() }
}

fn pdf(night: &str, kind: Kind) -> Vec<u8> {
    kind.to_pdf(&request(&fold(night), Lang::En), kind.name()).expect("a page")
}

#[test]
fn every_paper_prints_from_any_night_and_the_file_is_sound() {
    for (night, lang, paper) in [
        (HOTEL, Lang::En, Paper::A4),
        (EMERGENCY, Lang::Es, Paper::Letter),
        (TAIL, Lang::Es, Paper::A4),
        (EMPTY, Lang::En, Paper::Letter),
    ] {
        let folded = fold(night);
        for kind in Kind::ALL {
            let request = Request { paper, ..request(&folded, lang) };
            let pdf = kind.to_pdf(&request, kind.name()).expect("a page");
            check_sound(&pdf);
        }
    }
}

#[test]
fn the_same_record_gives_the_same_bytes_for_every_paper() {
    let (one, other) = (fold(QUAY), fold(QUAY));
    for kind in Kind::ALL {
        let set = |folded| kind.to_pdf(&request(folded, Lang::Es), "same").expect("a page");
        assert!(set(&one) == set(&other), "{}", kind.name());
    }
}

#[test]
fn a_record_that_did_not_verify_is_said_so_on_every_page() {
    let folded = fold(TAIL);
    for kind in Kind::ALL {
        let request = Request { unaltered: Unaltered::Faults(3), ..request(&folded, Lang::En) };
        let pages = page_texts(&kind.to_pdf(&request, "faulty").expect("a page"));
        for page in &pages {
            assert!(page.contains("Not verified: 3 faults"), "{}: {page}", kind.name());
        }
    }
}

#[test]
fn the_incident_has_times_with_delays_calls_and_who_knew_what_when() {
    let text = text(&pdf(EMERGENCY, Kind::Incident));
    for part in [
        "First seen 13 February 2026, 20:33",
        "called 20:34:00 +1 min 0 s Ines",
        "engine here 20:47:00 +14 min 0 s Ines",
        "20:36 +3 min 0 s supervisor by telephone, reached",
        "Last recorded look: 20:09, 24 min before, by tag.",
        "30 min allowed between two looks.",
        "A hold is set",
        "Witnesses (name and how to reach them)",
        "Probable cause",
        "How it was put out, and by whom",
    ] {
        assert!(text.contains(part), "{part:?} is not in the incident report:\n{text}");
    }
}

/// What the record does not hold stays blank: the form says that it is blank, and still asks.
#[test]
fn a_paper_about_nothing_is_a_blank_form() {
    for (kind, says) in [
        (Kind::Incident, "The record holds no emergency. This form is blank."),
        (Kind::Permit, "The record holds no hot work. This form is blank."),
        (Kind::Hours, "The record holds no shift. This form is blank."),
    ] {
        let text = text(&pdf(EMPTY, kind));
        assert!(text.contains(says), "{says:?} is not there:\n{text}");
    }
}

/// The eight steps of the International Fire Code 2018, 901.7.4, and the places for tags of 901.7.3.
#[test]
fn the_impairment_notice_asks_all_that_the_code_asks() {
    let text = text(&pdf(HOTEL, Kind::Impairment));
    for part in [
        "Fire protection out of service: Fire alarm",
        "Extent and duration determined",
        "Areas inspected",
        "Owner advised",
        "Fire service told",
        "Insurer, alarm company, owner told",
        "Supervisors told",
        "Tags in place",
        "Tools and materials on site",
        "Fire service connection",
        "Control valve",
        "Alarm panel",
        "Annunciator",
        "Fire command center",
        "OUT OF SERVICE",
        "fire service 10 February 2026, 19:50 by telephone",
    ] {
        assert!(text.contains(part), "{part:?} is not in the notice:\n{text}");
    }
}

/// The five steps of the International Fire Code 2018, 901.7.6.
#[test]
fn the_restoration_notice_has_the_five_steps_and_how_long_it_was_out() {
    let text = text(&pdf(HOTEL, Kind::Restored));
    for part in [
        "Fire protection back in service: Fire alarm",
        "5 h 50 min",
        "Tested, works",
        "Supervisors told",
        "Fire service told",
        "Owner, insurer, alarm company told",
        "Tags removed",
        "by the authority",
    ] {
        assert!(text.contains(part), "{part:?} is not in the notice:\n{text}");
    }
}

#[test]
fn the_permit_is_a_strip_in_time_order() {
    let text = text(&pdf(TAIL, Kind::Permit));
    let order = [
        "1 Before",
        "35 ft around clear or shielded",
        "2 During",
        "15 February 2026, 21:10",
        "3 After the last spark",
        "15 February 2026, 23:30",
        "16 February 2026, 00:30",
        "4 Looks back",
        "16 February 2026, 01:20 1 h 50 min nothing Omar",
        "5 End",
        "16 February 2026, 03:40, Omar",
    ];
    let mut from = 0;
    for part in order {
        let found = text[from..].find(part);
        let at = found.unwrap_or_else(|| panic!("{part:?} is not there in its order:\n{text}"));
        from += at + part.len();
    }
}

/// Read by quircs, a port of a QR reader that nobody here wrote, and the one in the phone; the phone
/// takes what stands after the last `/` in small letters.
#[test]
fn the_codes_of_the_tags_are_what_a_phone_reads() {
    let folded = fold(HOTEL);
    let pdf = Kind::Tags.to_pdf(&request(&folded, Lang::En), "tags").expect("a page");
    let mut read: Vec<String> = outside::codes(&pdf);
    read.sort();
    let about_ms = folded.last_rx_ms.expect("lines");
    let site = folded.watch.about(about_ms).opening.expect("an opening").site.to_string();
    let expected: Vec<String> =
        ["boiler-room-1", "guest-floor-1-1", "guest-floor-2-1", "kitchen-1"]
            .iter()
            .map(|stop| format!("rattlewatch:{site}/{stop}").to_uppercase())
            .collect();
    assert_eq!(read, expected);
}

#[test]
fn the_certificate_names_digest_head_and_steps_and_says_that_it_is_a_draft() {
    let folded = fold(HOTEL);
    let text = text(&Kind::Certificate.to_pdf(&request(&folded, Lang::En), "c").expect("a page"));
    let head = folded.head.expect("a head");
    for part in [
        "DRAFT FOR COUNSEL",
        &ledger::Digest::of(b"a bundle").to_string(),
        &head.root.to_string(),
        "sha256sum FILE",
        "python3 verify.py",
        "does not show that anyone walked",
        "803(6)",
        "902(14)",
    ] {
        assert!(text.contains(part), "{part:?} is not in the certificate:\n{text}");
    }
    assert!(!text.to_lowercase().contains("court-admissible"));
}

#[test]
fn the_hours_are_on_paper_and_in_a_table_for_machines() {
    let folded = fold(HOTEL);
    let request = request(&folded, Lang::En);
    let csv = report::hours_csv(&request);
    let mut lines = csv.split("\r\n");
    assert_eq!(
        lines.next(),
        Some(
            "person,name,began,ended,planned_until,breaks_s,other_duties_s,worked_s,signed,rounds"
        )
    );
    let first: Vec<&str> = lines.next().expect("a shift").split(',').collect();
    assert_eq!(first[1..4], ["Ines", "2026-02-10T20:00:00-06:00", "2026-02-10T23:00:00-06:00"]);
    assert_eq!(first[7], "10800");
    let text = text(&Kind::Hours.to_pdf(&request, "h").expect("a page"));
    assert!(text.contains("Ines 10 February 2026 20:00 23:00 – – 3 h signed 23:01"), "{text}");
}

#[test]
fn route_cards_have_the_order_of_walking_and_its_times() {
    let text = text(&pdf(QUAY, Kind::Route));
    for part in ["Route of Ana", "10 min of walking", "1 Quay side 1 4 min 30 min", "ring first"] {
        assert!(text.contains(part), "{part:?} is not on the card:\n{text}");
    }
}

/// A night on the drawn plan of the demo's quay: the map names the stops in the order of walking, and no zone or room.
#[test]
fn the_map_on_a_route_card_names_stops() {
    let night = "site: Gannet Quay\nid: w-map\nwatch: 20:00 to 21:00\ngap ground: 30 min\n\
        stop loading-bay: ground\nstop paint-store: ground\nstop charger-room: ground\n\
        stop timber-store: ground\nstop hoist-foot: ground\n\
        route: hoist-foot, loading-bay, paint-store, charger-room, timber-store\n\
        legs: 60 s, 40 s, 30 s, 25 s, 50 s\npeople: Ines\n\n20:00 Ines begins until 21:00\n";
    let mut folded = fold(night);
    let plan = include_bytes!("../../../fixtures/plans/gannet-quay.plan.json");
    folded.documents.plan = Some(floorplan::Plan::read(plan).expect("a plan"));
    let pdf = Kind::Route.to_pdf(&request(&folded, Lang::En), "map").expect("a page");
    check_sound(&pdf);
    let text = text(&pdf);
    let map = &text[text.find("Map: Ground").expect("a map")..];
    for named in ["1 Hoist foot, site office", "2 Loading bay", "3 Paint store", "5 Timber store"] {
        assert!(map.contains(named), "{named:?} is not on the map: {map}");
    }
    for room in ["Middle aisle", "Stair A"] {
        assert!(!map.contains(room), "{room:?} is on the map: {map}");
    }
    if let Ok(folder) = std::env::var("RATTLEWATCH_KEEP_PAPERS") {
        std::fs::write(format!("{folder}/map.pdf"), &pdf).expect("the folder is writable");
    }
}

/// Very long words, letters that the fonts lack, a picture that is no picture.
#[test]
fn hostile_words_print_and_what_cannot_be_printed_is_said() {
    let word = "x".repeat(400);
    let night = format!(
        "site: מלון הנמל, שלום 3, חיפה\nid: w-hostile\nwatch: 20:00 to 21:00\ngap hall: 30 min\n\
         name hall: {word}\npeople: Ines\n\n20:00 Ines begins until 21:00\n20:05 Ines sees hall\n\
         20:10 Ines finds exits in hall: {word} — Łukasz\n20:11 Ines photographs it\n"
    );
    let folded = fold(&night);
    for kind in Kind::ALL {
        let pdf = kind.to_pdf(&request(&folded, Lang::En), "hostile").expect("a page");
        check_sound(&pdf);
        let pages = page_texts(&pdf);
        for page in &pages {
            assert!(page.contains("[?] stands for words in letters"), "{}: {page}", kind.name());
        }
    }
    let night = text(&Kind::Night.to_pdf(&request(&folded, Lang::En), "n").expect("a page"));
    assert!(night.contains("Łukasz"), "{night}");
}
