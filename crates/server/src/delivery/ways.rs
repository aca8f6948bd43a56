//! How each channel does: what went out last, what failed last. In memory; begins anew at a start.

use record::Channel;
use std::collections::BTreeMap;
use std::sync::Mutex;

/// One channel since the server started.
#[derive(Debug, Clone, Default)]
pub(crate) struct Way {
    pub(crate) sent: u64,
    pub(crate) failed: u64,
    pub(crate) sent_ms: Option<i64>,
    pub(crate) failed_ms: Option<i64>,
    pub(crate) fault: Option<String>,
}

impl Way {
    /// The last try failed.
    pub(crate) fn is_ill(&self) -> bool {
        self.failed_ms.is_some_and(|at_ms| self.sent_ms.is_none_or(|sent_ms| sent_ms < at_ms))
    }
}

/// All channels.
#[derive(Debug, Default)]
pub(crate) struct Ways(Mutex<BTreeMap<Channel, Way>>);

impl Ways {
    /// Notes what became of a try.
    pub(crate) fn note(&self, channel: Channel, now_ms: i64, fault: Option<String>) {
        let mut ways = self.0.lock().expect("nothing panics under this lock");
        let way = ways.entry(channel).or_default();
        match fault {
            None => {
                way.sent += 1;
                way.sent_ms = Some(now_ms);
            }
            Some(fault) => {
                way.failed += 1;
                (way.failed_ms, way.fault) = (Some(now_ms), Some(fault));
            }
        }
    }

    /// One channel.
    pub(crate) fn of(&self, channel: Channel) -> Way {
        let ways = self.0.lock().expect("nothing panics under this lock");
        ways.get(&channel).cloned().unwrap_or_default()
    }
}
