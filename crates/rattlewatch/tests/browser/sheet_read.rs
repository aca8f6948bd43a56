//! A printed sheet, ticked by hand, read on the phone without a network and confirmed row by row.

use crate::OPENING;
use crate::begun::Begun;
use crate::house::{House, program};
use anyhow::{Context, Result, ensure};
use sheet::{Expected, GrayPicture};
use std::process::Command;
use std::time::Duration;
use thirtyfour::prelude::*;

/// Dots to the inch of the photographed page.
const DPI: &str = "200";

/// The first page of tonight's sheet as a picture, with ticks in the first row's first box and, faint, in
/// the third row's.
fn ticked(house: &House) -> Result<Vec<u8>> {
    let folder = house.folder().join("paper");
    std::fs::create_dir_all(&folder)?;
    let at = |name: &str| folder.join(name).to_string_lossy().into_owned();
    let bundle = house.folder().join("watch.zip");
    let bundle = bundle.to_str().context("a plain path")?;
    program(&["print", "sheet", "--from", bundle, "-o", &at("sheet.pdf")])?;
    let (pdf, page) = (at("sheet.pdf"), at("page"));
    let printed = Command::new("pdftoppm")
        .args(["-r", DPI, "-gray", "-png", "-f", "1", "-l", "1", "-singlefile", &pdf, &page])
        .status();
    ensure!(printed.context("pdftoppm is missing: install poppler-utils")?.success(), "no page");
    let picture = GrayPicture::decode(&std::fs::read(at("page.png"))?)?;
    let read = sheet::read(&picture, &Expected::default());
    let mut page = read.straightened.context("the page is ours")?;
    for (row, tone) in [(0, 40), (2, 150)] {
        let one = read.boxes.iter().find(|one| (one.row, one.column) == (row, 0));
        let [left, top, side, _] = one.context("the box is there")?.at.map(|at| at as usize);
        for step in side / 5..side * 4 / 5 {
            for thick in 0..4 {
                page.set(left + step + thick, top + step, tone);
                page.set(left + side - step - thick, top + step, tone);
            }
        }
    }
    Ok(page.to_png())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sheet_is_read_without_a_network() -> Result<()> {
    let Begun { mut house, desk, watch, phone: marta, sink: _sink } =
        Begun::enrolled(&OPENING).await?;
    for id in ["i-am-here", "place-shift", "paper", "paper-told", "paper-phone-dead", "paper-begin"]
    {
        marta.tap(id).await?;
    }
    marta.says("sent", "All sent").await?;
    crate::verified(house.folder(), &desk, &watch).await?;
    let png = ticked(&house)?;
    let file = house.keep("sheet.png", &png)?;
    house.kill();

    marta.tap("paper-back").await?;
    let field = marta.driver.find(By::Css("input[type=file]")).await?;
    field.send_keys(file).await?;
    for _ in 0..100 {
        let read = marta.shows("page-1").await?.text().await.unwrap_or_default();
        if read.contains("ticked") {
            break;
        }
        tokio::time::sleep(Duration::from_millis(200)).await;
    }
    let read = marta.shows("page-1").await?.text().await?;
    ensure!(read.contains("1 ticked") && read.contains("1 unsure"), "{read}");
    marta.photographed("paper-back-read").await?;
    let mut faults = Vec::new();
    for (lang, theme, percent) in
        [("en", "night", 100), ("en", "day", 100), ("es", "night", 100), ("es", "day", 200)]
    {
        for id in ["place-shift", "settings", &format!("speak-{lang}"), &format!("theme-{theme}")] {
            marta.tap(id).await?;
        }
        marta.text_size(percent).await?;
        marta.tap("place-round").await?;
        for id in ["on-paper", "page-1"] {
            marta.tap(id).await?;
        }
        let called = format!("{lang}-{theme}-{percent}-sheet-row");
        marta.photographed(&called).await?;
        faults.extend(marta.measured(&called).await?);
    }
    ensure!(faults.is_empty(), "{}", faults.join("\n"));
    marta.text_size(100).await?;
    for id in ["place-shift", "settings", "speak-en", "place-round", "on-paper", "page-1"] {
        marta.tap(id).await?;
    }
    // The time that somebody wrote into that row: its beginning.
    let row = marta.block("sheet-row").await?;
    let began = row.split(['–', ' ', '\n']).find(|word| word.contains(':'));
    marta.fill("field-began", began.context("the row says when it was due")?).await?;
    marta.tap("sheet-right").await?;
    // The unsure row: looked at, it is no tick.
    marta.tap("sheet-out").await?;
    marta.block_says("sheet-kept", "1 line is kept").await?;
    for id in ["sheet-done", "paper-done"] {
        marta.tap(id).await?;
    }
    house.start_again()?;
    marta.says("sent", "All sent").await?;
    let page = desk.page(&format!("/watch/{watch}")).await?;
    ensure!(page.contains("typed from paper") || page.contains("from paper"), "{page}");
    crate::verified(house.folder(), &desk, &watch).await?;
    Ok(())
}
