//! What a screen measures, taken from the page as the browser laid it out.

use crate::chrome::{Phone, Window};
use anyhow::{Context, Result};
use std::path::Path;

/// Heights and contrasts as WCAG 2.2 gives them (SC 2.5.8 target size, SC 1.4.3 contrast with the relative
/// luminance defined there, SC 1.4.10 reflow), with our own larger heights.
const MEASURE: &str = r"
const faults = [];
const seen = (e) => { const b = e.getBoundingClientRect(); return b.width > 1 && b.height > 1; };
const name = (e) => e.id || e.dataset.test || e.textContent.trim().slice(0, 30);
if (document.documentElement.scrollWidth > innerWidth + 1) faults.push('wider than the screen');
for (const e of document.querySelectorAll('#app *')) {
  if (seen(e) && e.getBoundingClientRect().right > innerWidth + 1) faults.push(name(e) + ' hangs over the edge');
}
for (const e of document.querySelectorAll('#app button, #app a, #app input:not(.aside), #app textarea, #places button, #fire')) {
  if (!seen(e)) continue;
  const least = e.classList.contains('main') ? 96 : e.closest('.lines') ? 44 : 56;
  if (e.getBoundingClientRect().height < least - 0.5) faults.push(name(e) + ' is ' + e.getBoundingClientRect().height + ' px high');
}
const rgb = (c) => (c.match(/[\d.]+/g) || []).map(Number);
const light = ([r, g, b]) => {
  const [x, y, z] = [r, g, b].map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
  return 0.2126 * x + 0.7152 * y + 0.0722 * z;
};
const ground = (e) => {
  for (; e; e = e.parentElement) {
    const c = rgb(getComputedStyle(e).backgroundColor);
    if (c.length === 3 || c[3] > 0.99) return c;
  }
  return [255, 255, 255];
};
for (const e of document.querySelectorAll('#top *, #app *, #foot *')) {
  const own = [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
  if (!own || !seen(e) || e.closest('svg')) continue;
  const style = getComputedStyle(e);
  const [a, b] = [light(rgb(style.color)), light(ground(e))];
  const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
  if (ratio < 7) faults.push(name(e) + ' has contrast ' + ratio.toFixed(1));
  if (parseFloat(style.fontSize) < 14.9) faults.push(name(e) + ' has ' + style.fontSize);
}
return faults;
";

impl Phone {
    /// What is too small, too faint or too wide on this screen.
    pub(crate) async fn measured(&self, screen: &str) -> Result<Vec<String>> {
        let found = self.driver.execute(MEASURE, Vec::new()).await?;
        let found: Vec<String> = found.convert()?;
        Ok(found.into_iter().map(|fault| format!("{screen}: {fault}")).collect())
    }

    /// The reader's own text size, per cent.
    pub(crate) async fn text_size(&self, percent: u32) -> Result<()> {
        let script = format!("document.documentElement.style.fontSize = '{percent}%'");
        self.driver.execute(script, Vec::new()).await?;
        Ok(())
    }
}

impl Window {
    /// What stands out over the edge of the window (WCAG 2.2 SC 1.4.10, reflow).
    pub(crate) async fn wider(&self, screen: &str) -> Result<Vec<String>> {
        let script = "return document.documentElement.scrollWidth > innerWidth + 1
            ? [document.documentElement.scrollWidth + ' px wide in a window of ' + innerWidth] : []";
        let found = self.driver.execute(script, Vec::new()).await?;
        let found: Vec<String> = found.convert()?;
        Ok(found.into_iter().map(|fault| format!("{screen}: {fault}")).collect())
    }

    /// What the browser complained of since it was last asked: refused styles and scripts, missing files, errors.
    pub(crate) async fn refused(&self, screen: &str) -> Result<Vec<String>> {
        let log = self.driver.get_log("browser").await?;
        Ok(log
            .into_iter()
            .map(|entry| format!("{screen}: {}: {}", entry.level, entry.message))
            .collect())
    }

    /// What axe-core finds on this screen, by its rules for WCAG 2.2 A and AA.
    pub(crate) async fn axe(&self, screen: &str) -> Result<Vec<String>> {
        let file =
            Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/axe/package/axe.min.js");
        let axe = std::fs::read_to_string(file);
        let axe = axe.context("axe-core is missing: `cargo x test browser` fetches it")?;
        self.driver.execute(axe, Vec::new()).await?;
        let run = "const done = arguments[arguments.length - 1];
            axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] })
              .then((found) => done(found.violations.map((v) => v.id + ': ' + v.nodes[0].html)))
              .catch((error) => done(['axe did not run: ' + error]));";
        let found = self.driver.execute_async(run, Vec::new()).await?;
        let found: Vec<String> = found.convert().context("axe gives a list")?;
        Ok(found.into_iter().map(|fault| format!("{screen}: {fault}")).collect())
    }
}
