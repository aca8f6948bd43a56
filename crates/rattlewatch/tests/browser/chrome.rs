//! One window: a Chromium of its own, driven through chromedriver; and the phone in such a window.

use anyhow::{Context, Result, bail};
use base64::Engine as _;
use simulation::Desk;
use std::net::TcpListener;
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::Duration;
use tempfile::TempDir;
use thirtyfour::LoggingPrefsLogLevel;
use thirtyfour::prelude::*;

/// A browser with one page.
pub(crate) struct Window {
    pub(crate) driver: WebDriver,
    server: Child,
    profile: TempDir,
}

/// A guard's phone: a window of 360x740.
pub(crate) struct Phone {
    window: Window,
}

impl std::ops::Deref for Phone {
    type Target = Window;

    fn deref(&self) -> &Window {
        &self.window
    }
}

/// With which the dispatcher of the tests signs in.
pub(crate) const PASSWORD: &str = "lanterns along the quay";

/// How long a screen may take.
const PATIENCE: Duration = Duration::from_secs(40);

impl Phone {
    pub(crate) async fn start() -> Result<Phone> {
        Ok(Phone { window: Window::start(360, 740, true).await? })
    }

    /// Starts again with what a phone that [died](Phone::dies) had on its disk.
    pub(crate) async fn charged(disk: TempDir) -> Result<Phone> {
        Ok(Phone { window: Window::start_on(disk, 360, 740, true).await? })
    }

    /// The battery is empty: everything is killed in the middle of whatever it did; the disk is left.
    pub(crate) fn dies(mut self) -> Result<TempDir> {
        let disk = std::mem::replace(&mut self.window.profile, tempfile::tempdir()?);
        let ended = kill_all_on(disk.path()).context("pkill is missing: install procps")?;
        anyhow::ensure!(ended.success(), "nothing ran");
        Ok(disk)
    }

    /// Opens the link, reads the six digits aloud, and the desk says yes.
    pub(crate) async fn enrol(&self, url: &str, desk: &Desk, path: &str) -> Result<()> {
        let token = desk.token(path).await?;
        self.driver.goto(format!("{url}/phone/#enrol={token}")).await?;
        let read = self.shows("digits").await?.text().await?;
        let digits: String = read.chars().filter(char::is_ascii_digit).collect();
        anyhow::ensure!(digits.len() == 6, "six digits: {read:?}");
        let aloud = format!("{} {}", &digits[..3], &digits[3..]);
        for _ in 0..PATIENCE.as_millis() / 200 {
            if desk.page(path).await?.contains(&aloud) {
                desk.post(path, &[("same", "true")]).await?;
                return Ok(());
            }
            tokio::time::sleep(Duration::from_millis(200)).await;
        }
        bail!("phone and desk do not show the same code:\n{}", self.text().await?)
    }

    /// Hands the file field a picture: a screenshot, which is a real PNG.
    pub(crate) async fn adds_photo(&self) -> Result<()> {
        let file = self.profile.path().join("photo.png");
        std::fs::write(&file, self.driver.screenshot_as_png().await?)?;
        let field = self.driver.find(By::Css("input[type=file]")).await?;
        field.send_keys(file.to_string_lossy()).await?;
        tokio::time::sleep(Duration::from_millis(1500)).await;
        Ok(())
    }

    /// Draws a line into the field for the signature, if there is one.
    pub(crate) async fn signs(&self) -> Result<()> {
        let Ok(field) = self.driver.find(By::Tag("canvas")).await else { return Ok(()) };
        field.scroll_into_view().await.ok();
        self.driver
            .action_chain()
            .move_to_element_center(&field)
            .click_and_hold()
            .move_by_offset(40, 10)
            .move_by_offset(-20, 15)
            .release()
            .perform()
            .await?;
        tokio::time::sleep(Duration::from_millis(500)).await;
        Ok(())
    }
}

impl Window {
    /// Opens one of so many CSS pixels.
    pub(crate) async fn start(width: u32, height: u32, mobile: bool) -> Result<Window> {
        Window::start_on(tempfile::tempdir()?, width, height, mobile).await
    }

    /// As [`Window::start`], with what an earlier one left.
    async fn start_on(profile: TempDir, width: u32, height: u32, mobile: bool) -> Result<Window> {
        simulation::choose_tls();
        let port = TcpListener::bind("127.0.0.1:0")?.local_addr()?.port();
        let server = Command::new("chromedriver")
            .arg(format!("--port={port}"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .context("chromedriver is missing: install chromium and chromium-driver")?;
        let mut capabilities = DesiredCapabilities::chrome();
        for argument in [
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--use-fake-device-for-media-stream",
            "--use-fake-ui-for-media-stream",
            "--window-size=500,900",
            "--lang=en-US",
        ] {
            capabilities.add_arg(argument)?;
        }
        capabilities.set_logging_prefs("browser", LoggingPrefsLogLevel::All)?;
        capabilities.add_arg(&format!("--user-data-dir={}", profile.path().display()))?;
        let address = format!("http://127.0.0.1:{port}");
        let mut tries = 0;
        let driver = loop {
            match WebDriver::new(&address, capabilities.clone()).await {
                Ok(driver) => break driver,
                Err(error) if tries >= 50 => return Err(error.into()),
                Err(_) => tries += 1,
            }
            tokio::time::sleep(Duration::from_millis(200)).await;
        };
        let window = Window { driver, server, profile };
        window.measures(width, height, mobile).await?;
        Ok(window)
    }

    async fn measures(&self, width: u32, height: u32, mobile: bool) -> Result<()> {
        let scale = if mobile { 2 } else { 1 };
        let size = serde_json::json!({ "width": width, "height": height, "deviceScaleFactor": scale, "mobile": mobile });
        self.driver.cdp().send_raw("Emulation.setDeviceMetricsOverride", size).await?;
        Ok(())
    }

    /// Makes the window of a desk so many CSS pixels wide and high.
    pub(crate) async fn sized(&self, width: u32, height: u32) -> Result<()> {
        self.measures(width, height, false).await
    }

    /// By day (`light`) or by night (`dark`).
    pub(crate) async fn by(&self, scheme: &str) -> Result<()> {
        let features = serde_json::json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
        self.driver.cdp().send_raw("Emulation.setEmulatedMedia", features).await?;
        Ok(())
    }

    /// Opens a page.
    pub(crate) async fn goto(&self, url: &str) -> Result<()> {
        Ok(self.driver.goto(url).await?)
    }

    /// Makes the first account by its one-time link: the dispatcher of the tests.
    pub(crate) async fn begins(&self, link: &str) -> Result<()> {
        self.goto(link).await?;
        for (field, text) in [
            ("house", "Lantern Guards"),
            ("tz", "America/Chicago"),
            ("name", "Rosa Quill"),
            ("login", "rosa"),
            ("password", PASSWORD),
        ] {
            self.fill(field, text).await?;
        }
        self.press("button.main").await?;
        self.reads("No watch running").await
    }

    /// Signs the dispatcher of the tests in, who then sees *Tonight*.
    pub(crate) async fn signs_in(&self, url: &str) -> Result<()> {
        self.goto(&format!("{url}/sign-in")).await?;
        self.fill("login", "rosa").await?;
        self.fill("password", PASSWORD).await?;
        self.press("button.main").await
    }

    /// Types into a field, in place of what stood there.
    pub(crate) async fn fill(&self, id: &str, text: &str) -> Result<()> {
        let field = self.shows(id).await?;
        field.clear().await?;
        Ok(field.send_keys(text).await?)
    }

    /// Presses the one large control of the page.
    pub(crate) async fn press(&self, css: &str) -> Result<()> {
        let control = self.driver.find(By::Css(css)).await?;
        control.scroll_into_view().await.ok();
        Ok(control.click().await?)
    }

    /// Waits until the page says so.
    pub(crate) async fn reads(&self, words: &str) -> Result<()> {
        for _ in 0..PATIENCE.as_millis() / 200 {
            if self.text().await.is_ok_and(|text| text.contains(words)) {
                return Ok(());
            }
            tokio::time::sleep(Duration::from_millis(200)).await;
        }
        bail!("the page does not say {words:?}:\n{}", self.text().await?)
    }

    /// All that the screen says.
    async fn text(&self) -> Result<String> {
        Ok(self.driver.find(By::Tag("body")).await?.text().await?)
    }

    pub(crate) async fn shows(&self, id: &str) -> Result<WebElement> {
        for _ in 0..PATIENCE.as_millis() / 100 {
            if let Ok(element) = self.driver.find(By::Id(id)).await
                && element.is_displayed().await.unwrap_or(false)
            {
                return Ok(element);
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        bail!("#{id} does not appear. The screen says:\n{}", self.text().await?)
    }

    pub(crate) async fn has(&self, id: &str) -> Result<bool> {
        Ok(!self.driver.find_all(By::Id(id)).await?.is_empty())
    }

    /// Touches a control; one that was redrawn meanwhile is looked for again.
    pub(crate) async fn tap(&self, id: &str) -> Result<()> {
        for _ in 0..20 {
            let element = self.shows(id).await?;
            element.scroll_into_view().await.ok();
            if element.click().await.is_ok() {
                tokio::time::sleep(Duration::from_millis(350)).await;
                return Ok(());
            }
            tokio::time::sleep(Duration::from_millis(200)).await;
        }
        bail!("#{id} cannot be touched. The screen says:\n{}", self.text().await?)
    }

    pub(crate) async fn says(&self, id: &str, words: &str) -> Result<()> {
        let mut last = String::new();
        for _ in 0..PATIENCE.as_millis() / 100 {
            if let Ok(element) = self.driver.find(By::Id(id)).await {
                last = element.text().await.unwrap_or_default();
                if last.contains(words) {
                    return Ok(());
                }
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        bail!("#{id} says {last:?}, not {words:?}")
    }

    pub(crate) async fn reload(&self) -> Result<()> {
        Ok(self.driver.refresh().await?)
    }

    pub(crate) async fn back(&self) -> Result<()> {
        self.driver.back().await?;
        tokio::time::sleep(Duration::from_millis(300)).await;
        Ok(())
    }

    pub(crate) async fn now_ms(&self) -> Result<i64> {
        let now = self.driver.execute("return Date.now()", Vec::new()).await?;
        now.json().as_i64().context("a time")
    }

    /// Keeps a picture of the whole page, also of what lies below the window: `target/screens/`.
    pub(crate) async fn photographed_whole(&self, name: &str) -> Result<()> {
        let whole = serde_json::json!({ "captureBeyondViewport": true });
        let answer = self.driver.cdp().send_raw("Page.captureScreenshot", whole).await?;
        let code = answer["data"].as_str().context("a picture")?;
        keep(name, &base64::engine::general_purpose::STANDARD.decode(code)?)
    }

    /// Keeps a picture of the screen for whoever wants to look: `target/screens/`.
    pub(crate) async fn photographed(&self, name: &str) -> Result<()> {
        keep(name, &self.driver.screenshot_as_png().await?)
    }
}

fn keep(name: &str, png: &[u8]) -> Result<()> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/screens");
    std::fs::create_dir_all(&folder)?;
    Ok(std::fs::write(folder.join(format!("{name}.png")), png)?)
}

impl Drop for Window {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
        // A driver that is killed leaves its browser behind, whose page would go on asking the desk.
        let _ = kill_all_on(self.profile.path());
    }
}

/// Kills every program that names the folder: a Chromium with that profile and all its helpers.
fn kill_all_on(profile: &Path) -> std::io::Result<ExitStatus> {
    Command::new("pkill").args(["-9", "-f"]).arg(profile).status()
}
