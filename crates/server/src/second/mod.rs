//! What one person alone may not do: erase, change the server's key, pass over a restoration. One person
//! asks; another confirms, or the first does after a wait that was announced on the desk and by mail.

mod announce;
mod ask;
mod confirm;
mod erase;
mod page;

pub(crate) use announce::run;
pub(crate) use ask::{erase, erase_form, renew_key, restored};
pub(crate) use confirm::{confirm, withdraw};
pub(crate) use erase::finish;
pub(crate) use page::show;

use crate::problem::Problem;
use crate::scribe;
use crate::server::App;
use crate::settings::Kept;
use ledger::{LineId, PersonId, WatchId};
use serde::{Deserialize, Serialize};

/// So long after it was announced whoever asked may do it alone, ms (our own default: long enough to
/// fall on a working day).
pub(crate) const WAIT_MS: i64 = 72 * 3_600_000;

/// What was asked for, by id, until it is done or withdrawn.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Act {
    pub(crate) what: What,
    /// Who asked; the server itself, if it was restored.
    pub(crate) by: PersonId,
    pub(crate) asked_ms: i64,
    /// Why, as whoever asked wrote it.
    #[serde(default)]
    pub(crate) why: String,
    /// When the mail that announces it went out, or it was found that there is nobody to write to.
    #[serde(default)]
    pub(crate) announced_ms: Option<i64>,
    /// How many were written to.
    #[serde(default)]
    pub(crate) mails: u32,
}

/// What is to be done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "is", rename_all = "snake_case")]
pub(crate) enum What {
    /// The words, names and position kept beside a line, and its photo, sound or signature.
    Erase {
        /// Where it stands.
        watch: WatchId,
        /// The line itself stays.
        line: LineId,
    },
    /// The server writes with a new key from then on.
    RenewKey,
    /// The server came back from a copy. It works; that it did is passed over by nobody alone.
    Restored,
}

impl Kept for Act {
    const COLLECTION: &'static str = "acts_for_two";
}

impl Act {
    /// When whoever asked may do it alone, ms UTC; none before it was announced.
    pub(crate) fn alone_ms(&self) -> Option<i64> {
        self.announced_ms.map(|at_ms| at_ms + WAIT_MS)
    }

    /// Whether somebody may confirm it now.
    pub(crate) fn may_confirm(&self, who: &PersonId, now_ms: i64) -> bool {
        *who != self.by || self.alone_ms().is_some_and(|at_ms| at_ms <= now_ms)
    }

    /// The code under which the record says that it was asked for, withdrawn or done.
    fn code(&self, step: &str) -> String {
        let what = match self.what {
            What::Erase { .. } => "erasure",
            What::RenewKey => "server_key",
            What::Restored => "restoration",
        };
        format!("{what}_{step}")
    }
}

/// Reads what waits into the book.
pub(crate) async fn load(app: &App) -> Result<(), Problem> {
    let acts = app.settings.all::<Act>().await?;
    app.book_mut().acts = acts.into_iter().collect();
    Ok(())
}

/// Keeps what was asked for, and says so in the record.
async fn keep(app: &App, id: &str, act: Act) -> Result<(), Problem> {
    app.settings.add(id, &act).await?;
    let (code, by) = (act.code("asked"), act.by.clone());
    app.book_mut().acts.insert(id.to_owned(), act);
    crate::people::changed(app, &code, &by).await?;
    app.tell(None);
    Ok(())
}

/// Takes it out; of two who confirm at the same time one does it.
async fn take(app: &App, id: &str) -> Result<Act, Problem> {
    let taken = app.settings.take::<Act>(id).await?;
    app.book_mut().acts.remove(id);
    app.tell(None);
    taken.ok_or(Problem::Changed)
}

/// Whether the server itself asked.
fn is_server(by: &PersonId) -> bool {
    *by == scribe::nobody()
}
