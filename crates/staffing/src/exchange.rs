//! Duties handed on in chains, so that somebody can take one more, or that somebody need not come at all.
//!
//! A duty goes to whoever can take it; else to somebody who gives away one duty for it, which goes on in the same way.

use crate::assign::can;
use crate::duties::Duty;
use crate::facts::Person;
use crate::rules::Rules;

/// Nobody has this duty.
pub(crate) const NOBODY: usize = usize::MAX;
/// How many duties may change hands for one.
const LONGEST_CHAIN: usize = 3;
/// Looks at a person and a duty that one search may cost.
const LOOKS_MAX: usize = 60_000;

/// Duties in the hands of people, to be handed on.
pub(crate) struct Exchange<'a> {
    pub(crate) rules: &'a Rules,
    pub(crate) duties: &'a [Duty],
    pub(crate) people: &'a [Person],
    /// For each duty given out so far who has it, or [`NOBODY`].
    pub(crate) who: Vec<usize>,
    looks: usize,
}

impl<'a> Exchange<'a> {
    pub(crate) fn new(
        rules: &'a Rules,
        duties: &'a [Duty],
        people: &'a [Person],
        who: Vec<usize>,
    ) -> Exchange<'a> {
        Exchange { rules, duties, people, who, looks: 0 }
    }

    /// Finds somebody of `takers` for a duty that nobody has; leaves everything as it was when there is none.
    pub(crate) fn place(&mut self, duty: usize, takers: &[usize]) -> bool {
        self.looks = 0;
        self.hand_on(duty, takers, LONGEST_CHAIN)
    }

    /// Sends people home as long as the others can take over all that they have.
    pub(crate) fn send_home(&mut self, most_needed: usize) {
        loop {
            let mut used = self.who.clone();
            used.sort_unstable();
            used.dedup();
            if used.len() <= most_needed {
                return;
            }
            used.sort_by_key(|&p| (self.who.iter().filter(|&&w| w == p).count(), p));
            if !(0..used.len()).any(|i| self.without(used[i], &used)) {
                return;
            }
        }
    }

    fn without(&mut self, person: usize, used: &[usize]) -> bool {
        let before = self.who.clone();
        let others: Vec<usize> = used.iter().copied().filter(|&p| p != person).collect();
        let theirs: Vec<usize> = (0..before.len()).filter(|&d| before[d] == person).collect();
        for &duty in &theirs {
            self.who[duty] = NOBODY;
        }
        let placed = theirs.iter().all(|&duty| self.place(duty, &others));
        if !placed {
            self.who = before;
        }
        placed
    }

    fn hand_on(&mut self, duty: usize, takers: &[usize], chain: usize) -> bool {
        for &p in takers {
            if self.takes(p, duty) {
                self.who[duty] = p;
                return true;
            }
        }
        if chain == 1 {
            return false;
        }
        for &p in takers {
            for given in 0..self.who.len() {
                if given == duty || self.who[given] != p || self.looks > LOOKS_MAX {
                    continue;
                }
                self.who[given] = NOBODY;
                if self.takes(p, duty) {
                    self.who[duty] = p;
                    if self.hand_on(given, takers, chain - 1) {
                        return true;
                    }
                    self.who[duty] = NOBODY;
                }
                self.who[given] = p;
            }
        }
        false
    }

    fn takes(&mut self, person: usize, duty: usize) -> bool {
        self.looks += 1;
        can(self.rules, self.duties, &self.who, &self.people[person], person, duty)
    }
}
