//! Gannet Quay and the Gannet Hotel, played on the real server: two guards, an hour without signal, a
//! stair that is seen late, a wedged door, a relief still to come. Invented people and places; nothing
//! here has a number that can be dialled.

use crate::{Desk, Opening, Phone};
use anyhow::Result;
use ledger::WatchId;
use record::{
    Acted, ClosedObservation, Communication, HazardClass, HowSeen, InstructionsRead, Means,
    Observed, Party, RoundBegan, RoundEnded, Seen, Severity, ShiftBegan, StopId, WhatDone, Words,
    ZoneId,
};
use server::{Options, Running};
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

const HOTEL: Opening = Opening {
    name: "Gannet Hotel",
    address: "4 Quay Street",
    floors: 9,
    gap_min: 15,
    out: "fire_alarm",
    guard: "Marta Ilves",
    language: "en",
    order: "Order 26-114",
};

const QUAY: Opening = Opening {
    name: "Gannet Quay",
    address: "1 Quay Street",
    floors: 6,
    gap_min: 30,
    out: "sprinkler",
    guard: "Jon Abara",
    language: "es",
    order: "Order 26-115",
};

/// A running demonstration.
pub struct Demo {
    /// The server.
    pub running: Running,
    /// The one-time link, if the stage is empty.
    pub begin_link: Option<String>,
    /// The enrolment page of a phone that a visitor may take over.
    pub phone_path: Option<String>,
    players: Vec<Player>,
    speed: u32,
}

/// One guard on a watch.
struct Player {
    watch: WatchId,
    phone: Phone,
    floors: u32,
    gap_ms: i64,
    round: u32,
    at: u32,
    next_ms: i64,
    without_signal: (i64, i64),
    late_round: u32,
    guard: &'static str,
    began_ms: i64,
}

impl Demo {
    /// Starts the server and, unless it is to be empty, opens the watches and lets the phones in.
    pub async fn start(options: DemoOptions) -> Result<Demo> {
        let server_options = Options {
            listen: options.listen,
            printer: options.printer,
            web: Some(options.web),
            organisation: "lantern".into(),
            ..Options::in_folder(&options.data)
        };
        let running = server::serve(server_options).await?;
        let mut demo = Demo {
            begin_link: running.app.begin_link(),
            running,
            phone_path: None,
            players: Vec::new(),
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
        let url = self.url();
        let desk = Desk::begin(&url, link, PASSWORD).await?;
        for (seed, opening, late_round) in [(11, HOTEL, 5), (12, QUAY, 3)] {
            let (watch, path) = desk.open(&opening, "2026-01-01T20:00").await?;
            let now_ms = self.running.app.clock.now_ms();
            let mut phone = Phone::new(&url, seed, now_ms);
            desk.let_in(&path, &mut phone).await?;
            let hour = 3_600_000;
            self.players.push(Player {
                watch,
                phone,
                floors: opening.floors,
                gap_ms: i64::from(opening.gap_min) * 60_000,
                round: 0,
                at: 0,
                next_ms: now_ms,
                without_signal: match seed {
                    12 => (now_ms + hour, now_ms + 2 * hour),
                    _ => (0, 0),
                },
                late_round,
                guard: opening.guard,
                began_ms: now_ms,
            });
        }
        let spare = Opening { name: "Tern Street School", guard: "Ana Pires", floors: 2, ..QUAY };
        let (_, path) = desk.open(&spare, "2026-01-01T20:00").await?;
        self.phone_path = Some(path);
        Ok(())
    }

    /// Plays so many minutes of the night as fast as the machine can.
    pub async fn play_min(&mut self, minutes: u32) -> Result<()> {
        for _ in 0..minutes * 2 {
            self.running.app.clock.advance(Duration::from_secs(30));
            self.turn().await?;
        }
        Ok(())
    }

    /// Goes on at the chosen speed until the caller stops it.
    pub async fn go_on(&mut self) -> Result<()> {
        let mut seconds = tokio::time::interval(Duration::from_secs(1));
        loop {
            seconds.tick().await;
            let ahead = u64::from(self.speed - 1);
            self.running.app.clock.advance(Duration::from_secs(ahead));
            self.turn().await?;
        }
    }

    async fn turn(&mut self) -> Result<()> {
        let now_ms = self.running.app.clock.now_ms();
        for player in &mut self.players {
            player.turn(now_ms).await?;
        }
        Ok(())
    }
}

impl Player {
    async fn turn(&mut self, now_ms: i64) -> Result<()> {
        self.phone.now_ms = now_ms;
        let (off_ms, on_ms) = self.without_signal;
        self.phone.signal = !(off_ms..on_ms).contains(&now_ms);
        if self.round == 0 {
            self.begin()?;
        }
        if now_ms >= self.next_ms {
            self.step(now_ms)?;
        }
        self.phone.sync().await
    }

    fn begin(&mut self) -> Result<()> {
        let mut words = Words::default();
        words.names.insert("guard".into(), self.guard.into());
        let until_ms = Some(self.began_ms + 12 * 3_600_000);
        self.phone.write(&self.watch, ShiftBegan { until_ms, silent: false }, words)?;
        let read =
            InstructionsRead { instructions: ledger::Digest::of(b"as handed over"), version: 1 };
        self.phone.write(&self.watch, read, Words::default())?;
        self.round = 1;
        self.phone.write(&self.watch, RoundBegan { round: 1 }, Words::default())?;
        Ok(())
    }

    /// One stop further; after the last the round ends and the next begins in time, but for one.
    fn step(&mut self, now_ms: i64) -> Result<()> {
        let floor = format!("floor-{}", self.at + 1);
        let seen = Seen {
            stop: StopId::new(floor.clone())?,
            zone: ZoneId::new(floor.clone())?,
            how: HowSeen::Hand,
            tag: None,
            round: self.round,
            fix: false,
        };
        self.phone.write(&self.watch, seen, Words::default())?;
        if self.round == 2 && self.at == 1 {
            self.observe(&floor)?;
        }
        let stride_ms = self.gap_ms * 6 / 10 / i64::from(self.floors);
        self.at += 1;
        self.next_ms = now_ms + stride_ms;
        if self.at == self.floors {
            let ended =
                RoundEnded { round: self.round, all_clear: self.round != 2, seen: self.floors };
            self.phone.write(&self.watch, ended, Words::default())?;
            self.round += 1;
            self.at = 0;
            let rest_ms = self.gap_ms * 2 / 10;
            let late_ms = if self.round == self.late_round { self.gap_ms } else { 0 };
            self.next_ms = now_ms + stride_ms + rest_ms + late_ms;
            self.phone.write(&self.watch, RoundBegan { round: self.round }, Words::default())?;
        }
        Ok(())
    }

    fn observe(&mut self, floor: &str) -> Result<()> {
        let observed = Observed {
            class: HazardClass::FireDoors,
            severity: Severity::ThisRound,
            zone: Some(ZoneId::new(floor)?),
            stop: Some(StopId::new(floor)?),
            place: None,
            at_ms: None,
            again: None,
        };
        let of = self.phone.write(
            &self.watch,
            observed,
            Words::from_text("Stair door wedged open with a paint tin"),
        )?;
        let acted = Acted { of, done: vec![WhatDone::Shut], at_ms: None };
        self.phone.write(&self.watch, acted, Words::default())?;
        let told = Communication {
            party: Party::Foreman,
            means: Means::InPerson,
            of: Some(of),
            at_ms: None,
            reached: true,
        };
        self.phone.write(&self.watch, told, Words::default())?;
        if self.floors > 6 {
            let closed = ClosedObservation { of, done: vec![WhatDone::Shut] };
            self.phone.write(&self.watch, closed, Words::default())?;
        }
        Ok(())
    }
}
