//! What the desk does on the night of the demonstration, by the forms that stand on its pages.

use crate::demo::ZONE;
use crate::{Desk, notepad};
use anyhow::{Context, Result, ensure};
use jiff::Timestamp;
use ledger::WatchId;

/// One thing that somebody at the desk does for a watch.
#[derive(Debug, Clone, Copy)]
pub(crate) enum DeskAct {
    /// Tells somebody that the system is out.
    Notifies {
        /// The party's code.
        party: &'static str,
        /// The system's code.
        system: &'static str,
    },
    /// Lets the last guard of the watch go on with paper: their phone is dead.
    AllowsPaper,
    /// The guard whose phone died hands in a page of a notepad; its lines are typed beside its picture.
    Notepad {
        /// Zones in the order walked, and what the guard called them on the page.
        walked: &'static [(&'static str, &'static str)],
        /// How many minutes ago the first of them was seen; the others a minute apart each.
        minutes_ago: i64,
    },
}

/// Somebody at the desk with a watch to look after.
pub(crate) struct Office {
    watch: WatchId,
    /// Whose notepad it is: the last guard of the watch.
    writer: String,
    began_ms: i64,
    acts: Vec<(u32, DeskAct)>,
}

impl Office {
    pub(crate) fn new(
        watch: WatchId,
        writer: String,
        began_ms: i64,
        acts: &[(u32, DeskAct)],
    ) -> Office {
        Office { watch, writer, began_ms, acts: acts.to_vec() }
    }

    /// Everything that is due by now.
    pub(crate) async fn turn(&mut self, desk: &Desk, now_ms: i64) -> Result<()> {
        while let Some((minute, act)) = self.acts.first().copied() {
            if now_ms < self.began_ms + i64::from(minute) * 60_000 {
                break;
            }
            self.acts.remove(0);
            let doing = format!("the desk at minute {minute}: {act:?}");
            self.happens(desk, act, now_ms).await.context(doing)?;
        }
        Ok(())
    }

    async fn happens(&self, desk: &Desk, act: DeskAct, now_ms: i64) -> Result<()> {
        match act {
            DeskAct::Notifies { party, system } => {
                let form = [
                    ("party", party),
                    ("means", "phone"),
                    ("system", system),
                    ("reached", "true"),
                    ("restored", "false"),
                ];
                self.writes(desk, "notified", &form).await
            }
            DeskAct::AllowsPaper => {
                self.writes(desk, "paper", &[("why", "phone_dead"), ("guard", &self.writer)]).await
            }
            DeskAct::Notepad { walked, minutes_ago } => {
                let at_ms = |n: usize| now_ms + (n as i64 - minutes_ago) * 60_000;
                self.types(desk, walked, at_ms).await
            }
        }
    }

    async fn types(
        &self,
        desk: &Desk,
        walked: &[(&str, &str)],
        at_ms: impl Fn(usize) -> i64,
    ) -> Result<()> {
        let local = |n: usize, form: &str| -> Result<String> {
            let at = Timestamp::from_millisecond(at_ms(n))?.in_tz(ZONE)?;
            Ok(at.strftime(form).to_string())
        };
        let mut written = Vec::new();
        for (n, (_, called)) in walked.iter().enumerate() {
            written.push(format!("{} {called} OK", local(n, "%H:%M")?));
        }
        let picture = notepad::page(&written, 1)?;
        let page = desk.hand_in(&self.watch, &picture).await?;
        let mut form = vec![("writer".to_owned(), self.writer.clone())];
        for (n, (zone, _)) in walked.iter().enumerate() {
            let row = n + 1;
            form.push((format!("what-{row}"), "seen".to_owned()));
            form.push((format!("time-{row}"), local(n, "%Y-%m-%dT%H:%M")?));
            form.push((format!("zone-{row}"), (*zone).to_owned()));
        }
        let form: Vec<(&str, &str)> = form.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
        let answer = desk.post(&page, &form).await?;
        ensure!(answer.status().is_redirection(), "refused: {}", answer.text().await?);
        self.writes(desk, "sheets", &[("sheets", "1")]).await
    }

    async fn writes(&self, desk: &Desk, form: &str, fields: &[(&str, &str)]) -> Result<()> {
        let answer = desk.post(&format!("/watch/{}/{form}", self.watch), fields).await?;
        ensure!(answer.status().is_redirection(), "refused: {}", answer.text().await?);
        Ok(())
    }
}
