//! The heads that the proofs of one reply lead to: the newest one, and those of earlier logs, for
//! which the newest log vouches.

use crate::packing::log_key;
use crate::problem::Problem;
use crate::server::App;
use crate::succession::{Logs, vouched};
use ledger::{HeadRef, SignedHead};
use phone::sync::{CutLog, OtherLogs};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Gathered while a reply is made.
pub(crate) struct Heads {
    logs: Arc<Logs>,
    seed: [u8; 32],
    newest: SignedHead,
    earlier: BTreeMap<Arc<str>, SignedHead>,
}

impl Heads {
    pub(crate) fn new(app: &App, newest: SignedHead) -> Heads {
        Heads { logs: app.logs(), seed: app.log_seed(), newest, earlier: BTreeMap::new() }
    }

    /// The head of a log, and the log's name if it is not that of the newest head.
    pub(crate) async fn of(
        &mut self,
        app: &App,
        origin: &Arc<str>,
    ) -> Result<(SignedHead, Option<String>), Problem> {
        if **origin == *self.newest.claimed().origin {
            return Ok((self.newest.clone(), None));
        }
        if !self.earlier.contains_key(origin) {
            let head = app.store.published(origin).await?;
            let head = head.ok_or_else(|| Problem::Machine(format!("log {origin} has no head")))?;
            self.earlier.insert(origin.clone(), head);
        }
        Ok((self.earlier[origin].clone(), Some(origin.to_string())))
    }

    /// The newest head and what is said of the other logs, for a phone that holds this head.
    pub(crate) fn told(self, held: Option<&HeadRef>) -> (SignedHead, OtherLogs) {
        let by_newest = log_key(&self.newest.claimed().origin, self.seed);
        let earlier = self.earlier.into_values().map(|head| head.also_signed(&by_newest));
        let earlier = earlier.map(|head| head.to_string()).collect();
        let cut = self.logs.cut_of(held);
        let cut = cut.map(|cut| CutLog { origin: cut.origin.to_string(), size: cut.size });
        let (head, key) = vouched(self.newest, &self.logs.vouchers(held), self.seed);
        (head, OtherLogs { key, earlier, cut: cut.into_iter().collect() })
    }
}

/// Whether nothing is left of a log but its name.
pub(crate) fn is_gone(logs: &Logs, origin: &str) -> bool {
    logs.cut.iter().any(|cut| *cut.origin == *origin && cut.size == 0)
}
