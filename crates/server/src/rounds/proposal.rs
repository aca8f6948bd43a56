//! Rounds that were worked out, with a guard to choose for each. The form carries them until they are given out.

use super::in_force::people;
use super::table::table;
use super::{Places, picture};
use crate::one_watch::{Seen, called};
use crate::page::Reader;
use crate::page::form::Field;
use crate::page::typed::Typed;
use crate::server::App;
use ledger::PersonId;
use maud::{Markup, html};
use words::rounds;

/// What the field of a guard says instead of a person.
pub(super) const EVERYBODY: &str = "everybody";
/// Rounds that one form carries at most.
const ROUNDS_MAX: usize = 50;

/// Rounds, and what is said of them.
pub(super) struct Proposal {
    /// The most important first.
    pub(super) says: Vec<String>,
    /// Whether every gap is kept.
    pub(super) is_kept: bool,
    pub(super) rounds: Vec<Proposed>,
}

/// One round.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Proposed {
    /// Whom the field of its guard names: a person, [`EVERYBODY`], or nobody.
    pub(super) guard: String,
    /// Its places in walking order, by number.
    pub(super) stops: Vec<usize>,
}

/// The names of the fields of a round: its stops, and who walks it.
fn fields(round: usize) -> (String, String) {
    (format!("stops_{round}"), format!("guard_{round}"))
}

/// The rounds that a form carries; none if one of them names a place that is not there.
pub(super) fn carried(typed: &Typed, places: &Places) -> Option<Vec<Proposed>> {
    let mut rounds = Vec::new();
    for round in 0..ROUNDS_MAX {
        let (stops, guard) = fields(round);
        let stops = typed.get(&stops).split(',').filter(|stop| !stop.is_empty());
        let stops: Vec<usize> = stops.map(|stop| places.number(stop)).collect::<Option<_>>()?;
        if !stops.is_empty() {
            rounds.push(Proposed { guard: typed.get(&guard).to_owned(), stops });
        }
    }
    Some(rounds)
}

impl Proposal {
    pub(super) fn draw(&self, app: &App, reader: &Reader, seen: &Seen, places: &Places) -> Markup {
        let lang = reader.lang;
        let book = app.book();
        let name = |who: &PersonId| called(&book, who, lang);
        let people: Vec<(String, String)> =
            people(seen).iter().map(|who| (who.to_string(), name(who))).collect();
        let named = |guard: &str| people.iter().find(|(id, _)| id == guard).map(|(_, name)| name);
        let walks: Vec<(String, &[usize])> = (self.rounds.iter().enumerate())
            .map(|(i, round)| {
                let name = named(&round.guard).cloned();
                (name.unwrap_or_else(|| rounds::number(lang, i + 1)), round.stops.as_slice())
            })
            .collect();
        html! {
            section.said aria-live="polite" {
                h2 { (rounds::worked_out(lang)) }
                @for (i, says) in self.says.iter().enumerate() {
                    @if i == 0 { p.lead { strong .over[!self.is_kept] { (says) } } } @else { p { (says) } }
                }
                @if !self.rounds.is_empty() {
                    form method="post" action={ "/watch/" (seen.id) "/rounds/give" } {
                        @for (i, round) in self.rounds.iter().enumerate() {
                            (one(reader, places, i, round, &people))
                        }
                        div.submit { button.main { (rounds::give(lang)) } }
                        p.soft { (rounds::give_why(lang)) }
                    }
                    @if let Some(plan) = &seen.live.documents.plan {
                        (picture::levels(lang, plan, places, &walks))
                    }
                }
            }
        }
    }
}

fn one(
    reader: &Reader,
    places: &Places,
    nth: usize,
    round: &Proposed,
    people: &[(String, String)],
) -> Markup {
    let lang = reader.lang;
    let (stops, guard) = fields(nth);
    let ids: Vec<&str> = round.stops.iter().map(|&s| places.list[s].stop.as_str()).collect();
    let nobody = (String::new(), rounds::nobody_yet(lang));
    let everybody = (EVERYBODY.to_owned(), rounds::everybody(lang));
    let each = people.iter().map(|(id, name)| (id.clone(), name.as_str()));
    html! {
        h3 { (rounds::number(lang, nth + 1)) }
        (table(reader, places, &round.stops))
        input type="hidden" name=(stops) value=(ids.join(","));
        (Field::new(&guard, rounds::who(lang), rounds::who_why(lang))
            .choice(std::iter::once(nobody).chain(each).chain([everybody]), &round.guard))
    }
}
