//! The browser is killed while it saves: whatever the screen has shown as kept is there afterwards.

use crate::OPENING;
use crate::begun::Begun;
use crate::chance::Chance;
use crate::chrome::{Phone, Window};
use anyhow::{Context, Result, ensure};
use std::time::Duration;

/// Kills in one run; more of them by `RATTLEWATCH_KILLS`.
const KILLS: u32 = 50;
/// Touches whatever comes next, and says how many lines the screen shows as waiting.
const TOUCH: &str = r#"
  const next = document.getElementById("all-clear") ?? document.getElementById("i-am-here");
  const sent = document.getElementById("sent")?.textContent ?? "";
  next?.click();
  return sent;
"#;

impl Window {
    /// Touches at once, without waiting for anything; returns the lines shown as waiting before.
    async fn touches(&self) -> Result<u32> {
        let said = self.driver.execute(TOUCH, Vec::new()).await?;
        Ok(waiting(said.json().as_str().context("the screen has a line about what is sent")?))
    }
}

fn waiting(said: &str) -> u32 {
    let digits: String = said.chars().filter(char::is_ascii_digit).collect();
    digits.parse().unwrap_or(0)
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_shown_as_kept_is_lost_when_the_browser_is_killed() -> Result<()> {
    let Begun { mut house, desk, watch, mut phone, sink: _sink } =
        Begun::enrolled(&OPENING).await?;
    phone.tap("i-am-here").await?;
    phone.shows("i-am-here").await?;
    phone.says("sent", "All sent").await?;
    // Without a server all that is written waits on the phone, and is counted on the screen.
    house.kill();
    let kills = std::env::var("RATTLEWATCH_KILLS").ok().and_then(|n| n.parse().ok());
    let kills = kills.unwrap_or(KILLS);
    let seed = crate::seed();
    println!("the browser is killed at random moments, seed {seed}");
    let mut chance = Chance::new(seed);
    let mut shown = 0;
    for kill in 0..kills {
        for _ in 0..3 {
            shown = phone.touches().await?.max(shown);
            let wait = chance.between(Duration::ZERO, Duration::from_millis(120));
            tokio::time::sleep(wait).await;
        }
        phone = Phone::charged(phone.dies()?).await?;
        phone.goto(&format!("{}/phone/", house.url)).await?;
        phone.says("sent", "waiting").await?;
        let kept = phone.touches().await?;
        ensure!(kept >= shown, "kill {kill}: {shown} lines were shown as kept, {kept} are there");
        shown = kept;
    }
    ensure!(shown > kills, "{shown} lines in all: hardly anything was written");
    house.start_again()?;
    phone.reload().await?;
    phone.says("sent", "All sent").await?;
    let findings = crate::verified(house.folder(), &desk, &watch).await?;
    ensure!(findings.as_array().is_some_and(|all| !all.is_empty()), "the bundle is judged");
    Ok(())
}
