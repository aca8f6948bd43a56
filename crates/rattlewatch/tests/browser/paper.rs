//! The paper ladder: a phone that dies, a page written by hand, and the phone of the relief.

use crate::chrome::Phone;
use crate::house::House;
use crate::sink::Sink;
use crate::{OPENING, verified};
use simulation::Desk;

#[tokio::test(flavor = "multi_thread")]
async fn a_phone_dies_and_the_night_goes_on_on_paper() -> anyhow::Result<()> {
    let sink = Sink::start().await?;
    let house = House::start(&sink.url)?;
    let desk = Desk::begin(&house.url, &house.begin_link, "lanterns along the quay").await?;
    let (watch, path) = desk.open(&OPENING, "2026-01-01T20:00").await?;
    {
        let marta = Phone::start().await?;
        marta.enrol(&house.url, &desk, &path).await?;
        marta.tap("i-am-here").await?;
        marta.tap("i-am-here").await?;
        marta.tap("place-shift").await?;
        marta.photographed("shift").await?;
        for id in ["paper", "paper-told", "paper-phone-dead"] {
            marta.tap(id).await?;
        }
        marta.photographed("paper").await?;
        marta.tap("paper-begin").await?;
        marta.shows("paper-back").await?;
        marta.photographed("notepad").await?;
        marta.says("sent", "All sent").await?;
        // Here its battery dies: the browser and everything in it is gone.
    }
    // The relief brings a phone and takes Marta's pages along.
    let (second, path) = desk.person_in("Ana Pires").await?;
    desk.plan(&watch, &second, "2026-01-01T20:00", "2030-01-01T08:00").await?;
    let again = Phone::start().await?;
    again.enrol(&house.url, &desk, &path).await?;
    again.tap("take-over").await?;
    again.tap("on-paper").await?;
    again.adds_photo().await?;
    again.tap("paper-done").await?;
    again.tap("i-am-here").await?;
    again.says("sent", "All sent").await?;
    again.tap("place-write").await?;
    again.says("lines", "Pages handed over").await?;
    again.photographed("write-after-paper").await?;
    let page = desk.page(&format!("/watch/{watch}")).await?;
    anyhow::ensure!(page.contains("Marta Ilves"), "{page}");
    verified(house.folder(), &desk, &watch).await?;
    Ok(())
}
