//! Kept or not, and by how much: the first sentence of the page.

use crate::page::Page;
use picture::watch_dial::ZoneFacts;
use rules::findings::{Facts, Verdict};
use words::{duration_words, report};

impl Page<'_> {
    pub(crate) fn verdict(&self) -> String {
        let lang = self.lang();
        let zones = &self.dial.zones;
        if zones.iter().all(|zone| zone.looks == 0) {
            return report::no_looks(lang).to_owned();
        }
        let judged: Vec<&ZoneFacts> =
            zones.iter().filter(|zone| zone.allowed_s.is_some()).collect();
        let Some(worst) = judged.first() else {
            return report::kept_no_number(lang).to_owned();
        };
        let name = self.names.zone(&worst.id);
        let allowed = allowed(worst);
        let longest = longest(worst);
        let over = judged.iter().filter(|zone| zone.over_ms > 0).count();
        let unclear = judged.iter().filter(|zone| zone.unclear).count();
        let otherwise = self.broken_otherwise();
        match (over, unclear, otherwise) {
            (1.., _, _) => report::not_kept(lang, allowed, longest, over, name, judged.len()),
            (0, _, 1..) => report::not_kept_otherwise(lang, otherwise as i64),
            (0, 1.., _) => report::unclear(lang, allowed, longest, unclear, name, judged.len()),
            _ => {
                let longest_zone =
                    judged.iter().max_by_key(|zone| zone.longest_ms).unwrap_or(worst);
                let allowed_s = i64::from(longest_zone.allowed_s.unwrap_or(0));
                // Only rounds that stood still for an emergency make a kept zone wait longer than allowed.
                let said = match longest_zone.longest_ms > allowed_s * 1000 {
                    true => report::kept_though_stopped,
                    false => report::kept,
                };
                let zone = self.names.zone(&longest_zone.id);
                said(lang, duration_words(allowed_s), longest_of(longest_zone), zone)
            }
        }
    }

    /// Demands that were not met, apart from gaps.
    fn broken_otherwise(&self) -> usize {
        let gap = |facts: &Facts| matches!(facts, Facts::UnseenGap(_) | Facts::ZoneNeverSeen(_));
        let broken = self.findings.iter().filter(|finding| finding.verdict == Verdict::Broken);
        broken.filter(|finding| !gap(&finding.facts)).count()
    }
}

/// The allowed gap of a zone in words.
pub(crate) fn allowed(zone: &ZoneFacts) -> String {
    duration_words(i64::from(zone.allowed_s.unwrap_or(0)))
}

/// The longest gap in words. What is over is rounded up, so that it never reads as just allowed.
pub(crate) fn longest(zone: &ZoneFacts) -> String {
    let up = if zone.over_ms > 0 { 59_999 } else { 0 };
    duration_words((zone.longest_ms + up) / 60_000 * 60)
}

fn longest_of(zone: &ZoneFacts) -> String {
    match zone.longest_ms {
        ..60_000 => duration_words(zone.longest_ms / 1000),
        _ => longest(zone),
    }
}
