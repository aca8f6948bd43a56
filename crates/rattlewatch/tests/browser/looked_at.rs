//! Every screen of the phone at 360x740: controls large enough, nothing wider than the screen, words with
//! contrast, by day and by night, in English and Spanish, and with the reader's text twice as large.
//! Pictures of all of them lie in `target/screens/` afterwards.

use crate::OPENING;
use crate::chrome::Phone;
use crate::house::House;
use crate::sink::Sink;
use simulation::Desk;

/// What is touched, from the place's first screen, and what the picture is called.
const SCREENS: [(&str, &[&str]); 21] = [
    ("round", &["place-round"]),
    ("cannot-get-in", &["place-round", "cannot-get-in"]),
    ("ask", &["place-round", "ask"]),
    ("scan", &["place-round", "scan"]),
    ("other-stop", &["place-round", "other-stop"]),
    ("write", &["place-write"]),
    ("class", &["place-write", "observe"]),
    ("where", &["place-write", "observe", "class-rubbish"]),
    ("tell", &["place-write", "tell"]),
    ("note", &["place-write", "note"]),
    ("hot-work-list", &["place-write", "hot-work"]),
    ("permit-where", &["place-write", "hot-work", "permit-new"]),
    ("permit", &["place-write", "hot-work", "permit-new", "work-at-floor-1"]),
    ("shift", &["place-shift"]),
    ("instructions", &["place-shift", "instructions"]),
    ("equipment", &["place-shift", "equipment"]),
    ("notice", &["place-shift", "notice"]),
    ("relief", &["place-shift", "hand-over"]),
    ("end", &["place-shift", "end-shift"]),
    ("paper", &["place-shift", "paper"]),
    ("settings", &["place-shift", "settings"]),
];

/// Language, theme, and text size in per cent.
const LOOKS: [(&str, &str, u32); 4] =
    [("en", "night", 100), ("en", "day", 100), ("es", "night", 100), ("es", "day", 200)];

async fn begun(house: &House) -> anyhow::Result<Phone> {
    let desk = Desk::begin(&house.url, &house.begin_link, "lanterns along the quay").await?;
    let (_, path) = desk.open(&OPENING, "2026-01-01T20:00").await?;
    let phone = Phone::start().await?;
    phone.enrol(&house.url, &desk, &path).await?;
    phone.tap("i-am-here").await?;
    phone.says("sent", "All sent").await?;
    Ok(phone)
}

async fn dress(phone: &Phone, (lang, theme, percent): (&str, &str, u32)) -> anyhow::Result<()> {
    for id in ["place-shift", "settings", &format!("speak-{lang}"), &format!("theme-{theme}")] {
        phone.tap(id).await?;
    }
    phone.text_size(percent).await
}

#[tokio::test(flavor = "multi_thread")]
async fn every_screen_can_be_read_and_touched() -> anyhow::Result<()> {
    let sink = Sink::start().await?;
    let house = House::start(&sink.url)?;
    let phone = begun(&house).await?;
    let mut faults = Vec::new();
    for look in LOOKS {
        dress(&phone, look).await?;
        for (name, path) in SCREENS {
            for id in path {
                phone.tap(id).await?;
            }
            let called = format!("{}-{}-{}-{name}", look.0, look.1, look.2);
            phone.photographed(&called).await?;
            faults.extend(phone.measured(&called).await?);
        }
    }
    anyhow::ensure!(faults.is_empty(), "{}", faults.join("\n"));
    Ok(())
}

/// The same screens before axe-core, which nobody here wrote.
#[tokio::test(flavor = "multi_thread")]
async fn axe_finds_nothing() -> anyhow::Result<()> {
    let sink = Sink::start().await?;
    let house = House::start(&sink.url)?;
    let phone = begun(&house).await?;
    let mut faults = Vec::new();
    for look in [LOOKS[0], LOOKS[1]] {
        dress(&phone, look).await?;
        for (name, path) in SCREENS {
            for id in path {
                phone.tap(id).await?;
            }
            faults.extend(phone.axe(&format!("{}-{name}", look.1)).await?);
        }
    }
    anyhow::ensure!(faults.is_empty(), "{}", faults.join("\n"));
    Ok(())
}
