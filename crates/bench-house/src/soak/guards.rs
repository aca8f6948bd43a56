//! Guards with scripted phones: each keeps a watch for some minutes, sees it released and keeps another.

use crate::house::OPENING;
use anyhow::{Context, Result, ensure};
use ledger::WatchId;
use record::{
    Entry, Heartbeat, HowSeen, Note, RoundBegan, RoundEnded, Seen, ShiftBegan, StopId, Words,
    ZoneId,
};
use simulation::{Desk, Opening, Phone};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;
use tokio::task::JoinSet;
use tokio::time::Instant;

/// Lines that a guard writes and sends at once: a round.
const LINES_A_ROUND: u32 = 10;

/// So many rounds make a watch; the first of each guard are shorter, so that they do not all end at once.
const ROUNDS_A_WATCH: u32 = 120;

/// Everybody on duty.
pub(super) struct Guards {
    /// The desk that they all have.
    pub(super) desk: Arc<Desk>,
    on_duty: JoinSet<Result<()>>,
    sent: Arc<AtomicU64>,
}

/// What one guard goes by.
struct Guard {
    desk: Arc<Desk>,
    url: String,
    number: u32,
    of: u32,
    every: Duration,
    sent: Arc<AtomicU64>,
}

impl Guards {
    /// Sends `phones` guards out, who together write `per_s` lines a second.
    pub(super) fn begin(desk: Desk, url: &str, per_s: u32, phones: u32) -> Guards {
        let (desk, sent) = (Arc::new(desk), Arc::new(AtomicU64::new(0)));
        let mut on_duty = JoinSet::new();
        for number in 0..phones {
            let guard = Guard {
                desk: desk.clone(),
                url: url.to_owned(),
                number,
                of: phones,
                every: Duration::from_secs(1) * LINES_A_ROUND * phones / per_s.max(1),
                sent: sent.clone(),
            };
            on_duty.spawn(guard.walks());
        }
        Guards { desk, on_duty, sent }
    }

    /// Lines with a receipt so far.
    pub(super) fn sent(&self) -> u64 {
        self.sent.load(Ordering::Relaxed)
    }

    /// A guard only ever stops because something went wrong.
    pub(super) async fn still_there(&mut self) -> Result<()> {
        match self.on_duty.try_join_next() {
            None => Ok(()),
            Some(ended) => ended?.context("a guard could not go on"),
        }
    }

    /// Everybody goes home.
    pub(super) async fn end(mut self) {
        self.on_duty.shutdown().await;
    }
}

impl Guard {
    async fn walks(self) -> Result<()> {
        let mut next = Instant::now() + self.every * self.number / self.of;
        let mut rounds = ROUNDS_A_WATCH * (self.number + 1) / self.of;
        for nth in 0.. {
            let (watch, mut phone) = self.begins(nth).await?;
            for round in 1..=rounds.max(1) {
                tokio::time::sleep_until(next).await;
                // Who falls behind does not run after it: the rate that was reached is told.
                next = Instant::now().max(next + self.every);
                phone.now_ms = now_ms();
                for entry in round_of(round)? {
                    phone.write(&watch, entry, Words::default())?;
                }
                phone.write(
                    &watch,
                    Note { of: None },
                    Words::from_text("All quiet by the hoist."),
                )?;
                phone.sync().await?;
                ensure!(phone.waiting() == 0, "lines without a receipt are left");
                self.sent.fetch_add(u64::from(LINES_A_ROUND), Ordering::Relaxed);
            }
            let form = [("by", "authority"), ("written", "true"), ("words", "")];
            let said = self.desk.post(&format!("/watch/{watch}/release"), &form).await?;
            ensure!(said.status().is_redirection(), "not released: {}", said.text().await?);
            rounds = ROUNDS_A_WATCH;
        }
        Ok(())
    }

    /// Another watch with a phone of its own, and the guard on duty.
    async fn begins(&self, nth: u64) -> Result<(WatchId, Phone)> {
        let local = jiff::Timestamp::from_millisecond(now_ms())?.in_tz("America/Chicago")?;
        let from = local.strftime("%Y-%m-%dT%H:%M").to_string();
        // The same form again within seconds would be the same press.
        let order = format!("Order {}-{nth}", self.number);
        let opening = Opening { order: Box::leak(order.into_boxed_str()), ..OPENING };
        let (watch, path) = self.desk.open(&opening, &from).await?;
        let seed = u64::from(self.number) << 32 | nth;
        let mut phone = Phone::new(&self.url, seed, now_ms());
        self.desk.let_in(&path, &mut phone).await?;
        phone.write(&watch, ShiftBegan { until_ms: None, silent: false }, Words::default())?;
        phone.sync().await?;
        Ok((watch, phone))
    }
}

/// A round but for its note: begun, six floors looked at, ended, a sign of life.
fn round_of(round: u32) -> Result<Vec<Entry>> {
    let mut entries: Vec<Entry> = vec![RoundBegan { round }.into()];
    for floor in 1..=6 {
        let name = format!("floor-{floor}");
        let (stop, zone) = (StopId::new(&*name)?, ZoneId::new(name)?);
        let how = HowSeen::Hand;
        entries.push(Seen { stop, zone, how, tag: None, round, fix: false }.into());
    }
    entries.push(RoundEnded { round, all_clear: true, seen: 6 }.into());
    entries.push(Heartbeat { battery: Some(80), waiting: 9, free_kib: None }.into());
    Ok(entries)
}

fn now_ms() -> i64 {
    jiff::Timestamp::now().as_millisecond()
}
