//! The phone's own files: what is kept opens without a network and without waiting for the worker to start, and a new
//! version comes whole, beside the old one, when the guard takes it.

use crate::OPENING;
use crate::begun::Begun;
use crate::chrome::Phone;
use anyhow::{Result, ensure};

/// Which version of the style the page has, and out of what the browser took the page.
const HAS: &str = r#"
  const done = arguments[arguments.length - 1];
  const style = getComputedStyle(document.documentElement).getPropertyValue("--renewed").trim();
  const page = performance.getEntriesByType("navigation")[0];
  done([style, page.workerFinalSourceType ?? page.workerFinalRouterSource ?? "", page.workerStart]);
"#;

const ASK: &str = "navigator.serviceWorker.controller.postMessage('check')";

/// The version that a page of the phone has, once it was opened.
async fn version(phone: &Phone, url: &str) -> Result<String> {
    phone.goto(url).await?;
    let has = phone.driver.execute_async(HAS, Vec::new()).await?.json().clone();
    println!("{url}: {has}");
    // In the caches the browser looks by itself; the worker need not have been started.
    ensure!(has[1] == "cache", "{url} came by another way: {has}");
    Ok(has[0].as_str().unwrap_or_default().to_owned())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_new_version_comes_whole_and_when_it_is_taken() -> Result<()> {
    let Begun { mut house, phone, sink: _sink, .. } = Begun::enrolled(&OPENING).await?;
    let (app, card) = (format!("{}/phone/", house.url), format!("{}/phone/card", house.url));
    phone.shows("i-am-here").await?;
    ensure!(version(&phone, &app).await?.is_empty());
    house.kill();
    ensure!(version(&phone, &card).await?.is_empty(), "the card opens without a network");

    let more = ":root { --renewed: yes }\n";
    house.renews("0123456789abcdef", &[("phone.css", more), ("card.css", more)])?;
    house.start_again()?;
    ensure!(version(&phone, &app).await?.is_empty(), "the version before stays");
    phone.tap("place-shift").await?;
    phone.driver.execute(ASK, Vec::new()).await?;
    phone.shows("update-now").await?;
    ensure!(version(&phone, &card).await?.is_empty(), "until the guard takes the new one");
    ensure!(version(&phone, &app).await?.is_empty());
    phone.tap("place-shift").await?;
    phone.tap("update-now").await?;
    phone.shows("i-am-here").await?;

    house.kill();
    for page in [&app, &card] {
        ensure!(version(&phone, page).await? == "yes", "all of the new version is here");
    }
    phone.goto(&app).await?;
    phone.shows("i-am-here").await.map(drop)
}
