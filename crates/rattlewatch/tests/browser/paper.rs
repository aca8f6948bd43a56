//! The paper ladder: a phone that dies, a page written by hand, and the phone of the relief.

use crate::begun::{self, Begun};
use crate::{OPENING, verified};

#[tokio::test(flavor = "multi_thread")]
async fn a_phone_dies_and_the_night_goes_on_on_paper() -> anyhow::Result<()> {
    let Begun { house, desk, watch, phone: marta, sink: _sink } = Begun::enrolled(&OPENING).await?;
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
    drop(marta);
    // The relief brings a phone and takes Marta's pages along.
    let again = begun::relief(&house, &desk, &watch, "Ana Pires").await?;
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
