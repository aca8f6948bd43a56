//! Who takes which duty: the fewest people, then the fairest load.
//!
//! Two duties exclude each other for one person when they overlap, or when no full rest lies between them, unless both
//! cover breaks that follow each other closely. Duties that all exclude each other need a person each: the largest such set found is a
//! number nobody can go below. Where a plain assignment gets stuck or takes more, duties are handed on in chains; where that
//! still takes more, and the question is small, an integer program looks for fewer.

use crate::duties::Duty;
use crate::exchange::{Exchange, NOBODY};
use crate::facts::{Facts, Person};
use crate::rules::Rules;
use good_lp::{
    Expression, ProblemVariables, Solution, SolverModel, constraint, default_solver, variable,
};

/// Minutes of seven days.
const WEEK: i64 = 7 * 1440;
/// Breaks that one person covers without a rest between lie within this, in minutes.
const STRETCH_OF_COVERS: i64 = 240;
/// Above this many yes-or-no questions the integer program is not tried.
const QUESTIONS_MAX: usize = 40;

/// Who does what.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Roster {
    /// The people used, in the order of the facts, or numbered where none were named.
    pub people: Vec<Person>,
    /// The duties.
    pub duties: Vec<Duty>,
    /// For each duty who takes it, by number.
    pub who: Vec<usize>,
    /// No roster under these shifts needs fewer.
    pub people_at_least: usize,
}

/// Why there is no roster.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoRoster {
    /// Nobody is left for a duty; more people would be.
    #[error(
        "nobody named can take {post} from minute {from_min} on; {people_at_least} people are needed at the least"
    )]
    Nobody {
        /// The post.
        post: String,
        /// When.
        from_min: i64,
        /// How many people the duties need at the least.
        people_at_least: usize,
    },
}

/// Gives each duty a person, if the named people suffice; without names as many as it takes.
pub fn assign(facts: &Facts, rules: &Rules, duties: Vec<Duty>) -> Result<Roster, NoRoster> {
    let least = people_at_least(rules, &duties);
    let numbered: Vec<Person> = (1..=duties.len())
        .map(|n| Person { name: format!("Guard {n}"), ..Person::default() })
        .collect();
    let people = if facts.people.is_empty() { &numbered } else { &facts.people };
    let greedy = in_turn(rules, &duties, people).map(|who| {
        let mut exchange = Exchange::new(rules, &duties, people, who);
        exchange.send_home(least);
        exchange.who
    });
    let used = |who: &[usize]| {
        let mut all = who.to_vec();
        all.sort_unstable();
        all.dedup();
        all.len()
    };
    let mut who = match greedy {
        Ok(who) if used(&who) == least => who,
        Ok(who) => {
            // People without names are all alike: more than are allowed need not be asked about.
            let fewer = used(&who) - 1;
            let asked = if facts.people.is_empty() { &people[..fewer] } else { &people[..] };
            by_program(rules, &duties, asked, fewer).unwrap_or(who)
        }
        Err(stuck) => by_program(rules, &duties, people, people.len()).ok_or(NoRoster::Nobody {
            post: facts.posts[duties[stuck].post].clone(),
            from_min: duties[stuck].from_min,
            people_at_least: least,
        })?,
    };
    even_out(rules, &duties, people, &mut who);
    let mut kept: Vec<usize> = who.clone();
    kept.sort_unstable();
    kept.dedup();
    let who = who.iter().map(|w| kept.binary_search(w).unwrap_or(0)).collect();
    let people = kept.iter().map(|&w| people[w].clone()).collect();
    Ok(Roster { people, duties, who, people_at_least: least })
}

/// Whether one person can take both.
fn together(rules: &Rules, a: &Duty, b: &Duty) -> bool {
    let (first, second) = if a.from_min <= b.from_min { (a, b) } else { (b, a) };
    let overlap = second.from_min < first.to_min;
    // Breaks covered one after the other are one short stretch. Nothing else is joined to one: a shift beside a cover
    // would be a stretch without its break.
    let at_once = first.covers_break
        && second.covers_break
        && second.to_min - first.from_min <= STRETCH_OF_COVERS.min(rules.break_after);
    !overlap && (second.from_min - first.to_min >= rules.rest_shortest || at_once)
}

/// The largest set found of duties that all exclude each other, and what the hours of a week alone ask for.
fn people_at_least(rules: &Rules, duties: &[Duty]) -> usize {
    let mut best = 1;
    for start in 0..duties.len() {
        let mut set: Vec<usize> = vec![start];
        for other in start + 1..duties.len() {
            if set.iter().all(|&s| !together(rules, &duties[s], &duties[other])) {
                set.push(other);
            }
        }
        best = best.max(set.len());
    }
    let by_week = duties.iter().map(|first| {
        let within = duties
            .iter()
            .filter(|d| d.from_min >= first.from_min && d.to_min <= first.from_min + WEEK);
        let worked: i64 = within.map(Duty::length).sum();
        (worked + rules.week_longest - 1) / rules.week_longest.max(1)
    });
    best.max(by_week.max().unwrap_or(1) as usize)
}

pub(crate) fn can(
    rules: &Rules,
    duties: &[Duty],
    who: &[usize],
    person: &Person,
    number: usize,
    duty: usize,
) -> bool {
    let own = &duties[duty];
    let away = person.away.iter().any(|(from, to)| own.from_min < *to && *from < own.to_min);
    let mine: Vec<&Duty> =
        (0..who.len()).filter(|&d| d != duty && who[d] == number).map(|d| &duties[d]).collect();
    if away || !mine.iter().all(|other| together(rules, own, other)) {
        return false;
    }
    let begins = mine.iter().map(|d| d.from_min).chain([own.from_min]);
    begins.into_iter().all(|from| {
        let within = mine.iter().copied().chain([own]);
        let week = within.filter(|d| d.from_min >= from && d.from_min < from + WEEK);
        week.map(|d| d.to_min.min(from + WEEK) - d.from_min).sum::<i64>() <= rules.week_longest
    })
}

/// Duties in order of time, each to somebody who works already if possible, the one with the fewest minutes first; or the
/// duty that nobody can take.
fn in_turn(rules: &Rules, duties: &[Duty], people: &[Person]) -> Result<Vec<usize>, usize> {
    let mut who: Vec<usize> = Vec::with_capacity(duties.len());
    for duty in 0..duties.len() {
        let minutes = |p: usize| -> i64 {
            (0..who.len()).filter(|&d| who[d] == p).map(|d| duties[d].length()).sum()
        };
        let taker = (0..people.len())
            .filter(|&p| can(rules, duties, &who, &people[p], p, duty))
            .min_by_key(|&p| (minutes(p) == 0, minutes(p), p));
        who.push(taker.unwrap_or(NOBODY));
        if taker.is_none() {
            let all: Vec<usize> = (0..people.len()).collect();
            let mut exchange = Exchange::new(rules, duties, people, who);
            if !exchange.place(duty, &all) {
                return Err(duty);
            }
            who = exchange.who;
        }
    }
    Ok(who)
}

/// At most `most` people by an integer program: each duty one person, no two that exclude each other, no week too long.
fn by_program(
    rules: &Rules,
    duties: &[Duty],
    people: &[Person],
    most: usize,
) -> Option<Vec<usize>> {
    let (n, m) = (duties.len(), people.len());
    if n * m > QUESTIONS_MAX || most == 0 {
        return None;
    }
    let mut variables = ProblemVariables::new();
    let takes: Vec<Vec<_>> =
        (0..m).map(|_| (0..n).map(|_| variables.add(variable().binary())).collect()).collect();
    let used: Vec<_> = (0..m).map(|_| variables.add(variable().binary())).collect();
    let total: Expression = used.iter().sum();
    let mut problem = variables.minimise(total.clone()).using(default_solver);
    problem.add_constraint(constraint!(total <= most as f64));
    for d in 0..n {
        let all: Expression = takes.iter().map(|own| own[d]).sum();
        problem.add_constraint(constraint!(all == 1.0));
    }
    for p in 0..m {
        for d in 0..n {
            problem.add_constraint(constraint!(takes[p][d] <= used[p]));
            if !can(rules, duties, &[], &people[p], p, d) {
                problem.add_constraint(constraint!(takes[p][d] <= 0.0));
            }
            for e in d + 1..n {
                if !together(rules, &duties[d], &duties[e]) {
                    problem.add_constraint(constraint!(takes[p][d] + takes[p][e] <= 1.0));
                }
            }
            let from = duties[d].from_min;
            let week = (0..n).filter(|&e| (from..from + WEEK).contains(&duties[e].from_min));
            let worked: Expression = week.map(|e| takes[p][e] * duties[e].length() as f64).sum();
            problem.add_constraint(constraint!(worked <= rules.week_longest as f64));
        }
    }
    let solved = problem.solve().ok()?;
    (0..n).map(|d| (0..m).find(|&p| solved.value(takes[p][d]) > 0.5)).collect()
}

/// Hands duties from those who work most to those of the roster who work least, as long as that evens the load.
fn even_out(rules: &Rules, duties: &[Duty], people: &[Person], who: &mut [usize]) {
    let mut used: Vec<usize> = who.to_vec();
    used.sort_unstable();
    used.dedup();
    for _ in 0..duties.len() * used.len() {
        let minutes = |who: &[usize], p: usize| -> i64 {
            (0..who.len()).filter(|&d| who[d] == p).map(|d| duties[d].length()).sum()
        };
        let mut moved = false;
        'duties: for d in 0..duties.len() {
            let (from, length) = (who[d], duties[d].length());
            for &to in &used {
                let apart = minutes(who, from) - minutes(who, to);
                let last = (0..who.len()).filter(|&e| who[e] == from).count() == 1;
                if to != from
                    && !last
                    && apart > length
                    && can(rules, duties, who, &people[to], to, d)
                {
                    who[d] = to;
                    moved = true;
                    break 'duties;
                }
            }
        }
        if !moved {
            return;
        }
    }
}
