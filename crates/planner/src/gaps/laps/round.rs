//! One guard's round in laps, what it exceeds, and where another stop costs least.

use super::Case;
use crate::random::Random;

/// One place in this many is overlooked, so that equal states grow apart.
const OVERLOOK: usize = 32;

/// Looks in walking order; the round closes. With often stops it begins with one, and they come in the same order in
/// every lap.
#[derive(Clone, Debug, Default)]
pub(super) struct Round {
    pub(super) looks: Vec<u16>,
    /// Walking and looking, back to the beginning.
    pub(super) length: i64,
    /// By how much windows exceed the short gap, on average over the windows that a stretch lies in, and the whole the
    /// long gap; zero when nothing is exceeded.
    pub(super) over: i64,
    /// Where the often looks are.
    heads: Vec<usize>,
    /// For each stretch how long the window is that begins with it.
    windows: Vec<i64>,
    /// Whether it has a stop that is no often one.
    seldom: bool,
}

impl Round {
    /// Often stops, each counted once.
    fn often(&self, case: &Case<'_>) -> usize {
        self.heads.len() / case.laps
    }

    pub(super) fn remove(&mut self, stop: usize, case: &Case<'_>) {
        self.looks.retain(|&s| usize::from(s) != stop);
        self.measure(case);
    }

    pub(super) fn insert(&mut self, at: usize, stop: usize, case: &Case<'_>) {
        self.looks.insert(at, stop as u16);
        self.measure(case);
    }

    /// The place where a seldom stop costs least, and what it costs with every millisecond above a gap priced.
    pub(super) fn place_for(
        &self,
        stop: usize,
        case: &Case<'_>,
        weight: i64,
        random: &mut Random,
    ) -> (i64, usize) {
        let (n, stay) = (self.looks.len(), case.demands.stay_ms[stop]);
        let whole = |length: i64| (length - case.long_ms).max(0);
        if n == 0 {
            return (stay + weight * whole(stay), 0);
        }
        let p = self.often(case);
        let stretches = self.heads.len().max(1);
        let mut best: Option<(i64, usize)> = None;
        for x in 0..stretches {
            let (from, to) = match self.heads.get(x) {
                Some(&head) => (head + 1, self.heads.get(x + 1).copied().unwrap_or(n)),
                None => (1, n),
            };
            let Some((detour, at)) = self.least_detour(stop, from..=to, case, random) else {
                continue;
            };
            let added = detour + stay;
            let mut over =
                whole(self.length + added) - if self.seldom { whole(self.length) } else { 0 };
            if p > 0 {
                let mut sum = 0;
                for back in 0..p {
                    let window = self.windows[(x + stretches - back) % stretches] - case.short_ms;
                    sum += (window + added).max(0) - window.max(0);
                }
                over += sum / p as i64;
            }
            let cost = added + weight * over;
            if best.is_none_or(|(least, _)| cost < least) {
                best = Some((cost, at));
            }
        }
        // Everything overlooked: the end is as good a place as any.
        best.unwrap_or((i64::MAX / 4, n))
    }

    /// Of places to insert at, the one with the least detour.
    fn least_detour(
        &self,
        stop: usize,
        places: std::ops::RangeInclusive<usize>,
        case: &Case<'_>,
        random: &mut Random,
    ) -> Option<(i64, usize)> {
        let (walks, n) = (&case.demands.walks, self.looks.len());
        let mut best: Option<(i64, usize)> = None;
        let mut before = usize::from(self.looks[(places.start() + n - 1) % n]);
        for at in places {
            let after = usize::from(self.looks[at % n]);
            let detour = walks.ms(before, stop) + walks.ms(stop, after) - walks.ms(before, after);
            if best.is_none_or(|(least, _)| detour < least) && random.below(OVERLOOK) > 0 {
                best = Some((detour, at));
            }
            before = after;
        }
        best
    }

    /// The same round with an often stop in every lap, at the place of the lap where it costs least, and what it costs;
    /// none when it costs `below` or more.
    pub(super) fn with_often(
        &self,
        stop: usize,
        case: &Case<'_>,
        weight: i64,
        below: i64,
        random: &mut Random,
    ) -> Option<(i64, Round)> {
        let (p, stay) = (self.often(case), case.demands.stay_ms[stop]);
        let mut best: Option<(i64, Round)> = None;
        let mut places = vec![0; case.laps];
        for place in 0..p.max(1) {
            let least = best.as_ref().map_or(below, |(cost, _)| *cost);
            let mut added = stay * case.laps as i64;
            for (lap, at) in places.iter_mut().enumerate() {
                *at = self.looks.len() * lap / case.laps;
                if p > 0 {
                    let x = lap * p + place;
                    let to = self.heads.get(x + 1).copied().unwrap_or(self.looks.len());
                    let (detour, there) = self
                        .least_detour(stop, self.heads[x] + 1..=to, case, random)
                        .unwrap_or((i64::MAX / 16, to));
                    *at = there;
                    added += detour;
                }
            }
            // Where the way is longer no gap becomes shorter, so what is added is paid in any case.
            if p > 0 && added >= least {
                continue;
            }
            let mut with = self.clone();
            places.iter().rev().for_each(|&at| with.looks.insert(at, stop as u16));
            with.measure(case);
            let cost = with.length - self.length + weight * (with.over - self.over);
            if cost < least {
                best = Some((cost, with));
            }
        }
        best
    }

    fn measure(&mut self, case: &Case<'_>) {
        let (n, walks) = (self.looks.len(), &case.demands.walks);
        self.heads.clear();
        self.windows.clear();
        self.length = 0;
        // First the length of each stretch, then sums over as many as there are often stops.
        let mut open = 0;
        for i in 0..n {
            let stop = usize::from(self.looks[i]);
            self.length += case.demands.stay_ms[stop];
            if case.often[stop] {
                if !self.heads.is_empty() {
                    self.windows.push(self.length - open);
                }
                open = self.length;
                self.heads.push(i);
            }
            self.length += walks.ms(stop, usize::from(self.looks[(i + 1) % n]));
        }
        self.seldom = self.heads.len() < n;
        self.over = if self.seldom { (self.length - case.long_ms).max(0) } else { 0 };
        let stretches = self.heads.len();
        if stretches == 0 {
            return;
        }
        // The round begins with its first often look, so the last stretch ends with that look's end.
        let first = case.demands.stay_ms[usize::from(self.looks[self.heads[0]])];
        self.windows.push(self.length - open + first);
        if self.heads[0] > 0 {
            self.looks.rotate_left(self.heads[0]);
            return self.measure(case);
        }
        let p = stretches / case.laps;
        let lengths = self.windows.clone();
        let mut window: i64 = lengths[..p].iter().sum();
        let mut over = 0;
        for x in 0..stretches {
            self.windows[x] = window;
            over += (window - case.short_ms).max(0);
            window += lengths[(x + p) % stretches] - lengths[x];
        }
        self.over += (over + p as i64 - 1) / p as i64;
    }
}
