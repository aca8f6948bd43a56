//! Hours and cost of each person.

use crate::assign::Roster;
use crate::facts::Facts;

/// One line of the table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// Who.
    pub name: String,
    /// Duties taken.
    pub duties: usize,
    /// Minutes on duty, breaks included: they are spent on site.
    pub minutes: i64,
    /// What they cost, in hundredths, half a hundredth rounded up.
    pub cost_cents: i64,
}

/// One line for each person, in the order of the roster.
pub fn table(facts: &Facts, roster: &Roster) -> Vec<Line> {
    (0..roster.people.len())
        .map(|person| {
            let mine: Vec<i64> = (0..roster.duties.len())
                .filter(|&d| roster.who[d] == person)
                .map(|d| roster.duties[d].length())
                .collect();
            let minutes: i64 = mine.iter().sum();
            let rate = roster.people[person].rate_cents.unwrap_or(facts.rate_cents);
            Line {
                name: roster.people[person].name.clone(),
                duties: mine.len(),
                minutes,
                cost_cents: (minutes * rate + 30) / 60,
            }
        })
        .collect()
}
