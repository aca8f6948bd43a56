//! A guard who walks by what the phone says, at a pace, with a list of what happens on the night.

use crate::Handset;
use crate::act::Act;
use anyhow::{Context, Result};
use phone::{Page, Place, Tap};
use std::collections::VecDeque;

/// How fast somebody walks.
#[derive(Debug, Clone, Copy)]
pub struct Pace {
    /// From one "I am here" to the next, ms.
    pub stride_ms: i64,
    /// Between two rounds, ms.
    pub rest_ms: i64,
}

/// Somebody on a watch.
pub struct Guard {
    /// The phone in the hand.
    pub phone: Handset,
    name: &'static str,
    pace: Pace,
    acts: VecDeque<(u32, Act)>,
    began_ms: i64,
    next_ms: i64,
    /// Whether the guard walks rounds now.
    on_duty: bool,
    /// Rounds are stopped for an emergency: nobody walks past smoke.
    stopped: bool,
    dead: bool,
}

impl Guard {
    /// Somebody whose phone is in. `acts` are told by the minute after now, in order.
    pub fn new(name: &'static str, phone: Handset, pace: Pace, acts: &[(u32, Act)]) -> Guard {
        let now_ms = phone.now_ms();
        let acts = acts.iter().copied().collect();
        Guard {
            phone,
            name,
            pace,
            acts,
            began_ms: now_ms,
            next_ms: now_ms,
            on_duty: false,
            stopped: false,
            dead: false,
        }
    }

    /// Begins the shift and reads the instructions, as far as the site has any.
    pub async fn begin(&mut self) -> Result<()> {
        self.phone.touch("i-am-here").await?;
        self.read_instructions().await?;
        self.next_ms = self.phone.now_ms();
        self.on_duty = true;
        Ok(())
    }

    async fn read_instructions(&mut self) -> Result<()> {
        self.phone.tap(Tap::Open(Page::Instructions)).await?;
        if self.phone.control("instructions-read").is_some() {
            self.phone.touch("instructions-read").await?;
        }
        self.phone.tap(Tap::Go(Place::Round)).await
    }

    /// Everything that is due by now.
    pub async fn turn(&mut self) -> Result<()> {
        if self.dead {
            return Ok(());
        }
        self.phone.tick().await?;
        let now_ms = self.phone.now_ms();
        while let Some((minute, act)) = self.acts.front().copied() {
            if now_ms < self.began_ms + i64::from(minute) * 60_000 {
                break;
            }
            self.acts.pop_front();
            let doing = format!("{} at minute {minute}: {act:?}", self.name);
            self.happens(act, now_ms).await.context(doing)?;
        }
        if self.on_duty && !self.stopped && now_ms >= self.next_ms {
            self.step(now_ms).await?;
        }
        Ok(())
    }

    async fn happens(&mut self, act: Act, now_ms: i64) -> Result<()> {
        match act {
            Act::HeldUp(minutes) => self.next_ms += i64::from(minutes) * 60_000,
            Act::TakesOver => {
                act.done(&mut self.phone).await?;
                self.read_instructions().await?;
                self.next_ms = now_ms;
                self.on_duty = true;
            }
            Act::Emergency(_) => {
                act.done(&mut self.phone).await?;
                self.stopped = true;
            }
            Act::StoodDown => {
                act.done(&mut self.phone).await?;
                self.next_ms = now_ms;
                self.stopped = false;
            }
            Act::Ends => {
                act.done(&mut self.phone).await?;
                self.on_duty = false;
            }
            Act::Dies => {
                act.done(&mut self.phone).await?;
                self.dead = true;
            }
            _ => act.done(&mut self.phone).await?,
        }
        Ok(())
    }

    /// One stop further; after the last the round is closed and the next one waits its time.
    async fn step(&mut self, now_ms: i64) -> Result<()> {
        if self.phone.control("i-am-here").is_some() {
            self.phone.touch("i-am-here").await?;
            self.next_ms = now_ms + self.pace.stride_ms;
        }
        if self.phone.control("all-clear").is_some() {
            self.phone.touch("all-clear").await?;
            self.next_ms = now_ms + self.pace.stride_ms + self.pace.rest_ms;
        }
        Ok(())
    }
}
