//! One watch: its dial and table, the record as it grows, what is open, and the desk's own entries.

mod act;
mod calls;
mod dial;
mod forms;
mod lines;
mod page;
mod parts;
mod reading;
mod systems;
mod take_away;
pub(crate) mod write;

pub(crate) use act::taken;
pub(crate) use page::{live, show};
pub(crate) use parts::called;
pub(crate) use reading::{Saying, entries, for_guests, says, seen, seen_here};
pub(crate) use take_away::{bundle, report};

use crate::account::Caller;
use crate::problem::Problem;
use crate::server::App;
use ledger::WatchId;
use watch::State;

/// A watch as a page or form needs it.
pub(crate) struct Seen {
    pub(crate) id: WatchId,
    pub(crate) fold: watch::Watch,
    pub(crate) state: State,
    pub(crate) live: crate::book::Live,
}

/// Finds a watch that the caller may see.
pub(crate) async fn find(
    app: &App,
    id: &str,
    caller: &Caller,
    now_ms: i64,
) -> Result<Seen, Problem> {
    let id = WatchId::new(id).map_err(|_| Problem::NotFound)?;
    let seen = seen(app, &id, now_ms).await?;
    let site = seen.state.opening.as_ref().map(|opening| &opening.site);
    // A client learns nothing of sites that are not theirs, not even that they exist.
    if caller.may_see(site) { Ok(seen) } else { Err(Problem::NotFound) }
}

/// Reads a watch as it is at an instant.
fn read(id: WatchId, mut live: crate::book::Live, now_ms: i64) -> Option<Seen> {
    let fold = live.fold.take()?;
    let state = fold.about(now_ms);
    // A watch that was opened a moment ago has not been looked at yet; what holds by its alerts is
    // known from its last look.
    let conditions = std::mem::take(&mut live.standing.conditions);
    live.standing =
        crate::standing::Standing { conditions, ..crate::standing::Standing::of(&state) };
    Some(Seen { id, fold, state, live })
}
