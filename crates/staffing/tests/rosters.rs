//! Rosters against hand-worked cases, brute force and the checker.

use staffing::{Broken, Facts, Roster, Rules, assign, check, duties};

fn rules() -> Rules {
    Rules {
        shift_longest: 720,
        rest_shortest: 600,
        week_longest: 3600,
        break_after: 360,
        break_length: 30,
        overlap: 15,
        sources: Vec::new(),
    }
}

fn facts(to: &str, posts: &str, people: &str) -> Facts {
    Facts::read(&format!(
        "site = \"Gannet Quay\"\nzone = \"America/New_York\"\nfrom = \"2026-11-24T18:00\"\nto = \"{to}\"\nrate = 30.0\n{posts}\n{people}"
    ))
    .expect("facts")
}

const ONE: &str = "[[post]]\nname = \"Round\"\n";

fn roster(facts: &Facts, rules: &Rules) -> Roster {
    let duties = duties(facts, rules, None).expect("shifts");
    let roster = assign(facts, rules, duties).expect("enough people");
    assert_eq!(check(facts, rules, &roster), []);
    assert!(roster.people.len() >= roster.people_at_least);
    roster
}

/// Twelve hours at one post: one shift of the longest length, and somebody for its break: two people.
#[test]
fn one_night_at_one_post() {
    let roster = roster(&facts("2026-11-25T06:00", ONE, ""), &rules());
    assert_eq!((roster.people.len(), roster.people_at_least, roster.duties.len()), (2, 2, 2));
}

/// Two posts share one reliever: the breaks follow each other around the middle.
#[test]
fn two_posts_share_a_reliever() {
    let posts = "[[post]]\nname = \"Round\"\nguards = 2\n";
    let roster = roster(&facts("2026-11-25T06:00", posts, ""), &rules());
    assert_eq!((roster.people.len(), roster.people_at_least), (3, 3));
}

/// 60 hours: six shifts of 10 h with overlaps of 15 min. Two shifts later only 9 h 45 min have passed, less than the ten
/// hours of rest, so three shifts in a row and the cover of the middle one's break need four people.
#[test]
fn days_on_end_keep_rest_and_overlap() {
    let roster = roster(&facts("2026-11-27T06:00", ONE, ""), &rules());
    assert_eq!(roster.people_at_least, 4);
    assert!(roster.people.len() <= 5, "{roster:?}");
    let shifts: Vec<_> = roster.duties.iter().filter(|d| !d.covers_break).collect();
    assert!(shifts.windows(2).all(|pair| pair[0].to_min - pair[1].from_min == 15));
}

/// Clocks go back at 02:00 on 1 November 2026 in New York: from 18:00 to 06:00 are 13 hours.
#[test]
fn the_night_of_the_clock_change_is_longer() {
    let facts = Facts::read(
        "site = \"Q\"\nzone = \"America/New_York\"\nfrom = \"2026-10-31T18:00\"\nto = \"2026-11-01T06:00\"\n[[post]]\nname = \"Round\"",
    )
    .expect("facts");
    assert_eq!(facts.to_min - facts.from_min, 13 * 60);
    assert_eq!(roster(&facts, &rules()).duties.iter().filter(|d| !d.covers_break).count(), 2);
}

#[test]
fn who_is_away_is_not_sent_and_too_few_is_said() {
    let people = "[[person]]\nname = \"Ines\"\naway = [[\"2026-11-24T12:00\", \"2026-11-25T12:00\"]]\n[[person]]\nname = \"Tomas\"\n[[person]]\nname = \"Abel\"\nrate = 40.0\n";
    let asked = facts("2026-11-25T06:00", ONE, people);
    let roster = roster(&asked, &rules());
    assert!(roster.people.iter().all(|p| p.name != "Ines"));
    let lines = staffing::table::table(&asked, &roster);
    // Twelve hours of one and half an hour of the other, at 30 and 40 an hour: 360 and 20, or 480 and 15.
    let cost: Vec<i64> = lines.iter().map(|l| l.cost_cents).collect();
    assert!(cost == [36_000, 2_000] || cost == [1_500, 48_000], "{lines:?}");
    let alone = facts("2026-11-25T06:00", ONE, "[[person]]\nname = \"Tomas\"\n");
    let duties = duties(&alone, &rules(), None).expect("shifts");
    let none = assign(&alone, &rules(), duties).unwrap_err();
    assert!(none.to_string().contains("2 people are needed"), "{none}");
}

/// Every way to give up to six duties to up to four people is tried, judged by the checker alone.
#[test]
fn never_more_people_than_brute_force_needs() {
    for hours in [8, 14, 20, 26, 32] {
        let day = 24 + (18 + hours) / 24;
        let to = format!("2026-11-{day}T{:02}:00", (18 + hours) % 24);
        let asked = facts(&to, ONE, "");
        let rules = Rules { break_after: 720, ..rules() };
        let roster = roster(&asked, &rules);
        let least = (1..=4).find(|&people| some_way(&asked, &rules, &roster, people));
        assert_eq!(Some(roster.people.len()), least, "{hours} h");
        assert!(roster.people_at_least <= roster.people.len());
    }
}

fn some_way(facts: &Facts, rules: &Rules, roster: &Roster, people: usize) -> bool {
    let n = roster.duties.len();
    (0..people.pow(n as u32)).any(|code| {
        let who = (0..n).map(|d| code / people.pow(d as u32) % people).collect();
        let people = (0..people).map(|_| staffing::facts::Person::default()).collect();
        let tried = Roster { people, who, ..roster.clone() };
        check(facts, rules, &tried).is_empty()
    })
}

#[test]
fn the_checker_finds_what_is_wrong() {
    let asked = facts("2026-11-25T06:00", ONE, "");
    let good = roster(&asked, &rules());
    let alone = Roster { who: vec![0; good.duties.len()], ..good.clone() };
    assert!(matches!(check(&asked, &rules(), &alone)[..], [Broken::Twice { person: 0, .. }]));
    let mut late = good.clone();
    late.duties[0].from_min += 10;
    let from_min = asked.from_min;
    assert_eq!(
        check(&asked, &rules(), &late),
        [Broken::Uncovered { post: 0, from_min, to_min: from_min + 10 }]
    );
    let no_cover = Roster {
        duties: good.duties.iter().filter(|d| !d.covers_break).cloned().collect(),
        who: vec![0],
        ..good
    };
    assert!(matches!(check(&asked, &rules(), &no_cover)[..], [Broken::Uncovered { .. }]));
    let strict = Rules { shift_longest: 600, ..rules() };
    let long = roster(&asked, &rules());
    assert!(check(&asked, &strict, &long).iter().any(|b| matches!(b, Broken::Stretch { .. })));
}

/// RFC 5545: CRLF, lines of at most 75 octets, `;` and `,` escaped, UTC times with Z.
#[test]
fn the_calendar_is_icalendar() {
    let mut asked = facts("2026-11-25T06:00", ONE, "");
    asked.site =
        "Gannet Quay; the long shed by the old fish market, north door, second floor".to_owned();
    let text = staffing::calendar::calendar(&asked, &roster(&asked, &rules()), asked.from_min);
    assert!(
        text.starts_with("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n")
            && text.ends_with("END:VCALENDAR\r\n")
    );
    assert!(text.contains("\r\nDTSTART:20261124T230000Z\r\nDTEND:20261125T110000Z\r\n"), "{text}");
    assert!(text.contains("Gannet Quay\\; the long shed by the old fish market\\,"));
    assert!(text.split("\r\n").all(|line| line.len() <= 75 && !line.contains('\n')));
    assert_eq!(text.matches("BEGIN:VEVENT").count(), 2);
}

#[test]
fn bad_facts_say_what_to_write() {
    let said = |text: &str| Facts::read(text).unwrap_err().to_string();
    let base = "site = \"Q\"\nzone = \"America/New_York\"\nfrom = \"2026-11-24T18:00\"\n";
    assert!(
        said(&format!("{base}to = \"2026-11-24T17:00\"\n{ONE}"))
            .contains("must end after it begins")
    );
    assert!(said(&format!("{base}to = \"morning\"\n{ONE}")).contains("write 2026-11-24T18:00"));
    assert!(said(&format!("{base}to = \"2026-11-25T06:00\"\npost = []")).contains("1 to 50 posts"));
    let zone = base.replace("America/New_York", "Harbour");
    assert!(said(&format!("{zone}to = \"2026-11-25T06:00\"\n{ONE}")).contains("America/New_York"));
    let long = facts("2026-11-25T06:00", ONE, "");
    let fault = duties(&long, &rules(), Some(900)).unwrap_err();
    assert!(fault.to_string().contains("shift_h = 12"), "{fault}");
}

/// A day and a half at two posts: above the size that the integer program is asked about, and answered at once.
#[test]
fn a_day_and_a_half_at_two_posts() {
    let posts = "[[post]]\nname = \"Round\"\nguards = 2\n";
    let roster = roster(&facts("2026-11-26T06:00", posts, ""), &rules());
    assert!(roster.people.len() <= roster.people_at_least + 3, "{roster:?}");
}

/// A day in two shifts of twelve hours: Ines, who comes first, would plainly take the first one, which leaves nobody for
/// the second, since Tomas is away then. He must take the first from her. With 40 more who are away all day there are far
/// too many questions for the program.
#[test]
fn duties_are_handed_on_when_a_plain_assignment_gets_stuck() {
    let longer = Rules { break_after: 780, shift_longest: 780, ..rules() };
    let away = |name: &str, from: &str| {
        format!("[[person]]\nname = \"{name}\"\naway = [[\"{from}\", \"2026-11-26T00:00\"]]\n")
    };
    let mut people = format!("[[person]]\nname = \"Ines\"\n{}", away("Tomas", "2026-11-25T08:00"));
    for n in 0..40 {
        people += &away(&format!("Reserve {n}"), "2026-11-24T00:00");
    }
    let roster = roster(&facts("2026-11-25T18:00", ONE, &people), &longer);
    let names: Vec<&str> = roster.people.iter().map(|p| p.name.as_str()).collect();
    assert_eq!((names, roster.duties.len()), (vec!["Ines", "Tomas"], 2));
}
