//! A world by seed: one watch, its guards with the phone's own core, a network, clocks and a server
//! that fail. When a night is over and every phone was heard, the auditor says whether the record tells
//! what happened.

use crate::auditor::{Audit, Auditor};
use crate::chance::Chance;
use crate::{Desk, Handset, Opening, Radio, judge, rollback};
use ::phone::{Lang, Page, Place, Tap};
use anyhow::{Context, Result, ensure};
use ledger::WatchId;
use server::{Options, Running};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::Duration;
use tempfile::TempDir;

/// The site of every world.
const OPENING: Opening = Opening {
    name: "Gannet Quay",
    address: "1 Quay Street",
    floors: 3,
    gap_min: 15,
    out: "sprinkler",
    guard: "Jon Abara",
    language: "en",
    order: "Order 26-115",
    plan: None,
};
const RELIEF: &str = "Ana Pires";
/// One step of the world, ms.
const STEP_MS: i64 = 30_000;
/// Steps of a night: two hours, a relief in the middle.
const STEPS: i64 = 240;
/// Steps after it, with every radio on, until all must be in.
const SETTLES: i64 = 60;

/// What can go wrong, about once in so many steps; 0 never.
#[derive(Debug, Clone, Copy)]
pub struct Weather {
    /// The radio changes its mind.
    pub radio: u64,
    /// The phone's program is killed and started.
    pub phone_dies: u64,
    /// The phone's wall clock is set, by up to 12 h.
    pub clock_set: u64,
    /// The server is stopped and started on what is on its disk.
    pub server_restarts: u64,
    /// A copy of the record is made; the next time the server loses everything but the marks and
    /// comes back from that copy.
    pub rolls_back: u64,
    /// The guard dawdles, by up to 20 min.
    pub dawdles: u64,
}

impl Weather {
    /// Everything at once.
    pub const FOUL: Weather =
        Weather { server_restarts: 60, clock_set: 160, rolls_back: 0, ..Weather::ROLLBACKS };

    /// The server comes back from old copies again and again.
    pub const ROLLBACKS: Weather = Weather {
        radio: 12,
        phone_dies: 40,
        clock_set: 0,
        server_restarts: 0,
        rolls_back: 40,
        dawdles: 30,
    };
}

/// Plays the night of a seed in a folder and audits it.
pub async fn play(folder: &Path, seed: u64, weather: Weather) -> Result<Audit> {
    let mut world = World::begin(folder, seed, weather).await?;
    world.night().await?;
    world.settle().await?;
    world.audit().await
}

struct World {
    chance: Chance,
    weather: Weather,
    options: Options,
    running: Option<Running>,
    /// How far the world is ahead of the machine's clock, ms.
    ahead_ms: Arc<AtomicI64>,
    desk: Desk,
    watch: WatchId,
    guards: Vec<Walker>,
    on_duty: usize,
    auditor: Auditor,
    copy: Option<TempDir>,
    rolled_back: usize,
}

struct Walker {
    phone: Handset,
    next_ms: i64,
}

impl World {
    async fn begin(folder: &Path, seed: u64, weather: Weather) -> Result<World> {
        let ahead = if seed.is_multiple_of(2) { to_new_years_eve()? } else { Duration::ZERO };
        let options =
            Options { organisation: "lantern".into(), ahead, ..Options::in_folder(folder) };
        let running = server::serve(options.clone()).await?;
        let url = running.app.public().to_owned();
        let options = Options { listen: running.local, ..options };
        let link = running.app.begin_link().context("an empty folder makes a link")?;
        let desk = Desk::begin(&url, &link, crate::demo::PASSWORD).await?;
        let ahead_ms = Arc::new(AtomicI64::new(0));
        let now = jiff::Timestamp::from_millisecond(running.app.clock.now_ms())?;
        let local = now.in_tz("America/Chicago")?.strftime("%Y-%m-%dT%H:%M").to_string();
        let (watch, path) = desk.open(&OPENING, &local).await?;
        let mut world = World {
            chance: Chance::new(seed),
            weather,
            options,
            running: Some(running),
            ahead_ms,
            desk,
            watch,
            guards: Vec::new(),
            on_duty: 0,
            auditor: Auditor::default(),
            copy: None,
            rolled_back: 0,
        };
        world.enrol(&url, seed * 2, &path).await?;
        let (person, path) = world.desk.person_in(RELIEF).await?;
        let later = now.checked_add(jiff::SignedDuration::from_hours(12))?;
        let until = later.in_tz("America/Chicago")?.strftime("%Y-%m-%dT%H:%M").to_string();
        world.desk.plan(&world.watch, &person, &local, &until).await?;
        world.enrol(&url, seed * 2 + 1, &path).await?;
        Ok(world)
    }

    async fn enrol(&mut self, url: &str, seed: u64, path: &str) -> Result<()> {
        let clock = self.running.as_ref().context("the server runs")?.app.clone();
        let began_ms = clock.clock.now_ms();
        let began = tokio::time::Instant::now();
        drop(clock);
        let ahead_ms = self.ahead_ms.clone();
        let at_start_ms = ahead_ms.load(Ordering::Relaxed);
        // True time goes on also while the server is down.
        let true_ms = Box::new(move || {
            let ahead = ahead_ms.load(Ordering::Relaxed) - at_start_ms;
            began_ms + began.elapsed().as_millis() as i64 + ahead
        });
        let mut phone = Handset::new(url, seed, Lang::En, true_ms).await?;
        let token = self.desk.token(path).await?;
        phone.tap(Tap::Enrol(token)).await?;
        let said = self.desk.post(path, &[("same", "true")]).await?;
        ensure!(said.status().is_redirection(), "not let in: {}", said.text().await?);
        for _ in 0..20 {
            self.goes_by(4_000);
            phone.tick().await?;
        }
        let next_ms = phone.now_ms();
        self.guards.push(Walker { phone, next_ms });
        Ok(())
    }

    fn goes_by(&self, ms: i64) {
        self.ahead_ms.fetch_add(ms, Ordering::Relaxed);
        if let Some(running) = &self.running {
            running.app.clock.advance(Duration::from_millis(ms.unsigned_abs()));
        }
    }

    async fn night(&mut self) -> Result<()> {
        let first = &mut self.guards[0];
        first.phone.touch("i-am-here").await?;
        first.phone.tap(Tap::Go(Place::Round)).await?;
        self.auditor.begins(first.phone.now_ms());
        for step in 0..STEPS {
            self.goes_by(STEP_MS);
            self.storms().await?;
            if step == STEPS / 2 {
                self.relief().await?;
            }
            for place in 0..self.guards.len() {
                self.walks(place).await?;
            }
        }
        let last = &mut self.guards[self.on_duty];
        last.phone.tap(Tap::Open(Page::End)).await?;
        last.phone.touch("end-clear").await?;
        let now_ms = last.phone.now_ms();
        self.auditor.reads(&last.phone);
        // Until somebody releases the watch every place is owed its look, whoever has gone home.
        let form = [("by", "authority"), ("written", "true"), ("words", "")];
        let said = self.desk.post(&format!("/watch/{}/release", self.watch), &form).await?;
        ensure!(said.status().is_redirection(), "not released: {}", said.text().await?);
        self.auditor.ends(now_ms);
        Ok(())
    }

    /// What goes wrong in this step.
    async fn storms(&mut self) -> Result<()> {
        let Weather { radio, phone_dies, clock_set, server_restarts, rolls_back, dawdles } =
            self.weather;
        let mut happens = |n: u64| n > 0 && self.chance.once_in(n);
        let (server, rolls_back) = (happens(server_restarts), happens(rolls_back));
        let each: Vec<[bool; 4]> = self
            .guards
            .iter()
            .map(|_| [happens(radio), happens(phone_dies), happens(clock_set), happens(dawdles)])
            .collect();
        if server {
            self.server_restarts().await?;
        }
        if rolls_back {
            match self.copy.take() {
                None => self.copy = Some(rollback::copy(&self.options).await?),
                Some(copy) => self.rolls_back(&copy).await?,
            }
        }
        for (place, [radio, dies, set, dawdles]) in each.into_iter().enumerate() {
            let radios = [Radio::On, Radio::Off, Radio::DropsAnswers];
            let choice = self.chance.between(0, 3) as usize;
            let by_ms = self.chance.between(-12 * 3_600_000, 12 * 3_600_000);
            let late_ms = self.chance.between(0, 20 * 60_000);
            let walker = &mut self.guards[place];
            if radio {
                walker.phone.radio = radios[choice];
            }
            if set {
                walker.phone.clock_off_ms = by_ms;
            }
            if dies {
                walker.phone.start().await?;
            }
            if dawdles {
                walker.next_ms += late_ms;
            }
        }
        Ok(())
    }

    /// Stopped and started again on the same address. That `kill -9` loses nothing is tested where a
    /// process of its own can be killed; here everything is built again from the disk.
    async fn server_restarts(&mut self) -> Result<()> {
        if let Some(running) = self.running.take() {
            running.stop().await;
        }
        self.running = Some(server::serve(self.options_now()).await?);
        Ok(())
    }

    fn options_now(&self) -> Options {
        let ahead_ms = self.ahead_ms.load(Ordering::Relaxed);
        let ahead = self.options.ahead + Duration::from_millis(ahead_ms.unsigned_abs());
        Options { ahead, ..self.options.clone() }
    }

    /// The record is lost but for the marks, and an older copy is put in its place.
    async fn rolls_back(&mut self, copy: &TempDir) -> Result<()> {
        if let Some(running) = self.running.take() {
            running.stop().await;
        }
        let (running, noticed) = rollback::put_back(copy, self.options_now()).await?;
        self.running = Some(running);
        self.rolled_back += usize::from(noticed);
        Ok(())
    }

    /// The relief: both stand together, so both radios are on until it is done.
    async fn relief(&mut self) -> Result<()> {
        for place in [0, 1] {
            self.guards[place].phone.radio = Radio::On;
        }
        self.guards[0].phone.tap(Tap::Open(Page::Relief)).await?;
        self.guards[0].phone.touch("offer").await?;
        for _ in 0..20 {
            self.goes_by(STEP_MS);
            for place in [0, 1] {
                self.guards[place].phone.tick().await?;
            }
            if self.guards[1].phone.control("take-over").is_some() {
                break;
            }
        }
        self.guards[1].phone.touch("take-over").await?;
        self.guards[1].phone.tap(Tap::Go(Place::Round)).await?;
        self.guards[1].next_ms = self.guards[1].phone.now_ms();
        self.on_duty = 1;
        for _ in 0..4 {
            self.goes_by(STEP_MS);
            self.guards[0].phone.tick().await?;
        }
        self.guards[0].phone.tap(Tap::Open(Page::End)).await?;
        self.guards[0].phone.touch("end-clear").await
    }

    async fn walks(&mut self, place: usize) -> Result<()> {
        let pace_ms = self.chance.between(60_000, 150_000);
        let walker = &mut self.guards[place];
        walker.phone.tick().await?;
        let now_ms = walker.phone.now_ms();
        if place == self.on_duty && now_ms >= walker.next_ms {
            if let Some(control) = walker.phone.control("i-am-here") {
                let zone = next_zone(&walker.phone);
                walker.phone.tap(control.tap).await?;
                if let Some(zone) = zone {
                    self.auditor.stands(&zone, walker.phone.now_ms());
                }
                walker.next_ms = now_ms + pace_ms;
            }
            if walker.phone.control("all-clear").is_some() {
                walker.phone.touch("all-clear").await?;
                walker.next_ms = now_ms + pace_ms;
            }
        }
        self.auditor.reads(&walker.phone);
        Ok(())
    }

    async fn settle(&mut self) -> Result<()> {
        for _ in 0..SETTLES {
            self.goes_by(STEP_MS);
            for walker in &mut self.guards {
                walker.phone.radio = Radio::On;
                walker.phone.tick().await?;
                self.auditor.reads(&walker.phone);
            }
        }
        Ok(())
    }

    async fn audit(mut self) -> Result<Audit> {
        let bytes = self.desk.download(&format!("/watch/{}/bundle", self.watch)).await?;
        let judged = judge::judge(&bytes)?;
        let mut audit = self.auditor.audits(
            &judged.lines,
            i64::from(OPENING.gap_min) * 60,
            &judged.findings,
        )?;
        audit.rolled_back = self.rolled_back;
        if let Some(running) = self.running.take() {
            running.stop().await;
        }
        Ok(audit)
    }
}

/// So far ahead is an hour before the next New Year (UTC): every second night is that one.
fn to_new_years_eve() -> Result<Duration> {
    let now = jiff::Timestamp::now();
    let year = now.in_tz("UTC")?.year();
    let midnight = jiff::civil::date(year + 1, 1, 1).in_tz("UTC")?.timestamp();
    let left_s = midnight.as_second() - now.as_second() - 3_600;
    Ok(Duration::from_secs(left_s.max(0).unsigned_abs()))
}

/// The zone of the stop that the screen names next: on these floors a stop and its zone share a name.
fn next_zone(phone: &Handset) -> Option<String> {
    let view = phone.view();
    let stop = view.blocks.iter().find_map(|block| match block {
        ::phone::view::Block::Heading { id: "next-stop", text, .. } => Some(text.clone()),
        _ => None,
    })?;
    Some(stop.to_lowercase().replace([' ', '\u{a0}'], "-"))
}
