//! How long a search may work, and who may stop it.

/// What the watcher of a search answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Go {
    /// Keep searching.
    On,
    /// Hand back the best plan found so far.
    Stop,
}

/// What a search tells its watcher, a few thousand times a second.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Steps taken so far, all parts of the search together.
    pub steps: u64,
    /// The value of the best plan so far, in the unit of the search (milliseconds, or stops left out).
    pub best: i64,
}

/// The seed, the budget of steps and the watcher of a search.
///
/// Results depend on `seed` and on the number of steps taken, on nothing else.
pub struct Effort<'a> {
    seed: u64,
    budget: u64,
    taken: u64,
    stopped: bool,
    watcher: &'a mut dyn FnMut(Progress) -> Go,
}

/// Steps between two looks at the watcher.
const LOOK_EVERY: u64 = 64;

impl<'a> Effort<'a> {
    /// A search that may take `budget` steps and stops early when `watcher` says so.
    pub fn new(seed: u64, budget: u64, watcher: &'a mut dyn FnMut(Progress) -> Go) -> Effort<'a> {
        Effort { seed, budget, taken: 0, stopped: false, watcher }
    }

    /// The seed this search was given.
    pub fn seed(&self) -> u64 {
        self.seed
    }

    /// Steps taken so far.
    pub fn taken(&self) -> u64 {
        self.taken
    }

    /// Steps left before the budget ends.
    pub fn left(&self) -> u64 {
        if self.stopped { 0 } else { self.budget - self.taken }
    }

    /// Counts one step; false once the budget is spent or the watcher has said stop.
    pub(crate) fn step(&mut self, best: i64) -> bool {
        if self.stopped || self.taken >= self.budget {
            self.stopped = true;
            return false;
        }
        self.taken += 1;
        if self.taken.is_multiple_of(LOOK_EVERY) {
            let progress = Progress { steps: self.taken, best };
            self.stopped = (self.watcher)(progress) == Go::Stop;
        }
        !self.stopped
    }

    /// Runs a part of the search on at most `steps` of the steps left, watched by the same watcher.
    pub(crate) fn part<T>(&mut self, steps: u64, part: impl FnOnce(&mut Effort<'_>) -> T) -> T {
        let mut inner = Effort {
            seed: self.seed.wrapping_add(self.taken),
            budget: steps.min(self.left()),
            taken: 0,
            stopped: self.stopped,
            watcher: self.watcher,
        };
        let out = part(&mut inner);
        let told_to_stop = inner.stopped && inner.taken < inner.budget;
        self.taken += inner.taken;
        self.stopped |= told_to_stop;
        out
    }
}
