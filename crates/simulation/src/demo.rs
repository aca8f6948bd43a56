//! Gannet Quay and the Gannet Hotel, played on the real server with the phone's own core in each hand:
//! an hour without signal, late rounds, hot work with its tail, a relief, an emergency, a phone that dies
//! and the page of a notepad that takes over.

use crate::guard::Guard;
use crate::office::Office;
use crate::scenes::{HOTEL, QUAY, SCHOOL, Scene};
use crate::{Desk, Handset};
use ::phone::{Lang, Tap};
use anyhow::{Context, Result, ensure};
use jiff::Timestamp;
use ledger::WatchId;
use server::{Options, Running};
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::time::Duration;

/// What `cargo x demo` can be asked.
#[derive(Debug, Clone)]
pub struct DemoOptions {
    /// Folder of everything that is kept.
    pub data: PathBuf,
    /// Where to listen.
    pub listen: std::net::SocketAddr,
    /// Folder with the phone's files.
    pub web: PathBuf,
    /// The program that prints reports.
    pub printer: Option<PathBuf>,
    /// How many minutes of the night pass in a minute.
    pub speed: u32,
    /// Start without sites and watches.
    pub empty: bool,
}

/// The password of the demonstration's dispatcher.
pub const PASSWORD: &str = "lanterns along the quay";

/// Where Port Gannet keeps its clocks.
pub(crate) const ZONE: &str = "America/Chicago";
/// How long a guard is planned for, ms.
const SHIFT_MS: i64 = 12 * HOUR_MS;
const HOUR_MS: i64 = 3_600_000;

/// A running demonstration.
pub struct Demo {
    /// The server.
    pub running: Running,
    /// The one-time link, if the stage is empty.
    pub begin_link: Option<String>,
    /// The enrolment page of a phone that a visitor may take over.
    pub phone_path: Option<String>,
    /// The link by which an inspector reads the watch at the quay.
    pub inspector_link: Option<String>,
    /// The page of whoever carries that phone.
    visitor_path: Option<String>,
    desk: Option<Desk>,
    watches: Vec<WatchId>,
    guards: Vec<Guard>,
    offices: Vec<Office>,
    speed: u32,
}

/// What becomes of a demonstration while it goes on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Pace {
    /// The machine keeps only so many times the night's pace.
    Slower(u32),
    /// A visitor's phone was let in: the night goes on at its own pace.
    Visitor,
    /// Something was not as it was to be, and the night goes on.
    Otherwise(String),
}

/// The longest step of the clock in which nobody acts, s: a guard who looks twice within it would be late.
const STEP_S: u64 = 30;

/// After so many seconds of the demonstration it is judged whether the machine keeps its pace.
const JUDGED_AFTER: u64 = 30;

impl Demo {
    /// Starts the server and, unless it is to be empty, opens the watches and lets the phones in.
    pub async fn start(options: DemoOptions) -> Result<Demo> {
        let usual = Options::in_folder(&options.data);
        let server_options = Options {
            listen: options.listen,
            printer: options.printer,
            web: Some(options.web),
            organisation: "lantern".into(),
            // Half an hour of the visitor's own clock, however quickly the night passes.
            links_last: usual.links_last * options.speed.max(1),
            ..usual
        };
        let running = server::serve(server_options).await?;
        let mut demo = Demo {
            begin_link: running.app.begin_link(),
            running,
            phone_path: None,
            visitor_path: None,
            inspector_link: None,
            desk: None,
            watches: Vec::new(),
            guards: Vec::new(),
            offices: Vec::new(),
            speed: options.speed.max(1),
        };
        if let (false, Some(link)) = (options.empty, demo.begin_link.take()) {
            demo.seed(&link).await?;
        }
        Ok(demo)
    }

    /// Where the desk is.
    pub fn url(&self) -> String {
        self.running.app.public().to_owned()
    }

    async fn seed(&mut self, link: &str) -> Result<()> {
        let desk = Desk::begin(&self.url(), link, PASSWORD).await?;
        let mut seed = 0;
        for scene in [&HOTEL, &QUAY] {
            self.set(&desk, scene, &mut seed).await?;
        }
        let (watch, path) = desk.open(&SCHOOL, &self.local(2 * HOUR_MS)?).await?;
        if let Some(quay) = self.watches.get(1) {
            self.inspector_link = Some(desk.inspector(quay, "Fire Marshal M. Duarte").await?);
        }
        self.watches.push(watch);
        self.phone_path = Some(path);
        self.visitor_path = Some(format!("/people/{}", desk.person(SCHOOL.guard).await?));
        self.desk = Some(desk);
        Ok(())
    }

    /// Opens one watch and lets its phones in; the first guard begins.
    async fn set(&mut self, desk: &Desk, scene: &Scene, seed: &mut u64) -> Result<()> {
        let (watch, path) = desk.open(&scene.opening, &self.local(0)?).await?;
        self.watches.push(watch.clone());
        let mut last = String::new();
        for (place, cast) in scene.guards.iter().enumerate() {
            *seed += 1;
            let language = Lang::from_tag(cast.language);
            let app = self.running.app.clone();
            let true_ms = Box::new(move || app.clock.now_ms());
            let mut phone = Handset::new(&self.url(), *seed, language, true_ms).await?;
            let path = match place {
                0 => path.clone(),
                _ => {
                    let (person, path) = desk.person_in(cast.name).await?;
                    let (from, until) =
                        (self.local(3 * HOUR_MS)?, self.local(3 * HOUR_MS + SHIFT_MS)?);
                    desk.plan(&watch, &person, &from, &until).await?;
                    last = person;
                    path
                }
            };
            self.let_in(desk, &path, &mut phone).await?;
            let mut guard = Guard::new(cast.name, phone, cast.pace, cast.acts);
            if place == 0 {
                guard.begin().await?;
            }
            self.guards.push(guard);
        }
        let now_ms = self.running.app.clock.now_ms();
        self.offices.push(Office::new(watch, last, now_ms, scene.desk));
        Ok(())
    }

    /// The local time so much later than now, as a form takes it.
    fn local(&self, later_ms: i64) -> Result<String> {
        let at = Timestamp::from_millisecond(self.running.app.clock.now_ms() + later_ms)?;
        Ok(at.in_tz(ZONE)?.strftime("%Y-%m-%dT%H:%M").to_string())
    }

    /// Token, code read aloud, yes; then the phone asks until it is in.
    async fn let_in(&self, desk: &Desk, path: &str, phone: &mut Handset) -> Result<()> {
        let token = desk.token(path).await?;
        phone.tap(Tap::Enrol(token)).await?;
        let said = desk.post(path, &[("same", "true")]).await?;
        ensure!(said.status().is_redirection(), "not let in: {}", said.text().await?);
        for _ in 0..40 {
            self.running.app.clock.advance(Duration::from_secs(4));
            phone.tick().await?;
            if phone.control("i-am-here").is_some() || phone.control("take-over").is_some() {
                return Ok(());
            }
        }
        // A relief's phone has nothing to do before somebody offers.
        (phone.view().top.is_some()).then_some(()).context("the phone is not in")
    }

    /// The bundle of each watch as it stands, in the order in which they were opened.
    pub async fn bundles(&self) -> Result<Vec<Vec<u8>>> {
        let desk = self.desk.as_ref().context("an empty stage has no desk")?;
        let mut bundles = Vec::new();
        for watch in &self.watches {
            bundles.push(desk.download(&format!("/watch/{watch}/bundle")).await?);
        }
        Ok(bundles)
    }

    /// Plays so many minutes of the night as fast as the machine can.
    pub async fn play_min(&mut self, minutes: u32) -> Result<()> {
        for _ in 0..minutes * 2 {
            self.running.app.clock.advance(Duration::from_secs(STEP_S));
            self.turn().await?;
        }
        Ok(())
    }

    /// Makes the link of the visitor's phone anew: while the first part of the night was played the
    /// one before has run out.
    pub async fn renew_phone(&mut self) -> Result<()> {
        let (Some(desk), Some(path)) = (&self.desk, &mut self.phone_path) else { return Ok(()) };
        *path = desk.once_more(path).await?;
        Ok(())
    }

    /// What the visitor's link lets a phone in by, while the link can be opened.
    pub async fn visitors_token(&self) -> Result<String> {
        let desk = self.desk.as_ref().context("an empty stage has no desk")?;
        desk.token(self.phone_path.as_ref().context("nobody waits for a phone")?).await
    }

    /// Goes on at the chosen speed until the caller stops it, and at its own pace from the moment in which a
    /// visitor's phone is let in: the clock in a visitor's hand runs no faster. `told` hears of that, and once if the
    /// machine does not keep the speed.
    pub async fn go_on(&mut self, told: impl Fn(Pace)) -> Result<()> {
        let mut seconds = tokio::time::interval(Duration::from_secs(1));
        seconds.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
        let began = tokio::time::Instant::now();
        let (mut visited, mut said) = (false, BTreeSet::new());
        for second in 1_u64.. {
            seconds.tick().await;
            if !visited && self.visited().await? {
                visited = true;
                told(Pace::Visitor);
            }
            let ahead_s = if visited { 0 } else { u64::from(self.speed - 1) };
            for fault in self.pass(ahead_s).await {
                let says = format!("{fault:#}");
                if said.insert(says.clone()) {
                    told(Pace::Otherwise(says));
                }
            }
            if second == JUDGED_AFTER && !visited {
                let played_s = began.elapsed().as_secs() + second * u64::from(self.speed - 1);
                let kept = played_s / began.elapsed().as_secs().max(1);
                if kept * 10 < u64::from(self.speed) * 9 {
                    told(Pace::Slower(kept as u32));
                }
            }
        }
        Ok(())
    }

    /// Moves the clock on, in steps that everybody can follow. A visitor at the desk may have ended a watch or taken a
    /// guard's phone: what cannot be done then is no reason to stop.
    async fn pass(&mut self, mut ahead_s: u64) -> Vec<anyhow::Error> {
        let mut faults = Vec::new();
        loop {
            let step_s = ahead_s.min(STEP_S);
            self.running.app.clock.advance(Duration::from_secs(step_s));
            faults.extend(self.turns().await);
            ahead_s -= step_s;
            if ahead_s == 0 {
                return faults;
            }
        }
    }

    /// Whether a visitor's phone is in.
    pub async fn visited(&self) -> Result<bool> {
        let (Some(desk), Some(path)) = (&self.desk, &self.visitor_path) else { return Ok(false) };
        Ok(desk.page(path).await?.contains("/device/"))
    }

    async fn turn(&mut self) -> Result<()> {
        self.turns().await.into_iter().next().map_or(Ok(()), Err)
    }

    /// Everybody does what is due; what could not be done is left out.
    async fn turns(&mut self) -> Vec<anyhow::Error> {
        let mut faults = Vec::new();
        for guard in &mut self.guards {
            faults.extend(guard.turn().await.err());
        }
        let now_ms = self.running.app.clock.now_ms();
        if let Some(desk) = &self.desk {
            for office in &mut self.offices {
                faults.extend(office.turn(desk, now_ms).await.err());
            }
        }
        faults
    }
}
