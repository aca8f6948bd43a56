//! Links that let somebody without an account read one watch: an inspector reads, a client also says
//! what is put right and signs. They run out, can be revoked, and each opening is an entry.

mod act;
mod guest;
mod keep;
mod view;

pub(crate) use act::{countersign, fixed};
pub(crate) use guest::Guest;
pub(crate) use keep::{list, make, revoke};
pub(crate) use view::show;

use crate::settings::Kept;
use ledger::{PersonId, WatchId};
use record::Role;
use serde::{Deserialize, Serialize};

/// A link as the settings keep it, by the digest of its token.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Link {
    pub(crate) watch: WatchId,
    /// [`Role::Inspector`] or [`Role::Client`].
    pub(crate) role: Role,
    /// Under which id whoever opens it stands in the record.
    pub(crate) person: PersonId,
    /// For whom, as the desk wrote it.
    pub(crate) whom: String,
    pub(crate) by: PersonId,
    pub(crate) made_ms: i64,
    pub(crate) until_ms: i64,
    #[serde(default)]
    pub(crate) revoked: bool,
    #[serde(default)]
    pub(crate) viewed_ms: Option<i64>,
}

impl Kept for Link {
    const COLLECTION: &'static str = "links";
}

impl Link {
    /// Whether it still opens.
    pub(crate) fn lasts(&self, now_ms: i64) -> bool {
        !self.revoked && self.until_ms > now_ms
    }
}
