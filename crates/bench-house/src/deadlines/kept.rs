//! The watches of the bench, each kept by a phone that has looked once at every zone and then falls silent.

use super::GAP_MS;
use super::counted::Deadline;
use crate::returning;
use anyhow::Result;
use ledger::WatchId;
use record::{HowSeen, RoundBegan, Seen, ShiftBegan, StopId, Words, ZoneId};
use server::Running;
use simulation::{Desk, Opening, Phone};

/// One watch with its phone.
pub(super) struct Kept {
    watch: WatchId,
    phone: Phone,
}

impl Kept {
    /// Opens a watch; its guard arrives.
    pub(super) async fn open(
        running: &Running,
        desk: &Desk,
        opening: &Opening,
        from: &str,
        seed: u64,
    ) -> Result<Kept> {
        let (watch, path) = desk.open(opening, from).await?;
        let now_ms = running.app.clock.now_ms();
        let mut phone = Phone::new(running.app.public(), seed, now_ms);
        desk.let_in(&path, &mut phone).await?;
        phone.write(&watch, ShiftBegan { until_ms: None, silent: false }, Words::default())?;
        phone.write(&watch, RoundBegan { round: 1 }, Words::default())?;
        phone.sync().await?;
        Ok(Kept { watch, phone })
    }

    fn sees(&mut self, zone: &ZoneId, at_ms: i64) -> Result<()> {
        self.phone.now_ms = at_ms;
        let seen = Seen {
            stop: StopId::new(zone.as_str())?,
            zone: zone.clone(),
            how: HowSeen::Hand,
            tag: None,
            round: 1,
            fix: false,
        };
        self.phone.write(&self.watch, seen, Words::default())?;
        Ok(())
    }
}

/// Every zone of every watch is seen once, evenly over a stretch: what must be written a gap later.
pub(super) async fn look(
    mut kept: Vec<Kept>,
    zones: u32,
    from_ms: i64,
    over_ms: i64,
) -> Result<Vec<Deadline>> {
    let (watches, mut deadlines) = (kept.len() as i64, Vec::new());
    for zone in 0..i64::from(zones) {
        let name = ZoneId::new(format!("floor-{}", zone + 1))?;
        for (number, one) in (0i64..).zip(&mut kept) {
            let nth = zone * watches + number;
            let seen_ms = from_ms + over_ms * nth / (watches * i64::from(zones));
            one.sees(&name, seen_ms)?;
            let (watch, zone) = (one.watch.clone(), name.clone());
            deadlines.push(Deadline { watch, zone, due_ms: seen_ms + GAP_MS });
        }
    }
    returning::all(kept.into_iter().map(|one| one.phone)).await?;
    Ok(deadlines)
}
