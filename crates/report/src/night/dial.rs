//! The dial and the table beside it.

use super::fonts::{FAMILY, MONO};
use super::verdict::{allowed, longest};
use crate::page::Page;
use crate::sheets::ZoneRow;
use picture::watch_dial::ZoneFacts;
use picture::{MiddleLine, dial, paper_style};
use watch::How;
use words::{duration_words, report};

impl Page<'_> {
    pub(crate) fn dial_svg(&self) -> String {
        let mut input = self.dial.input.clone();
        input.middle = self.middle();
        paper_style(&dial(&input), FAMILY, MONO)
    }

    /// The worst fact in two short lines.
    fn middle(&self) -> Vec<MiddleLine> {
        let lang = self.lang();
        let Some(worst) = self.dial.zones.first() else { return Vec::new() };
        let unseen = report::unseen(lang, longest(worst));
        match worst.allowed_s {
            None => vec![MiddleLine::Plain(unseen)],
            Some(_) if worst.over_ms > 0 => vec![
                MiddleLine::Over(unseen),
                MiddleLine::OverSmall(report::allowed(lang, allowed(worst))),
            ],
            Some(_) => vec![
                MiddleLine::Title(unseen),
                MiddleLine::Plain(report::allowed(lang, allowed(worst))),
            ],
        }
    }

    pub(crate) fn zone_rows(&self) -> Vec<ZoneRow> {
        self.dial.zones.iter().map(|zone| self.zone_row(zone)).collect()
    }

    fn zone_row(&self, zone: &ZoneFacts) -> ZoneRow {
        let lang = self.lang();
        let mark = match (zone.over_ms > 0, zone.unclear) {
            (true, _) => Some(report::over(lang)),
            (_, true) => Some(report::unclear_word(lang)),
            _ => None,
        };
        ZoneRow {
            name: self.names.zone(&zone.id).to_owned(),
            longest: longest(zone),
            allowed: match zone.allowed_s {
                Some(_) => allowed(zone),
                None => report::no_limit(lang).to_owned(),
            },
            sealed: match zone.sealed_after_ms {
                Some(after_ms) => duration_words(((after_ms + 999) / 1000).max(1)),
                None => report::not_received(lang).to_owned(),
            },
            over: mark.map(str::to_owned),
            judged: match zone.allowed_s {
                None => report::not_judged(lang),
                // Longer than allowed and yet kept: the rounds stood still for an emergency.
                Some(_) if is_stopped(zone) => report::kept_stopped(lang),
                Some(_) => report::kept_word(lang),
            }
            .to_owned(),
        }
    }

    pub(crate) fn zone_notes(&self) -> Vec<String> {
        let lang = self.lang();
        let mut notes = Vec::new();
        let kept = self.dial.zones.iter().filter(|zone| zone.over_ms <= 0);
        if kept.into_iter().any(is_stopped) {
            notes.push(report::stopped_note(lang).to_owned());
        }
        notes.extend(self.seen_share());
        for span in &self.dial.input.sealed_late {
            notes.push(self.sealed_late(span.from_ms, span.to_ms));
        }
        let more = self.dial.zones.len().saturating_sub(dial::RINGS_MAX);
        if more > 0 {
            notes.push(report::more_zones(lang, more as i64));
        }
        notes
    }

    fn seen_share(&self) -> Option<String> {
        let count = |how: How| {
            let looks = self.state.zones.iter().flat_map(|zone| &zone.looks);
            looks.filter(|look| look.how == how && self.within(look.written.when.at_ms)).count()
        };
        let counts = [How::Tag, How::Position, How::Hand].map(count);
        let [tag, position, hand] = percent(counts)?;
        Some(report::seen_share(self.lang(), hand, position, tag))
    }

    fn sealed_late(&self, from_ms: i64, to_ms: i64) -> String {
        let looks = self.state.zones.iter().flat_map(|zone| &zone.looks);
        let inside = looks.filter(|look| (from_ms..=to_ms).contains(&look.written.when.at_ms));
        let sealed: Option<Vec<i64>> =
            inside.map(|look| look.written.when.sealed.not_after_ms).collect();
        match sealed.and_then(|times| times.into_iter().max()) {
            Some(at_ms) => report::sealed_late(
                self.lang(),
                self.time(at_ms),
                self.time(from_ms),
                self.time(to_ms),
            ),
            None => report::sealed_late_open(self.lang(), self.time(from_ms)),
        }
    }
}

/// Unseen for longer than allowed.
fn is_stopped(zone: &ZoneFacts) -> bool {
    zone.allowed_s.is_some_and(|allowed_s| zone.longest_ms > i64::from(allowed_s) * 1000)
}

/// Whole percentages that add up to 100: the largest rest is rounded up first.
fn percent(counts: [usize; 3]) -> Option<[usize; 3]> {
    let all: usize = counts.iter().sum();
    if all == 0 {
        return None;
    }
    let mut shares = counts.map(|count| count * 100 / all);
    while shares.iter().sum::<usize>() < 100 {
        let rest = |i: usize| counts[i] * 100 - shares[i] * all;
        let next = (0..3).max_by_key(|i| (rest(*i), 3 - *i)).unwrap_or(0);
        shares[next] += 1;
    }
    Some(shares)
}

#[cfg(test)]
mod tests {
    use super::percent;

    #[test]
    fn shares_add_up() {
        assert_eq!(percent([1, 1, 1]), Some([34, 33, 33]));
        assert_eq!(percent([71, 20, 9]), Some([71, 20, 9]));
        assert_eq!(percent([0, 0, 4]), Some([0, 0, 100]));
        assert_eq!(percent([0, 0, 0]), None);
    }
}
