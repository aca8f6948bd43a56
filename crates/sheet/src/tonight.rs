//! What a sheet is filled with before anybody walks: from the state of a watch.

use crate::filled::Filled;
use ledger::{PersonId, WatchId};
use record::ZoneId;
use record::documents::SiteCard;
use watch::State;
use words::{Lang, sheet};

/// Rows without times, where the terms state no gap.
const ROWS_BLANK: usize = 26;
/// Columns without names, where the record knows no zone.
const ZONES_BLANK: usize = 6;
/// A sheet has no more rows than this: two nights at a round every four minutes.
const ROWS_MAX: i64 = 400;
/// Without a planned end a sheet covers this much (our own figure: the longest common shift).
const NIGHT_MS: i64 = 12 * 3_600_000;

/// How ids are called and how local clocks stand.
pub struct Naming<'a> {
    /// A zone's name.
    pub zone: &'a dyn Fn(&ZoneId) -> String,
    /// A person's name.
    pub person: &'a dyn Fn(&PersonId) -> String,
    /// Minutes that the site's clocks are ahead of UTC at an instant.
    pub offset_min: &'a dyn Fn(i64) -> i64,
    /// A stretch of time in words, with its date.
    pub span: &'a dyn Fn(i64, i64) -> String,
}

/// A zone's column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ZoneColumn {
    /// Its id; none in a column that is named by hand.
    pub id: Option<ZoneId>,
    /// What stands over it.
    pub name: String,
    /// The longest gap allowed, s.
    pub gap_s: Option<u32>,
}

/// A row: one due window.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Row {
    /// `20:00–20:15`; empty where the terms state no gap.
    pub(crate) says: String,
    /// By zone: it must be seen by the end of this row.
    pub(crate) due: Vec<bool>,
}

/// What is printed on the sheets of one night.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tonight {
    /// The watch.
    pub watch: WatchId,
    /// The site's name.
    pub site: String,
    /// Its address with the town.
    pub place: String,
    /// The night in words, with the name of the time zone.
    pub span: String,
    /// Who is planned or on duty, each with times.
    pub shifts: Vec<String>,
    /// Systems that are out, in words.
    pub out: String,
    /// The site's card.
    pub card: Option<SiteCard>,
    /// The zones, tightest gap first.
    pub zones: Vec<ZoneColumn>,
    /// What must be said on every page.
    pub warning: Option<String>,
    /// What the record holds, on a sheet that is filled from it.
    pub filled: Option<Filled>,
    pub(crate) rows: Vec<Row>,
    pub(crate) from_ms: Option<i64>,
    pub(crate) step_s: Option<u32>,
    pub(crate) tz_min: i32,
}

impl Tonight {
    /// The sheets of a stretch of a watch, ms UTC.
    pub fn of(
        state: &State,
        card: Option<SiteCard>,
        (from_ms, until_ms): (i64, i64),
        naming: &Naming<'_>,
        lang: Lang,
    ) -> Tonight {
        let from_ms = from_ms.div_euclid(60_000) * 60_000;
        let zones = zones(state, naming);
        let step_s = zones.iter().filter_map(|zone| zone.gap_s).min();
        let site = state.opening.as_ref().map(|opening| opening.site.to_string());
        Tonight {
            watch: state.watch.clone(),
            site: card.as_ref().map(|card| card.name.clone()).or(site).unwrap_or_default(),
            place: card.as_ref().map(place).unwrap_or_default(),
            span: (naming.span)(from_ms, until_ms),
            shifts: shifts(state, (from_ms, until_ms), naming, lang),
            out: String::new(),
            card,
            rows: rows(&zones, step_s, (from_ms, until_ms), naming),
            zones,
            warning: None,
            filled: None,
            from_ms: step_s.map(|_| from_ms),
            step_s,
            tz_min: (naming.offset_min)(from_ms) as i32,
        }
    }

    /// The stretch that a sheet printed at an instant is for: the whole watch if that is one night,
    /// else the planned or running shift about that instant, else the next twelve hours.
    pub fn stretch(state: &State, about_ms: i64) -> (i64, i64) {
        let opening = state.opening.as_ref();
        let from_ms = opening.map_or(about_ms, |opening| opening.from_ms);
        let released = state.released().map(|release| release.at_ms);
        let until_ms = released.or(opening.and_then(|opening| opening.until_ms));
        if let Some(until_ms) = until_ms
            && until_ms > from_ms
            && until_ms - from_ms <= 2 * NIGHT_MS
        {
            return (from_ms, until_ms);
        }
        let planned = state.scheduled.iter().map(|shift| (shift.from_ms, shift.until_ms));
        let next = planned.filter(|(_, until_ms)| *until_ms > about_ms).min();
        next.unwrap_or_else(|| {
            let from_ms = from_ms.max(about_ms - about_ms.rem_euclid(3_600_000));
            (from_ms, from_ms + NIGHT_MS)
        })
    }
}

fn place(card: &SiteCard) -> String {
    let parts = [card.address.as_str(), card.town.as_str()];
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
}

fn zones(state: &State, naming: &Naming<'_>) -> Vec<ZoneColumn> {
    let mut zones: Vec<ZoneColumn> = state
        .zones
        .iter()
        .map(|zone| ZoneColumn {
            name: (naming.zone)(&zone.id),
            id: Some(zone.id.clone()),
            gap_s: zone.gap_s.filter(|gap_s| *gap_s >= 60),
        })
        .collect();
    zones.sort_by_key(|zone| (zone.gap_s.unwrap_or(u32::MAX), zone.id.clone()));
    if zones.is_empty() {
        zones = vec![ZoneColumn { id: None, name: String::new(), gap_s: None }; ZONES_BLANK];
    }
    zones
}

fn shifts(
    state: &State,
    (from_ms, until_ms): (i64, i64),
    naming: &Naming<'_>,
    lang: Lang,
) -> Vec<String> {
    let mut people: Vec<(i64, PersonId, Option<i64>)> = state
        .scheduled
        .iter()
        .map(|shift| (shift.from_ms, shift.person.clone(), Some(shift.until_ms)))
        .collect();
    for shift in &state.shifts {
        if !people.iter().any(|(_, who, _)| *who == shift.who) {
            let until_ms = shift.until_ms.or(shift.planned_until_ms);
            people.push((shift.from_ms, shift.who.clone(), until_ms));
        }
    }
    people.retain(|(begins, _, ends)| *begins < until_ms && ends.is_none_or(|ends| ends > from_ms));
    people.sort();
    people
        .into_iter()
        .map(|(begins, who, ends)| {
            let name = (naming.person)(&who);
            let begins = clock(begins, naming);
            match ends {
                Some(ends) => sheet::shift(lang, begins, clock(ends, naming), name),
                None => sheet::shift_open(lang, begins, name),
            }
        })
        .collect()
}

fn rows(
    zones: &[ZoneColumn],
    step_s: Option<u32>,
    (from_ms, until_ms): (i64, i64),
    naming: &Naming<'_>,
) -> Vec<Row> {
    let Some(step_s) = step_s.map(i64::from) else {
        let row = Row { says: String::new(), due: vec![true; zones.len()] };
        return vec![row; ROWS_BLANK];
    };
    let step_ms = step_s * 1000;
    let count = (until_ms - from_ms + step_ms - 1).div_euclid(step_ms).clamp(1, ROWS_MAX);
    (0..count)
        .map(|row| {
            let begins = from_ms + row * step_ms;
            let ends = (begins + step_ms).min(until_ms.max(begins + 60_000));
            let due = |zone: &ZoneColumn| {
                let gap_s = i64::from(zone.gap_s.unwrap_or(u32::MAX));
                (row + 1) * step_s / gap_s > row * step_s / gap_s
            };
            Row {
                says: format!("{}–{}", clock(begins, naming), clock(ends, naming)),
                due: zones.iter().map(due).collect(),
            }
        })
        .collect()
}

pub(crate) fn clock(at_ms: i64, naming: &Naming<'_>) -> String {
    words::clock(at_ms, (naming.offset_min)(at_ms))
}
