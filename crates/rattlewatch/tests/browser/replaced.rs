//! A phone is lost in the middle of a round: two presses on the desk, in a real browser each, and the guard
//! stands where the round was, on duty, without beginning anything.

use crate::OPENING;
use crate::begun::Begun;
use crate::chrome::{Phone, Window};

#[tokio::test(flavor = "multi_thread")]
async fn another_phone_stands_where_the_round_was() -> anyhow::Result<()> {
    let Begun { house, desk, watch, phone: lost, sink: _sink } = Begun::enrolled(&OPENING).await?;
    // On duty, then at the first stop of two.
    lost.tap("i-am-here").await?;
    lost.tap("i-am-here").await?;
    lost.says("sent", "All sent").await?;

    let window = Window::start(1280, 900, false).await?;
    window.signs_in(&house.url).await?;
    window.reads("Gannet Hotel").await?;
    window.goto(&format!("{}/watch/{watch}", house.url)).await?;
    window.reads("Give this guard another phone").await?;
    window.photographed_whole("desk-replace-phone").await?;
    window.press(&format!("form[action='/watch/{watch}/phone'] button")).await?;
    window.reads("The old phone counts until this one is in").await?;
    let link = window.driver.current_url().await?;

    let found = Phone::start().await?;
    found.enrol(&house.url, &desk, link.path()).await?;
    window.reads("The shift goes on with this phone").await?;
    window.photographed_whole("desk-replaced-phone").await?;
    // The other stop and the end of the round, which the old phone had begun.
    found.shows("i-am-here").await?;
    found.photographed("phone-replaced").await?;
    found.tap("i-am-here").await?;
    found.tap("all-clear").await?;
    found.says("sent", "All sent").await?;
    let page = desk.page(&format!("/watch/{watch}")).await?;
    for said in ["Device let in", "Device trusted no longer"] {
        anyhow::ensure!(page.contains(said), "the record does not say {said:?}");
    }
    // Nobody came on duty twice.
    anyhow::ensure!(page.matches("Shift began").count() <= 1, "one shift:\n{page}");
    Ok(())
}
