//! A phone without network shows its lines as codes; another phone reads them off its screen with the
//! camera, by our own reader, and sends them with its own.

use crate::OPENING;
use crate::begun::{self, Begun};
use crate::chrome::Window;
use anyhow::{Context, Result, ensure};
use base64::Engine as _;
use std::time::Duration;
use thirtyfour::prelude::*;

/// The camera of this phone shows what the test holds before it.
const CAMERA: &str = r#"
  const field = document.createElement("canvas");
  field.width = field.height = 720;
  const ink = field.getContext("2d");
  window.heldBefore = (picture) => new Promise((done) => {
    const image = new Image();
    image.onload = () => {
      ink.fillStyle = "rgb(107, 98, 87)";
      ink.fillRect(0, 0, 720, 720);
      ink.drawImage(image, 40, 40, 640, 640 * image.height / image.width);
      done(true);
    };
    image.src = picture;
  });
  navigator.mediaDevices.getUserMedia = async () => field.captureStream(12);
"#;

impl Window {
    /// Puts a camera into this phone that shows what is [held before it](Window::sees).
    async fn has_camera(&self) -> Result<()> {
        self.driver.execute(CAMERA, Vec::new()).await?;
        Ok(())
    }

    async fn sees(&self, png: &[u8]) -> Result<()> {
        let code = base64::engine::general_purpose::STANDARD.encode(png);
        let script = format!(
            "const done = arguments[arguments.length - 1];
             window.heldBefore('data:image/png;base64,{code}').then(done);"
        );
        self.driver.execute_async(script, Vec::new()).await?;
        Ok(())
    }

    /// The words of a block.
    pub(crate) async fn block(&self, test: &str) -> Result<String> {
        let found = self.driver.find_all(By::Css(format!("[data-test={test}]"))).await?;
        match found.first() {
            Some(block) => Ok(block.text().await.unwrap_or_default()),
            None => Ok(String::new()),
        }
    }

    /// Waits until a block says so.
    pub(crate) async fn block_says(&self, test: &str, words: &str) -> Result<()> {
        let mut last = String::new();
        for _ in 0..200 {
            last = self.block(test).await.unwrap_or_default();
            if last.contains(words) {
                return Ok(());
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        anyhow::bail!("{test} says {last:?}, not {words:?}")
    }

    /// The code on the screen, as a camera would see it.
    async fn code(&self) -> Result<Vec<u8>> {
        let code = self.shows("code").await?;
        // Whoever holds the phone has the whole code in sight, not half of it under the top line.
        let middle = "document.getElementById('code').scrollIntoView({ block: 'center' })";
        self.driver.execute(middle, vec![]).await?;
        self.driver.find(By::Css("#code svg")).await.context("the code is drawn")?;
        Ok(code.screenshot_as_png().await?)
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn another_phone_takes_along_what_one_cannot_send() -> Result<()> {
    let Begun { mut house, desk, watch, phone: marta, sink: _sink } =
        Begun::enrolled(&OPENING).await?;
    marta.tap("i-am-here").await?;
    marta.says("sent", "All sent").await?;
    let ana = begun::relief(&house, &desk, &watch, "Ana Pires").await?;
    ana.says("sent", "All sent").await?;
    house.kill();

    for _ in 0..3 {
        for id in ["i-am-here", "i-am-here", "all-clear"] {
            marta.tap(id).await?;
        }
    }
    marta.says("sent", "waiting").await?;
    let waiting = marta.shows("sent").await?.text().await?;
    for id in ["place-shift", "waiting"] {
        marta.tap(id).await?;
    }
    marta.photographed("waiting").await?;
    for id in ["waiting-codes", "pieces-hold"] {
        marta.tap(id).await?;
    }
    marta.photographed("pieces").await?;
    for id in ["place-shift", "waiting", "gather"] {
        ana.tap(id).await?;
    }
    ana.photographed("gather-before").await?;
    ana.has_camera().await?;
    ana.tap("scan-start").await?;
    // Backwards, and a code that is no piece in between.
    let of = marta.block("pieces-code").await?;
    let of: usize = of.rsplit(' ').next().and_then(|n| n.parse().ok()).context("a number")?;
    ensure!(of >= 3, "{of} codes");
    for read in 1..=of {
        ana.sees(&marta.code().await?).await?;
        if read < of {
            ana.block_says("gather-progress", &format!("{read} of {of}")).await?;
        }
        if read == 2 {
            ana.photographed("gather").await?;
        }
        marta.tap("pieces-before").await?;
    }
    ana.block_says("gather-said", "from the phone of Marta Ilves").await?;
    ana.photographed("gathered").await?;
    ensure!(ana.shows("sent").await?.text().await? == waiting, "all of them: {waiting}");

    // Marta's phone never comes back; Ana's restarts, and then there is a server again.
    let _disk = marta.dies()?;
    ana.reload().await?;
    ana.says("sent", "waiting").await?;
    house.start_again()?;
    ana.says("sent", "All sent").await?;
    let page = desk.page(&format!("/watch/{watch}")).await?;
    ensure!(page.contains("Marta Ilves"), "{page}");
    let findings = crate::verified(house.folder(), &desk, &watch).await?;
    ensure!(findings.as_array().is_some_and(|all| !all.is_empty()), "the bundle is judged");
    let bundle = desk.download(&format!("/watch/{watch}/bundle")).await?;
    let bundle = bundle::read(&bundle).map_err(|verdict| anyhow::anyhow!("{verdict:?}"))?;
    let seen = bundle.lines.iter().filter(|line| line.line.kind == "seen").count();
    ensure!(seen == 6, "three rounds of two floors: {seen}");
    Ok(())
}

/// The screens of pieces in every look: nothing wider than the screen, controls large enough.
#[tokio::test(flavor = "multi_thread")]
async fn the_screens_of_codes_can_be_read_and_touched() -> Result<()> {
    let Begun { mut house, phone, sink: _sink, .. } = Begun::enrolled(&OPENING).await?;
    phone.tap("i-am-here").await?;
    phone.says("sent", "All sent").await?;
    house.kill();
    phone.tap("i-am-here").await?;
    let mut faults = Vec::new();
    for (lang, theme, percent) in
        [("en", "night", 100), ("en", "day", 100), ("es", "night", 100), ("es", "day", 200)]
    {
        for id in ["place-shift", "settings", &format!("speak-{lang}"), &format!("theme-{theme}")] {
            phone.tap(id).await?;
        }
        phone.text_size(percent).await?;
        let look = format!("{lang}-{theme}-{percent}");
        for (name, path) in [
            ("waiting", &["place-shift", "waiting"][..]),
            ("pieces", &["place-shift", "waiting", "waiting-codes", "pieces-hold"][..]),
            ("gather", &["place-shift", "waiting", "gather"][..]),
        ] {
            for id in path {
                phone.tap(id).await?;
            }
            let called = format!("{look}-{name}");
            phone.photographed(&called).await?;
            faults.extend(phone.measured(&called).await?);
        }
    }
    ensure!(faults.is_empty(), "{}", faults.join("\n"));
    Ok(())
}
