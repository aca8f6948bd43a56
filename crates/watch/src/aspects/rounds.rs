//! Rounds: one pass over everything due, with the guard's statement at its end.

use crate::fold::Item;
use crate::time::Written;
use ledger::{LineId, PersonId, order};
use record::{PlaceId, RoundBegan, RoundEnded, Seen, StopId, ZoneId};
use serde::Serialize;

/// One round of one guard.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Round {
    /// Whose.
    pub who: PersonId,
    /// Its number in the shift.
    pub number: u32,
    /// The line that began it; none if only its stops are known.
    pub began: Option<Written>,
    /// From, ms UTC: its beginning, or its first stop.
    pub from_ms: i64,
    /// The line that ended it.
    pub ended: Option<Written>,
    /// Until, ms UTC; none while it lasts.
    pub until_ms: Option<i64>,
    /// The stops seen in it, in order.
    pub seen: Vec<SeenStop>,
    /// The guard stated that nothing new was found.
    pub all_clear: Option<bool>,
    /// How many stops the guard's phone counted.
    pub seen_stated: Option<u32>,
}

/// A stop seen in a round.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SeenStop {
    /// The line.
    pub line: LineId,
    /// The stop.
    pub stop: StopId,
    /// Its zone.
    pub zone: ZoneId,
    /// When, ms UTC.
    pub at_ms: i64,
}

/// A structure that was entered and inspected.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StructureEntered {
    /// The line.
    pub written: Written,
    /// The structure.
    pub place: PlaceId,
}

#[derive(Default)]
pub(crate) struct Fold {
    rounds: Vec<Round>,
    pub(crate) structures: Vec<StructureEntered>,
}

impl Fold {
    pub(crate) fn began(&mut self, item: &Item<'_>, body: &RoundBegan) {
        let mut round = Round::starting(item, body.round);
        round.began = Some(item.written.clone());
        self.rounds.push(round);
    }

    pub(crate) fn seen(&mut self, item: &Item<'_>, body: &Seen) {
        let seen = SeenStop {
            line: item.id(),
            stop: item.effective.stop.clone().unwrap_or_else(|| body.stop.clone()),
            zone: item.effective.zone.clone().unwrap_or_else(|| body.zone.clone()),
            at_ms: item.at_ms(),
        };
        self.round(item, body.round).seen.push(seen);
    }

    pub(crate) fn ended(&mut self, item: &Item<'_>, body: &RoundEnded) {
        let round = self.round(item, body.round);
        round.ended = Some(item.written.clone());
        round.until_ms = Some(item.effective.at_ms);
        (round.all_clear, round.seen_stated) = (Some(body.all_clear), Some(body.seen));
    }

    pub(crate) fn structure(&mut self, item: &Item<'_>, body: &record::StructureEntered) {
        self.structures
            .push(StructureEntered { written: item.written.clone(), place: body.place.clone() });
    }

    pub(crate) fn finish(&mut self) -> Vec<Round> {
        let mut rounds = std::mem::take(&mut self.rounds);
        order::sort_by(&mut rounds, |a, b| {
            (a.from_ms, &a.who, a.number).cmp(&(b.from_ms, &b.who, b.number))
        });
        rounds
    }

    /// The newest round of that guard with that number; numbers begin again with each shift.
    fn round(&mut self, item: &Item<'_>, number: u32) -> &mut Round {
        let newest = self.rounds.iter().rposition(|round| round.who == item.kept.who);
        match newest.filter(|place| self.rounds[*place].number == number) {
            Some(place) => &mut self.rounds[place],
            None => {
                self.rounds.push(Round::starting(item, number));
                self.rounds.last_mut().expect("just pushed")
            }
        }
    }
}

impl Round {
    fn starting(item: &Item<'_>, number: u32) -> Round {
        Round {
            who: item.kept.who.clone(),
            number,
            began: None,
            from_ms: item.at_ms(),
            ended: None,
            until_ms: None,
            seen: Vec::new(),
            all_clear: None,
            seen_stated: None,
        }
    }
}
