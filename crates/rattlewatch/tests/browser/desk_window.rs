//! The dispatcher in a real browser: the first account, a watch opened as from a telephone call, and a
//! place that nobody has seen in time, taken by somebody.

use crate::chrome::Window;
use crate::house::House;
use crate::sink::Sink;

const PRESSED_WHILE_ANOTHER_IS_OPENED: &str = r#"
document.dispatchEvent(new PointerEvent("pointerdown"));
fetch("/watch/new", { method: "POST", body: new URLSearchParams({
  name: "Plover Court", address: "12 Rope Walk", town: "Port Gannet", tz: "America/Chicago", floors: "2", gap_min: "30",
  from: "2026-01-01T20:00", out: "fire_alarm", guard_name: "Ola Brandt", language: "en", practice: "demo",
}) });
"#;

/// Everything by the page alone: links, fields and controls, by somebody who has read nothing.
#[tokio::test(flavor = "multi_thread")]
async fn a_dispatcher_begins_from_an_empty_folder() -> anyhow::Result<()> {
    let sink = Sink::start().await?;
    let house = House::start(&sink.url)?;
    let desk = Window::start(1280, 900, false).await?;
    desk.begins(&house.begin_link).await?;
    desk.photographed("desk-empty").await?;

    desk.goto(&format!("{}/watch/new", house.url)).await?;
    for (field, text) in [
        ("name", "Tern Street School"),
        ("address", "12 Tern Street"),
        ("town", "Port Gannet"),
        ("floors", "2"),
        ("gap_min", "30"),
        ("guard_name", "Jon Abara"),
    ] {
        desk.fill(field, text).await?;
    }
    desk.press("#opening button.main").await?;
    desk.reads("Jon Abara").await?;
    desk.photographed("desk-enrolment").await?;
    desk.goto(&house.url).await?;
    desk.reads("Tern Street School").await?;
    desk.photographed("desk-tonight").await?;

    // Somebody presses and lets go outside of the window, which the page is not told: news reach it all the same.
    desk.driver.execute(PRESSED_WHILE_ANOTHER_IS_OPENED, Vec::new()).await?;
    desk.reads("Plover Court").await?;

    // Out, and in again as on any other evening.
    desk.press("form[action='/sign-out'] button").await?;
    desk.signs_in(&house.url).await?;
    desk.reads("Tern Street School").await?;
    desk.press("button[name='lang'][value='es']").await?;
    desk.reads("Esta noche").await?;
    desk.photographed("desk-tonight-es").await
}
