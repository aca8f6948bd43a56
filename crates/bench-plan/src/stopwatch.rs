//! Wall time as a stop signal: only benches and the command line look at a clock.

use planner::{Effort, Go, Progress};
use std::time::{Duration, Instant};

/// Begun at a time, with a limit.
pub struct Stopwatch {
    begun: Instant,
    limit: Duration,
}

impl Stopwatch {
    /// Begins now.
    #[expect(clippy::disallowed_methods, reason = "a bench measures wall time")]
    pub fn start(seconds: f64) -> Stopwatch {
        Stopwatch { begun: Instant::now(), limit: Duration::from_secs_f64(seconds.max(0.0)) }
    }

    /// Since it was begun.
    pub fn seconds(&self) -> f64 {
        self.begun.elapsed().as_secs_f64()
    }

    /// Runs a search until the time is over.
    pub fn search<T>(&self, seed: u64, search: impl FnOnce(&mut Effort<'_>) -> T) -> T {
        let mut watcher =
            |_: Progress| if self.begun.elapsed() >= self.limit { Go::Stop } else { Go::On };
        search(&mut Effort::new(seed, u64::MAX, &mut watcher))
    }
}
