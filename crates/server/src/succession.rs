//! One log for each organisation and year (UTC), one after the other: when a year is over its log is
//! closed with a leaf that names the next, and that one takes lines in. A log that lost its end is
//! followed too, without such a leaf: nothing of it is signed any more.

use crate::options::{Options, StartError};
use crate::packing::log_key;
use crate::problem::Problem;
use crate::reached_at::Site;
use crate::server::App;
use jiff::civil::DateTime;
use jiff::{Timestamp, tz::TimeZone};
use ledger::{HeadRef, SignedHead, Vkey};
use std::sync::Arc;
use store::{Cut, Store, StoreError};

/// Earlier logs that vouch for the newest one at most, for a phone that has not seen any.
const VOUCHERS_MAX: usize = 8;

/// A leaf: in which log, at which index.
pub(crate) type Leaf = (Arc<str>, u64);

/// The logs of the house.
#[derive(Debug, Clone)]
pub(crate) struct Logs {
    /// The log that takes lines in now.
    pub(crate) current: Arc<str>,
    /// When its year is over, ms UTC.
    ends_ms: i64,
    /// Those before it, oldest first; of some nothing may be left but the name.
    earlier: Vec<Arc<str>>,
    /// Those that lost their end.
    pub(crate) cut: Vec<Cut>,
}

impl Logs {
    async fn read(store: &Store, current: Arc<str>) -> Result<Logs, StoreError> {
        let cut = store.cut().await?;
        let mut earlier = store.logs().await?;
        earlier.retain(|origin| *origin != current);
        for lost in cut.iter().map(|cut| &cut.origin) {
            if !earlier.contains(lost) {
                earlier.push(lost.clone());
            }
        }
        let ends_ms = new_year_ms(year_of(&current).saturating_add(1));
        Ok(Logs { current, ends_ms, earlier, cut })
    }

    /// Whether a log of that name is or was ours.
    pub(crate) fn knows(&self, origin: &str) -> bool {
        *self.current == *origin || self.earlier.iter().any(|log| **log == *origin)
    }

    /// Its place in the order of the logs.
    pub(crate) fn rank(&self, origin: &str) -> usize {
        self.earlier.iter().position(|log| **log == *origin).unwrap_or(self.earlier.len())
    }

    /// The later of two leaves.
    pub(crate) fn later(&self, before: Option<Leaf>, leaf: Leaf) -> Leaf {
        let rank = |(log, index): &Leaf| (self.rank(log), *index);
        match before {
            Some(before) if rank(&before) >= rank(&leaf) => before,
            _ => leaf,
        }
    }

    /// All of them, the one that takes lines in first.
    pub(crate) fn newest_first(&self) -> impl Iterator<Item = &Arc<str>> {
        std::iter::once(&self.current).chain(self.earlier.iter().rev())
    }

    /// The logs that have to vouch for the newest head, for a phone that holds this one.
    pub(crate) fn vouchers(&self, held: Option<&HeadRef>) -> Vec<Arc<str>> {
        match held {
            Some(held) if *held.origin == *self.current => Vec::new(),
            Some(held) => {
                self.earlier.iter().filter(|log| ***log == *held.origin).cloned().collect()
            }
            None => self.earlier.iter().rev().take(VOUCHERS_MAX).cloned().collect(),
        }
    }

    /// What is to be told of the log that a phone holds a head of.
    pub(crate) fn cut_of(&self, held: Option<&HeadRef>) -> Option<&Cut> {
        let held = held?;
        self.cut.iter().find(|cut| *cut.origin == *held.origin)
    }
}

/// Finds the log that takes lines in: the one that is there, the one that a closed log names, or a new
/// one. Heads that a stop left unsigned are signed.
pub(crate) async fn open(
    store: &Store,
    site: &Site,
    options: &Options,
    now_ms: i64,
    seed: [u8; 32],
) -> Result<Logs, StartError> {
    let organisation = &options.organisation;
    if !ledger::ids::follows_form(organisation) {
        return Err(StartError::Organisation(organisation.clone()));
    }
    let states = store.log_states().await?;
    let current = match states.last() {
        Some(last) if last.is_open => last.origin.clone(),
        Some(last) if let Some(next) = &last.next => Arc::from(next.name()),
        last => {
            let prefix = match last {
                Some(last) => last.origin.rsplit_once('/').map_or("", |(prefix, _)| prefix).into(),
                None => format!("{}/{organisation}", site.host_name()),
            };
            free_name(store, &prefix, year(now_ms)).await?
        }
    };
    store.create_log(&current).await?;
    for closed in states.iter().filter(|state| state.next.is_some()) {
        publish(store, &closed.origin, seed).await?;
    }
    Ok(Logs::read(store, current).await?)
}

/// The logs as they are, for a server that only reads.
pub(crate) async fn read(store: &Store) -> Result<Logs, StartError> {
    let states = store.log_states().await?;
    let last = states.last().map(|state| state.origin.clone());
    let last = last.ok_or_else(|| StartError::Record("there is no log yet".to_owned()))?;
    Ok(Logs::read(store, last).await?)
}

/// Closes the log if its year is over, and opens the next. Cheap when there is nothing to do.
pub(crate) async fn turn(app: &App) -> Result<(), Problem> {
    if app.clock.now_ms() < app.logs().ends_ms {
        return Ok(());
    }
    let _turn = app.turning.lock().await;
    if app.clock.now_ms() < app.logs().ends_ms {
        return Ok(());
    }
    let (store, old) = (&app.store, app.origin());
    let prefix = old.rsplit_once('/').map_or("", |(prefix, _)| prefix);
    let name = free_name(store, prefix, year(app.clock.now_ms())).await?;
    let next = log_key(&name, app.log_seed()).vkey();
    match store.close_log(&old, app.received_now(), next).await {
        // It was closed before, and what went wrong then came after.
        Ok(_) | Err(StoreError::LogClosed { .. }) => {}
        Err(error) => return Err(error.into()),
    }
    let states = store.log_states().await?;
    let closed = states.iter().find(|state| state.origin == old);
    let named = closed.and_then(|state| state.next.as_ref());
    let named = named.ok_or_else(|| Problem::Machine(format!("log {old} is not closed")))?;
    store.create_log(named.name()).await?;
    publish(store, &old, app.log_seed()).await?;
    app.set_logs(Logs::read(store, Arc::from(named.name())).await?);
    tracing::info!(closed = %old, next = named.name(), "the log of the new year takes lines in");
    Ok(())
}

/// A head on its way to a phone: its log's neighbours vouch for it.
pub(crate) fn vouched(
    mut head: SignedHead,
    by: &[Arc<str>],
    seed: [u8; 32],
) -> (SignedHead, Option<Vkey>) {
    for origin in by {
        head = head.also_signed(&log_key(origin, seed));
    }
    let key = (!by.is_empty()).then(|| log_key(&head.claimed().origin, seed).vkey());
    (head, key)
}

async fn publish(store: &Store, origin: &str, seed: [u8; 32]) -> Result<(), StoreError> {
    let size = store.head(origin).await?.size;
    let signed = store.published(origin).await?;
    if signed.is_none_or(|head| head.claimed().size < size) {
        let key = log_key(origin, seed);
        store.publish(origin, move |head| head.sign(&key)).await?;
    }
    Ok(())
}

/// `PREFIX/YEAR`; after a restoration within the year `PREFIX/YEAR.2` and so on.
async fn free_name(store: &Store, prefix: &str, year: i16) -> Result<Arc<str>, StoreError> {
    let mut used = store.logs().await?;
    used.extend(store.cut().await?.into_iter().map(|cut| cut.origin));
    let mut name = format!("{prefix}/{year}");
    let mut count = 1;
    while used.iter().any(|log| **log == *name) {
        count += 1;
        name = format!("{prefix}/{year}.{count}");
    }
    Ok(name.into())
}

fn year(now_ms: i64) -> i16 {
    let now = Timestamp::from_millisecond(now_ms).unwrap_or_default();
    now.to_zoned_datetime(TimeZone::UTC).year()
}

/// The year in a log's name. A name without one is never over.
fn year_of(origin: &str) -> i16 {
    let last = origin.rsplit('/').next().unwrap_or_default();
    let year = last.split('.').next().unwrap_or_default();
    year.parse().unwrap_or(i16::MAX)
}

fn new_year_ms(year: i16) -> i64 {
    let midnight = DateTime::new(year, 1, 1, 0, 0, 0, 0);
    let instant = midnight.and_then(|midnight| TimeZone::UTC.to_timestamp(midnight));
    instant.map_or(i64::MAX, Timestamp::as_millisecond)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_year_ends_at_midnight_utc() {
        assert_eq!(year_of("desk.example/house/2026"), 2026);
        assert_eq!(year_of("desk.example/house/2026.2"), 2026);
        // `date -u -d 2027-01-01T00:00:00Z +%s`
        assert_eq!(new_year_ms(2027), 1_798_761_600_000);
        assert_eq!(year(1_798_761_599_999), 2026);
        assert_eq!(year(1_798_761_600_000), 2027);
        assert_eq!(new_year_ms(year_of("desk.example/house/log").saturating_add(1)), i64::MAX);
    }
}
