//! The one place that reads the machine's clocks.

use ledger::Clk;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::{Duration, Instant, SystemTime};

/// Half-width of the error that a server with a disciplined clock states, ms (our own default).
pub(crate) const ERROR_MS: i64 = 50;

/// A step of the wall clock larger than this is written down, ms.
pub(crate) const STEP_MS: i64 = 2_000;

/// The machine's clocks since this process started.
#[derive(Debug)]
pub struct Clock {
    started: Instant,
    boot: String,
    ahead_ms: AtomicI64,
}

impl Clock {
    /// Starts counting; `boot` is a random id of this start.
    #[expect(clippy::disallowed_methods, reason = "this is the file that reads the clock")]
    pub fn start(boot: String) -> Clock {
        Clock { started: Instant::now(), boot, ahead_ms: AtomicI64::new(0) }
    }

    /// Wall clock, ms since 1970-01-01 UTC.
    #[expect(clippy::disallowed_methods, reason = "this is the file that reads the clock")]
    pub fn now_ms(&self) -> i64 {
        let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
        let wall = since.map_or(0, |since| since.as_millis() as i64);
        wall + self.ahead_ms.load(Ordering::Relaxed)
    }

    /// Monotonic clock, ms since the process started.
    pub fn mono_ms(&self) -> i64 {
        self.started.elapsed().as_millis() as i64 + self.ahead_ms.load(Ordering::Relaxed)
    }

    /// Moves both clocks forward, so that a test lives through a night in seconds.
    pub fn advance(&self, by: Duration) {
        self.ahead_ms.fetch_add(by.as_millis() as i64, Ordering::Relaxed);
    }

    /// The clocks as a line states them. The server's own offset is zero by definition.
    pub fn clk(&self) -> Clk {
        Clk {
            wall: self.now_ms(),
            mono: self.mono_ms(),
            boot: self.boot.clone(),
            off: Some(0),
            err: Some(ERROR_MS),
            age: Some(0),
            tz: 0,
        }
    }
}
