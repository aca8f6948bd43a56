//! A three-level site drawn over a scanned floor plan, by hand on the page, and a watch opened by it.

use crate::chrome::Window;
use crate::house::House;
use crate::sink::Sink;
use anyhow::{Context, Result, ensure};
use image::{Rgb, RgbImage};
use serde_json::json;
use std::time::Duration;
use thirtyfour::prelude::*;

/// Six rooms along a corridor, as left, top, right and bottom in pixels of the scan; 40 pixels are a metre.
const ROOMS: [[i32; 4]; 6] = [
    [60, 60, 420, 360],
    [420, 60, 780, 360],
    [780, 60, 1140, 360],
    [60, 440, 420, 740],
    [420, 440, 780, 740],
    [780, 440, 1140, 740],
];
const CORRIDOR: [i32; 4] = [60, 360, 1140, 440];
/// A door of each room, one out of the building, and where the stair is stepped on.
const DOORS: [(i32, i32); 7] =
    [(240, 360), (600, 360), (960, 360), (240, 440), (600, 440), (960, 440), (60, 400)];
const STAIR: (i32, i32) = (1100, 400);
/// The ends of the scan's scale bar, 27 m apart.
const BAR: [(i32, i32); 2] = [(60, 780), (1140, 780)];

/// The scan: walls as an office copier leaves them, grey paper, a scale bar below.
fn scan() -> Result<Vec<u8>> {
    let mut page = RgbImage::from_pixel(1200, 820, Rgb([236, 233, 225]));
    let mut bar = |[left, top, right, bottom]: [i32; 4]| {
        for x in left - 3..=right + 3 {
            for y in top - 3..=bottom + 3 {
                let edge = x < left + 3 || x > right - 3 || y < top + 3 || y > bottom - 3;
                if edge {
                    page.put_pixel(x as u32, y as u32, Rgb([70, 68, 66]));
                }
            }
        }
    };
    ROOMS.into_iter().chain([CORRIDOR]).for_each(&mut bar);
    bar([BAR[0].0, BAR[0].1 - 1, BAR[1].0, BAR[1].1 + 1]);
    let mut bytes = Vec::new();
    let mut writer = std::io::Cursor::new(&mut bytes);
    page.write_to(&mut writer, image::ImageFormat::Png)?;
    Ok(bytes)
}

/// The page on which one draws.
struct Board<'a> {
    desk: &'a Window,
}

impl Board<'_> {
    /// Where a pixel of the scan lies in the window, as the browser laid the picture out.
    async fn at(&self, (x, y): (i32, i32)) -> Result<(i64, i64)> {
        let script = "const image = document.querySelector('#board image');
            const m = image.getScreenCTM();
            const p = new DOMPoint(arguments[0], arguments[1]).matrixTransform(m);
            return [Math.round(p.x), Math.round(p.y)];";
        let found = self.desk.driver.execute(script, vec![json!(x), json!(y)]).await?;
        let [x, y]: [i64; 2] = found.convert()?;
        Ok((x, y))
    }

    async fn press(&self, pixel: (i32, i32)) -> Result<()> {
        let (x, y) = self.at(pixel).await?;
        self.desk.driver.action_chain().move_to(x, y).click().perform().await?;
        Ok(())
    }

    async fn drag(&self, from: (i32, i32), to: (i32, i32)) -> Result<()> {
        let (a, b) = (self.at(from).await?, self.at(to).await?);
        let chain = self.desk.driver.action_chain().move_to(a.0, a.1).click_and_hold();
        chain.move_to(b.0, b.1).release().perform().await?;
        Ok(())
    }

    /// The n-th choice of a field.
    async fn choose(&self, id: &str, n: usize) -> Result<()> {
        self.desk.shows(id).await?;
        let css = format!("#{id} option:nth-child({})", n + 1);
        Ok(self.desk.driver.find(By::Css(css)).await?.click().await?)
    }

    /// Types into a field and leaves it; a field that was drawn again meanwhile is looked for again.
    async fn type_in(&self, css: &str, text: &str) -> Result<()> {
        let mut last = Ok(());
        for _ in 0..20 {
            last = self.type_once(css, text).await;
            if last.is_ok() {
                return Ok(());
            }
            tokio::time::sleep(Duration::from_millis(200)).await;
        }
        last
    }

    async fn type_once(&self, css: &str, text: &str) -> Result<()> {
        let field = self.desk.driver.find(By::Css(css)).await?;
        field.scroll_into_view().await.ok();
        field.clear().await?;
        field.send_keys(text).await?;
        field.send_keys(Key::Tab).await?;
        Ok(())
    }

    /// The number of guards that the page shows, once it is not the one before.
    async fn guards_other_than(&self, before: Option<u32>) -> Result<u32> {
        for _ in 0..200 {
            // The answer is drawn again as it improves.
            let text = match self.desk.driver.find(By::Id("guards")).await {
                Ok(element) => element.text().await.unwrap_or_default(),
                Err(_) => String::new(),
            };
            let digits: String = text.chars().take_while(char::is_ascii_digit).collect();
            let shown = digits.parse().ok();
            if let Some(guards) = shown.filter(|_| shown != before) {
                return Ok(guards);
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        anyhow::bail!("no other number of guards than {before:?}")
    }

    /// Waits until nothing is left to put right.
    async fn all_is_well(&self) -> Result<()> {
        for _ in 0..300 {
            if !self.desk.has("wrong").await? {
                return Ok(());
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        let wrong = self.desk.driver.find(By::Id("wrong")).await?.text().await?;
        anyhow::bail!("still to be put right: {wrong}")
    }

    /// How many lines the list in words has.
    async fn listed(&self) -> Result<usize> {
        Ok(self.desk.driver.find_all(By::Css("#list .parts li")).await?.len())
    }

    async fn ready(&self) -> Result<()> {
        for _ in 0..300 {
            // The page before may still be going.
            if let Ok(root) = self.desk.driver.find(By::Css("html")).await
                && let Ok(Some(state)) = root.attr("data-drawing").await
                && state == "ready"
            {
                return Ok(());
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        anyhow::bail!("the drawing tool does not begin")
    }

    /// One level over the scan: its scale, rooms, doors, stair and stops.
    async fn draws_a_level(&self, scan: &str) -> Result<()> {
        let desk = self.desk;
        desk.driver.find(By::Id("picture-file")).await?.send_keys(scan).await?;
        desk.says("scale", "guess").await?;
        self.press(BAR[0]).await?;
        self.press(BAR[1]).await?;
        desk.fill("measure-length", "27").await?;
        desk.tap("measure-do").await?;
        desk.says("scale", "Scale set").await?;
        desk.tap("tool-room").await?;
        self.choose("which", 1).await?;
        self.drag((CORRIDOR[0], CORRIDOR[1]), (CORRIDOR[2], CORRIDOR[3])).await?;
        self.choose("which", 0).await?;
        for [left, top, right, bottom] in ROOMS {
            self.drag((left, top), (right, bottom)).await?;
        }
        desk.tap("tool-door").await?;
        for door in DOORS {
            self.press(door).await?;
        }
        desk.tap("tool-link").await?;
        self.press(STAIR).await?;
        desk.tap("stop-each").await?;
        // Seven rooms, seven doors, a stair, seven stops.
        ensure!(self.listed().await? == 22, "{} lines", self.listed().await?);
        Ok(())
    }
}

/// Ten minutes of a keeper's evening; by the page alone.
#[tokio::test(flavor = "multi_thread")]
async fn a_site_of_three_levels_is_drawn_over_a_scan() -> Result<()> {
    let sink = Sink::start().await?;
    let house = House::start(&sink.url)?;
    let desk = Window::start(1280, 900, false).await?;
    desk.begins(&house.begin_link).await?;
    desk.goto(&format!("{}/sites/new", house.url)).await?;
    for (field, text) in
        [("name", "Gannet Quay"), ("address", "4 Quay Street"), ("town", "Port Gannet")]
    {
        desk.fill(field, text).await?;
    }
    desk.press("main button.main").await?;
    desk.reads("Gannet Quay").await?;
    let site = desk.driver.current_url().await?.to_string();
    desk.goto(&format!("{site}/draw")).await?;
    let board = Board { desk: &desk };
    board.ready().await?;
    desk.photographed("draw-empty").await?;

    let scan = house.keep("scan.png", &scan()?)?;
    board.draws_a_level(&scan).await?;
    let one_level = board.guards_other_than(None).await?;
    desk.says("wrong", "Stair A").await?;
    desk.photographed("draw-level-day").await?;
    desk.tap("copy-up").await?;
    desk.tap("copy-up").await?;
    desk.says("answer", "of the floor is seen").await?;
    desk.photographed("draw-three-levels").await?;
    board.all_is_well().await?;
    for zone in ["ground", "level-1", "level-2"] {
        board.type_in(&format!("#zone-gap-{zone}"), "8").await?;
    }
    let strict = board.guards_other_than(Some(one_level)).await?;
    ensure!(strict > one_level, "{strict} guards for three levels each 8 min, {one_level} for one");

    // The browser keeps it: a page that is closed loses nothing.
    desk.reload().await?;
    board.ready().await?;
    desk.tap("offer-take").await?;
    ensure!(board.guards_other_than(None).await? > one_level, "the drawing came back whole");
    looks(&desk, &board).await?;

    desk.tap("save").await?;
    desk.reads("Zones: 3, stops: 21, levels: 3").await?;
    desk.reads("This is the site's first plan.").await?;
    desk.reads("From the most remote place to the nearest exit").await?;
    desk.photographed("draw-saved").await?;
    watch_by_it(&desk, &house, &site).await
}

/// By day and night, in Spanish, and on a tablet.
async fn looks(desk: &Window, board: &Board<'_>) -> Result<()> {
    for (name, value) in [("light", "night"), ("lang", "es"), ("light", "day"), ("lang", "en")] {
        desk.press(&format!("footer button[name='{name}'][value='{value}']")).await?;
        board.ready().await?;
        desk.tap("offer-take").await?;
        board.guards_other_than(None).await?;
        desk.tap("tool-choose").await?;
        board.press((600, 600)).await?;
        desk.photographed(&format!("draw-{name}-{value}")).await?;
    }
    let tablet = json!({ "width": 820, "height": 1180, "deviceScaleFactor": 1, "mobile": false });
    desk.driver.cdp().send_raw("Emulation.setDeviceMetricsOverride", tablet).await?;
    desk.reload().await?;
    board.ready().await?;
    desk.tap("offer-take").await?;
    board.guards_other_than(None).await?;
    let script = "return document.documentElement.scrollWidth <= innerWidth";
    let fits: bool = desk.driver.execute(script, Vec::new()).await?.convert()?;
    ensure!(fits, "wider than a tablet");
    desk.photographed("draw-tablet").await?;
    let wide = json!({ "width": 1280, "height": 900, "deviceScaleFactor": 1, "mobile": false });
    desk.driver.cdp().send_raw("Emulation.setDeviceMetricsOverride", wide).await?;
    Ok(())
}

/// A watch opened at the site stands on the drawn plan; a floor that appears is given to it.
async fn watch_by_it(desk: &Window, house: &House, site: &str) -> Result<()> {
    let id = site.rsplit('/').next().context("an id")?;
    desk.goto(&format!("{}/watch/new?site={id}", house.url)).await?;
    desk.fill("guard_name", "Jon Abara").await?;
    desk.fill("gap_min", "30").await?;
    desk.press("#opening button.main").await?;
    // The drawn 8 min hold, though 30 were asked for: one guard cannot keep them, and it is said first.
    desk.reads("One guard cannot keep this").await?;
    desk.press("input[name='anyway']").await?;
    desk.press("#opening button.main").await?;
    desk.reads("Jon Abara").await?;
    desk.goto(&format!("{site}/draw")).await?;
    let board = Board { desk };
    board.ready().await?;
    // The pictures came back with the plan that the site has: nothing is offered.
    ensure!(!desk.has("offer").await?, "the kept drawing is the site's own");
    desk.tap("level-level-2").await?;
    desk.tap("copy-up").await?;
    desk.tap("save").await?;
    desk.reads("New zones: Level 3").await?;
    desk.reads("7 stops more, 0 fewer").await?;
    desk.photographed("draw-running").await?;
    desk.press("form.inline button").await?;
    desk.reads("Has this plan.").await
}
