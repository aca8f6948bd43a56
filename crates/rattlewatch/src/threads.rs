//! Shares work out over the processor's cores.

use bundle::Workers;
use std::num::NonZero;

/// As many threads as there are cores.
pub(crate) struct Threads(usize);

impl Threads {
    pub(crate) fn of_this_machine() -> Threads {
        Threads(std::thread::available_parallelism().map_or(1, NonZero::get))
    }
}

impl Workers for Threads {
    fn map<I: Send, O: Send>(&self, items: Vec<I>, work: impl Fn(I) -> O + Sync) -> Vec<O> {
        let share = items.len().div_ceil(self.0).max(1);
        let mut rest = items.into_iter();
        let shares = std::iter::from_fn(|| {
            let share: Vec<I> = rest.by_ref().take(share).collect();
            (!share.is_empty()).then_some(share)
        });
        std::thread::scope(|scope| {
            let work = &work;
            let threads: Vec<_> = shares
                .map(|share| scope.spawn(move || share.into_iter().map(work).collect::<Vec<O>>()))
                .collect();
            threads
                .into_iter()
                .flat_map(|thread| thread.join().expect("the work does not panic"))
                .collect()
        })
    }
}
