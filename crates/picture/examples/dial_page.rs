//! Prints a page with dials and rings to look at: `cargo run -p rattlewatch-picture --example dial_page > page.html`.

use picture::{DialInput, DialZone, MiddleLine, Span, dial, ring, small_dial};

const HOUR: i64 = 3_600_000;
const MIN: i64 = 60_000;

fn main() {
    let css = include_str!("../../../assets/tokens.css");
    let theme = std::env::args().nth(1).unwrap_or("night".into());
    {
        println!(
            "<!doctype html><html class={theme}><meta charset=utf-8><style>{css}</style><body>"
        );
        let input = night();
        println!("{}{}", dial(&input), small_dial(&input));
        // Everywhere too late at once, at each quarter of the face.
        for hour in [1, 3, 7, 10] {
            println!("{}", dial(&crowded(hour)));
        }
        println!(
            "<div style='width:192px'>{}{}</div></body></html>",
            ring(900, 380, ""),
            ring(900, -60, "")
        );
    }
}

/// Eight zones that nobody sees for up to two hours, from so many hours after the beginning on.
fn crowded(hour: i64) -> DialInput {
    let from_ms = 20 * HOUR;
    let zone = |late: i64| {
        let skip = hour * 60..hour * 60 + 25 + late * 12;
        let looks = (1..48).map(|i| i * 15).filter(|min| !skip.contains(min));
        let looks_ms = looks.map(|min| from_ms + (min + late) * MIN).collect();
        DialZone { allowed_s: 15 * 60, looks_ms, ..DialZone::default() }
    };
    let zones = (0..8).rev().map(zone).collect();
    let now_ms = Some(from_ms + 12 * HOUR);
    DialInput { from_ms, until_ms: from_ms + 12 * HOUR, now_ms, zones, ..DialInput::default() }
}

/// Twelve hours with a gap at 22:50, an emergency at 04:37 and an hour and a half without signal.
fn night() -> DialInput {
    let from_ms = 20 * HOUR;
    let zone = |allowed_min: i64, every_min: i64, skip: std::ops::Range<i64>| DialZone {
        allowed_s: allowed_min * 60,
        looks_ms: (1..)
            .map(|i| from_ms + i * every_min * MIN + (i * 7919 % 120) * 1000)
            .take_while(|at| *at < from_ms + 12 * HOUR)
            .filter(|at| {
                !skip.contains(&((at - from_ms) / MIN))
                    && !(517..537).contains(&((at - from_ms) / MIN))
            })
            .collect(),
        ..DialZone::default()
    };
    DialInput {
        from_ms,
        until_ms: from_ms + 12 * HOUR,
        zones: vec![
            zone(15, 13, 165..200),
            zone(15, 12, 425..440),
            zone(15, 13, 0..0),
            zone(15, 14, 0..0),
            zone(30, 26, 0..0),
            zone(30, 27, 0..0),
        ],
        held: vec![Span { from_ms: from_ms + 517 * MIN, to_ms: from_ms + 537 * MIN }],
        sealed_late: vec![Span { from_ms: from_ms + 330 * MIN, to_ms: from_ms + 426 * MIN }],
        tails: vec![Span { from_ms, to_ms: from_ms + 135 * MIN }],
        emergencies_ms: vec![from_ms + 517 * MIN],
        middle: vec![
            MiddleLine::Title("Gannet Hotel".into()),
            MiddleLine::Plain("20:00 to 08:00".into()),
            MiddleLine::Over("unseen 39 min".into()),
            MiddleLine::OverSmall("15 allowed".into()),
        ],
        says: "Two zones went over".into(),
        ..DialInput::default()
    }
}
