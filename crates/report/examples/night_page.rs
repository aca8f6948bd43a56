//! Writes a night report made of invented rows, to look at the page:
//! `cargo run -p rattlewatch-report --example night_page -- page.pdf`.

use picture::{DialInput, DialZone, MiddleLine, dial, paper_style};
use report::sheets::{Cell, HappenedRow, LogRow, NightSheet, OwedRow, Section, ZoneRow};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let zone = |name: &str, longest: &str, over: bool| ZoneRow {
        name: name.into(),
        longest: longest.into(),
        allowed: "15\u{a0}min".into(),
        sealed: "2\u{a0}min".into(),
        over: over.then(|| "over".into()),
    };
    let from_ms = 20 * 3_600_000;
    let input = DialInput {
        from_ms,
        until_ms: from_ms + 12 * 3_600_000,
        zones: (0..5)
            .map(|i| DialZone {
                allowed_s: 900,
                looks_ms: (1..55)
                    .filter(|k| i > 0 || *k != 12)
                    .map(|k| from_ms + k * 13 * 60_000)
                    .collect(),
                ..DialZone::default()
            })
            .collect(),
        middle: vec![
            MiddleLine::Over("unseen 26 min".into()),
            MiddleLine::OverSmall("15 allowed".into()),
        ],
        says: "Kitchen unseen 26 min".into(),
        ..DialInput::default()
    };
    let sheet = NightSheet {
        lang: "en".into(),
        title: "Gannet Hotel".into(),
        subtitle: "Fire watch, night of 2 to 3 March 2026, 20:00 to 08:00 (America/Chicago). Marta Ilves.".into(),
        issue: vec!["Report 1".into()],
        verdict: "Not kept: 1 of 5 zones went over. Kitchen unseen 26 min, 15 allowed.".into(),
        rounds: "46 rounds due, 44 on time, 2 late.".into(),
        dial_svg: paper_style(&dial(&input), "Atkinson Hyperlegible Next", "Atkinson Hyperlegible Mono"),
        dial_says: input.says.clone(),
        zone_head: ["Zone, outside in", "longest", "allowed", "sealed"].map(String::from),
        zones: vec![zone("Kitchen", "26\u{a0}min", true), zone("Floors 1 to 4", "13\u{a0}min", false)],
        zone_notes: vec!["Recorded as seen: 71 % by tag, 29 % by hand.".into()],
        owed: Section {
            title: "What was owed".into(),
            rows: vec![OwedRow { what: "15 min where people sleep".into(), source: "Order 14 of the authority".into() }],
            none: String::new(),
        },
        happened: Section {
            title: "What happened".into(),
            rows: vec![HappenedRow {
                time: "04:37".into(),
                what: "Smoke in riser cupboard, floor 7. Called 911 04:37.".into(),
                state: "page 2".into(),
                bold: true,
            }],
            none: String::new(),
        },
        goes_on: Section { title: "Who goes on".into(), rows: vec!["The watch continues.".into()], none: String::new() },
        head_svg: r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 10"><rect width="10" height="10" fill="none" stroke="black"/></svg>"#.into(),
        head_says: "Head 1".into(),
        unaltered: "Lines unaltered (checked on issue).".into(),
        integrity: vec!["This does not show that anyone walked.".into()],
        log_head: ["Happened", "Written", "Who", "What"].map(String::from),
        log: Section {
            title: "Every line".into(),
            rows: (0..80)
                .map(|i| LogRow {
                    happened: format!("{:02}:{:02}", 20 + i / 60, i % 60),
                    written: format!("{:02}:{:02}", 20 + i / 60, i % 60),
                    who: "Marta Ilves".into(),
                    what: Cell { says: "Stair B, floor 7 seen, by tag".into(), ..Cell::default() },
                })
                .collect(),
            none: String::new(),
        },
        page_words: ["Page".into(), "of".into(), String::new()],
        ..NightSheet::default()
    };
    let path = std::env::args().nth(1).unwrap_or_else(|| "page.pdf".into());
    std::fs::write(path, sheet.to_pdf("example", 1_772_500_000_000)?)?;
    Ok(())
}
