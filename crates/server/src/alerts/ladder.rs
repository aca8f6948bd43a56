//! The ladder: whom an alert reaches, one after the other, until somebody has taken it. The house
//! has one; a watch may have its own. All waits are our own defaults until somebody sets them.

use crate::problem::Problem;
use crate::server::App;
use crate::settings::Kept;
use ledger::WatchId;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The key of the house's ladder in the settings.
const HOUSE: &str = "house";

/// Whom a step reaches. The desk is no step: it has every alert at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Whom {
    /// The guard's phone.
    Phone,
    /// The dispatchers on call.
    Rota,
    /// Whoever answers for the dispatchers.
    Supervisor,
    /// The client.
    Client,
}

impl Whom {
    pub(crate) const ALL: [Whom; 4] = [Whom::Phone, Whom::Rota, Whom::Supervisor, Whom::Client];
}

/// One step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Step {
    pub(crate) whom: Whom,
    /// So long after the alert was raised, s, if nobody has taken it.
    pub(crate) wait_s: u32,
    /// Mail addresses and webhooks, beside the phones and browsers of these people.
    #[serde(default)]
    pub(crate) to: Vec<String>,
}

/// A ladder.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub(crate) struct Ladder {
    /// In the order of [`Whom::ALL`].
    pub(crate) steps: Vec<Step>,
    /// The guard's phone is told so long before a zone is over its gap, s; at most a tenth of the gap.
    pub(crate) due_soon_s: u32,
    /// A guard may stay so long past the planned end before somebody is alerted, s.
    pub(crate) relief_s: u32,
    /// An observation may stay open so long, s; 0: for ever.
    pub(crate) observation_s: u32,
    /// Where a notice is owed "at once", s.
    pub(crate) notification_s: u32,
    /// A report may be on its way so long, s; 0: for ever.
    pub(crate) delivery_s: u32,
    /// A lone guard may write nothing for so long, s; 0: for ever.
    pub(crate) life_s: u32,
}

impl Default for Ladder {
    fn default() -> Ladder {
        let step = |whom, wait_s| Step { whom, wait_s, to: Vec::new() };
        Ladder {
            steps: vec![
                step(Whom::Phone, 0),
                step(Whom::Rota, 120),
                step(Whom::Supervisor, 300),
                step(Whom::Client, 900),
            ],
            due_soon_s: 120,
            relief_s: 900,
            observation_s: 4 * 3_600,
            notification_s: 900,
            delivery_s: 1_800,
            life_s: 3_600,
        }
    }
}

impl Kept for Ladder {
    const COLLECTION: &'static str = "ladders";
}

/// The ladders in memory, by key.
#[derive(Debug, Default)]
pub(crate) struct Ladders {
    by_key: BTreeMap<String, Ladder>,
    /// What a watch has if nobody set anything.
    fallback: Ladder,
}

impl Ladders {
    /// The ladder of a watch: its own, else the house's.
    pub(crate) fn of(&self, watch: &WatchId) -> &Ladder {
        let own = self.by_key.get(watch.as_str());
        own.or_else(|| self.by_key.get(HOUSE)).unwrap_or(&self.fallback)
    }

    /// The house's.
    pub(crate) fn house(&self) -> &Ladder {
        self.by_key.get(HOUSE).unwrap_or(&self.fallback)
    }

    /// Whether a watch has its own.
    pub(crate) fn has_own(&self, watch: &WatchId) -> bool {
        self.by_key.contains_key(watch.as_str())
    }
}

/// Reads all ladders into the book.
pub(crate) async fn load(app: &App) -> Result<(), Problem> {
    let by_key = app.settings.all::<Ladder>().await?.into_iter().collect();
    app.book_mut().ladders = Ladders { by_key, fallback: Ladder::default() };
    Ok(())
}

/// Keeps a ladder: a watch's own, or the house's.
pub(crate) async fn keep(
    app: &App,
    watch: Option<&WatchId>,
    ladder: Ladder,
) -> Result<(), Problem> {
    let key = watch.map_or(HOUSE, WatchId::as_str);
    app.settings.put(key, &ladder).await?;
    let mut book = app.book_mut();
    book.ladders.by_key.insert(key.to_owned(), ladder);
    look_again(&mut book, app.clock.now_ms());
    Ok(())
}

/// Takes a watch's own ladder away, so that the house's holds.
pub(crate) async fn drop_own(app: &App, watch: &WatchId) -> Result<(), Problem> {
    app.settings.remove::<Ladder>(watch.as_str()).await?;
    let mut book = app.book_mut();
    book.ladders.by_key.remove(watch.as_str());
    look_again(&mut book, app.clock.now_ms());
    Ok(())
}

fn look_again(book: &mut crate::book::Book, now_ms: i64) {
    let here = book.watches().filter(|(_, live)| live.fold.is_some());
    let ids: Vec<WatchId> = here.map(|(id, _)| id.clone()).collect();
    ids.iter().for_each(|id| book.plan_look(id, now_ms));
}
