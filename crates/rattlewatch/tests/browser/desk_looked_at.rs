//! Every page of the desk, by day and by night, in English and Spanish, wide and as narrow as a phone: axe-core finds
//! nothing, nothing is wider than the window, and the browser refuses nothing of what the page brings.
//! Pictures of all of them lie in `target/screens/` afterwards.

use crate::OPENING;
use crate::chrome::Window;
use crate::house::House;
use crate::sink::Sink;
use simulation::{Desk, Opening};

/// A place with a drawn plan.
const DRAWN: Opening = Opening {
    plan: Some(include_str!("../../../../fixtures/plans/gannet-hotel.plan.json")),
    ..OPENING
};

/// Pages that need no watch; `SITE` and `PERSON` stand for the ids of the ones that are there.
const PAGES: [&str; 17] = [
    "/",
    "/watch/new",
    "/watch/new?site=SITE",
    "/roster",
    "/sites",
    "/sites/new",
    "/sites/import",
    "/sites/SITE",
    "/sites/SITE/edit",
    "/sites/SITE/plan",
    "/people",
    "/people/import",
    "/delivery",
    "/alerts",
    "/tokens",
    "/account",
    "/second",
];

/// Pages under a watch.
const OF_A_WATCH: [&str; 32] = [
    "",
    "erase",
    "told",
    "order",
    "visit",
    "impairment",
    "notified",
    "restored",
    "permit",
    "work",
    "spark",
    "lookback",
    "closed",
    "stopped",
    "guard",
    "phonedin",
    "paper",
    "sheets",
    "instructions",
    "done",
    "note",
    "correct",
    "review",
    "hold",
    "lift",
    "release",
    "pages",
    "rounds",
    "phone-file",
    "alerts",
    "links",
    "answer",
];

/// Language, colour scheme, width.
const LOOKS: [(&str, &str, u32); 4] =
    [("en", "light", 1280), ("en", "dark", 1280), ("es", "dark", 390), ("es", "light", 390)];

#[tokio::test(flavor = "multi_thread")]
async fn every_page_of_the_desk_can_be_read_by_everybody() -> anyhow::Result<()> {
    let sink = Sink::start().await?;
    let house = House::start(&sink.url)?;
    let desk = Desk::begin(&house.url, &house.begin_link, "lanterns along the quay").await?;
    let site = desk.site(&DRAWN, DRAWN.plan.unwrap_or_default().as_bytes()).await?;
    let (watch, _) = desk.open_at(&DRAWN, &site, "2026-01-01T20:00").await?;
    // Something waits for a second person: every page says so.
    desk.post("/second/key", &[("why", "A copy of the folder was lost.")]).await?;
    let window = Window::start(1280, 900, false).await?;
    window.signs_in(&house.url).await?;
    window.reads("Gannet Hotel").await?;

    let of_a_watch = OF_A_WATCH.iter().map(|page| match *page {
        "" => format!("/watch/{watch}"),
        page => format!("/watch/{watch}/{page}"),
    });
    let pages: Vec<String> =
        PAGES.iter().map(|page| page.replace("SITE", &site)).chain(of_a_watch).collect();
    let mut faults = Vec::new();
    for (lang, scheme, width) in LOOKS {
        window.sized(width, 900).await?;
        window.by(scheme).await?;
        window.goto(&house.url).await?;
        window.press(&format!("button[name='lang'][value='{lang}']")).await.ok();
        for page in &pages {
            window.goto(&format!("{}{page}", house.url)).await?;
            let name = page.replace(&site, "site").replace(watch.as_str(), "one");
            let name = name.replace(['/', '?', '='], "-");
            let called = format!("desk-{lang}-{scheme}-{width}{name}");
            window.photographed_whole(&called).await?;
            faults.extend(window.axe(&called).await?);
            faults.extend(window.wider(&called).await?);
            faults.extend(window.refused(&called).await?);
        }
    }
    anyhow::ensure!(faults.is_empty(), "{}", faults.join("\n"));
    Ok(())
}
