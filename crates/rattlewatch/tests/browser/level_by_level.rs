//! The round on the plan, level by level: the way that was issued, the next stop marked, in every look.

use crate::OPENING;
use crate::begun::Begun;
use crate::chrome::Phone;
use anyhow::{Context, Result, ensure};
use simulation::Opening;
use thirtyfour::prelude::*;

const DRAWN: Opening = Opening {
    gap_min: 60,
    plan: Some(include_str!("../../../../fixtures/plans/gannet-quay.plan.json")),
    ..OPENING
};

impl Phone {
    /// The picture of the level, as SVG.
    async fn level(&self) -> Result<String> {
        let level = self.driver.find(By::Id("level")).await.context("a level is drawn")?;
        let source = level.attr("src").await?.context("its picture")?;
        let script = format!("return decodeURIComponent({source:?})");
        let svg = self.driver.execute(script, Vec::new()).await?;
        Ok(svg.json().as_str().context("text")?.to_owned())
    }
}

/// More stops than one level has.
const STOPS: usize = 12;

#[tokio::test(flavor = "multi_thread")]
async fn the_way_is_drawn_and_the_next_stop_marked() -> Result<()> {
    let Begun { mut house, phone, sink: _sink, .. } = Begun::enrolled(&DRAWN).await?;
    phone.tap("i-am-here").await?;
    phone.shows("plan").await?;
    for _ in 0..2 {
        phone.tap("i-am-here").await?;
    }
    phone.says("sent", "All sent").await?;
    // Everything that the plan needs is on the phone.
    house.kill();
    phone.reload().await?;
    phone.tap("plan").await?;
    let whole = phone.level().await?;
    for part in
        [r#"class="ahead""#, r#"class="waystop next""#, ">3</text>", r#"class="waystop seen""#]
    {
        ensure!(whole.contains(part), "{part} is not drawn: {whole}");
    }
    phone.tap("plan-near").await?;
    let near = phone.level().await?;
    ensure!(near != whole && near.contains(r#"class="ahead""#), "closer shows less of the level");
    phone.tap("plan-up").await?;
    ensure!(!phone.level().await?.contains("waystop next"), "the next stop is a level below");
    phone.tap("plan-down").await?;

    let mut faults = Vec::new();
    for (lang, theme, percent) in
        [("en", "night", 100), ("en", "day", 100), ("es", "night", 100), ("es", "day", 200)]
    {
        for id in ["place-shift", "settings", &format!("speak-{lang}"), &format!("theme-{theme}")] {
            phone.tap(id).await?;
        }
        phone.text_size(percent).await?;
        for (name, path) in [
            ("plan", &["place-round", "plan"][..]),
            ("plan-near", &["place-round", "plan", "plan-near"][..]),
            ("plan-up", &["place-round", "plan", "plan-up"][..]),
        ] {
            for id in path {
                phone.tap(id).await?;
            }
            let called = format!("{lang}-{theme}-{percent}-{name}");
            phone.photographed(&called).await?;
            faults.extend(phone.measured(&called).await?);
        }
    }
    // From floor to floor: the last stop of a level leads over a stair.
    phone.text_size(100).await?;
    for id in ["place-shift", "settings", "speak-en", "theme-night", "place-round"] {
        phone.tap(id).await?;
    }
    let mut says = String::new();
    for _ in 0..STOPS {
        for id in ["i-am-here", "plan"] {
            phone.tap(id).await?;
        }
        says = phone.block("plan-way").await.unwrap_or_default();
        if says.contains("Stair") {
            break;
        }
        phone.tap("place-round").await?;
    }
    ensure!(says.contains("Stair") && says.contains("Level"), "{says}");
    phone.photographed("plan-over-stair").await?;
    ensure!(faults.is_empty(), "{}", faults.join("\n"));
    Ok(())
}
