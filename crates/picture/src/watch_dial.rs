//! From the state of a watch and its findings to what the dial shows, so that phone, desk and paper
//! draw the same night.

use crate::dial::{DialInput, DialZone, Span};
use record::ZoneId;
use rules::findings::{Facts, Finding, Verdict, unseen_gap::Why};
use watch::{State, Zone};

/// Lines received within this count as sealed at once (our own figure): two tries of a phone that
/// syncs once a minute.
pub const SEALED_SOON_MS: i64 = 120_000;

/// The stretch of the watch to draw.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DialSpan {
    /// From, ms UTC.
    pub from_ms: i64,
    /// Until, ms UTC.
    pub until_ms: i64,
    /// Now, if it still runs.
    pub now_ms: Option<i64>,
    /// Local time minus UTC, minutes.
    pub tz_min: i64,
}

/// A dial to draw, and the zones of its rings and of the table beside it, worst first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WatchDial {
    /// What to draw; the middle and the words are the caller's.
    pub input: DialInput,
    /// All zones, worst first; the first eight have rings.
    pub zones: Vec<ZoneFacts>,
}

/// The facts of one zone, for its row in the table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ZoneFacts {
    /// The zone.
    pub id: ZoneId,
    /// Its longest gap in the stretch, ms.
    pub longest_ms: i64,
    /// The allowed one, s, if a demand sets one.
    pub allowed_s: Option<u32>,
    /// By how much the worst gap was over, ms; 0 if none was. Excused by no emergency.
    pub over_ms: i64,
    /// The evidence about some gap conflicts or is missing.
    pub unclear: bool,
    /// The longest that one of its looks took to be sealed, ms; none while one is not.
    pub sealed_after_ms: Option<i64>,
    /// How many looks.
    pub looks: usize,
}

/// Prepares the dial of a stretch of a watch.
pub fn watch_dial(state: &State, findings: &[Finding], span: DialSpan) -> WatchDial {
    let mut zones: Vec<(ZoneFacts, DialZone)> = state
        .zones
        .iter()
        .map(|zone| (facts(zone, findings, span), ring(zone, findings, span)))
        .collect();
    // Worst first: most over, then unclear, then closest to the allowed gap.
    zones.sort_by_key(|(facts, _)| {
        let share = facts.allowed_s.map_or(0, |s| facts.longest_ms / i64::from(s.max(1)));
        (std::cmp::Reverse((facts.over_ms, facts.unclear, share)), facts.id.clone())
    });
    let (zones, rings): (Vec<ZoneFacts>, Vec<DialZone>) = zones.into_iter().unzip();
    let end_ms = span.now_ms.unwrap_or(span.until_ms);
    let input = DialInput {
        from_ms: span.from_ms,
        until_ms: span.until_ms,
        now_ms: span.now_ms,
        tz_min: span.tz_min,
        zones: rings,
        held: held(state, end_ms),
        sealed_late: sealed_late(state, span),
        tails: tails(state, end_ms),
        emergencies_ms: emergencies(state, span),
        ..DialInput::default()
    };
    WatchDial { input, zones }
}

fn facts(zone: &Zone, findings: &[Finding], span: DialSpan) -> ZoneFacts {
    let inside =
        zone.gaps.iter().filter(|gap| gap.to_ms > span.from_ms && gap.from_ms < span.until_ms);
    let of_zone = |verdict: Verdict| {
        findings.iter().filter(move |f| f.verdict == verdict && f.zone.as_ref() == Some(&zone.id))
    };
    let over_ms = of_zone(Verdict::Broken)
        .filter_map(|finding| match &finding.facts {
            Facts::UnseenGap(facts) => Some(facts.over_s * 1000),
            Facts::ZoneNeverSeen(_) => Some(finding.to_ms? - finding.from_ms?),
            _ => None,
        })
        .max()
        .unwrap_or(0);
    let looks: Vec<_> = zone
        .looks
        .iter()
        .filter(|look| (span.from_ms..=span.until_ms).contains(&look.written.when.at_ms))
        .collect();
    ZoneFacts {
        id: zone.id.clone(),
        longest_ms: inside.map(|gap| gap.length_ms()).max().unwrap_or(0),
        allowed_s: zone.gap_s,
        over_ms,
        unclear: of_zone(Verdict::Unclear).next().is_some(),
        sealed_after_ms: looks
            .iter()
            .map(|look| look.written.when.sealed_after_ms())
            .try_fold(0, |longest: i64, after| Some(longest.max(after?))),
        looks: looks.len(),
    }
}

fn ring(zone: &Zone, findings: &[Finding], span: DialSpan) -> DialZone {
    let mut ring = DialZone {
        allowed_s: zone.gap_s.map_or(span.until_ms - span.from_ms, i64::from),
        looks_ms: zone.looks.iter().map(|look| look.written.when.at_ms).collect(),
        ..DialZone::default()
    };
    if zone.gap_s.is_none() {
        // Nothing is demanded here: the band never ends.
        ring.allowed_s = (span.until_ms - span.from_ms) / 1000;
    }
    ring.looks_ms.sort_unstable();
    let unclear = findings.iter().filter(|finding| finding.verdict == Verdict::Unclear);
    for finding in unclear.filter(|finding| finding.zone.as_ref() == Some(&zone.id)) {
        let (allowed_s, why) = match &finding.facts {
            Facts::UnseenGap(facts) => (facts.allowed_s, facts.why),
            Facts::ZoneNeverSeen(facts) => (facts.allowed_s, facts.why),
            _ => continue,
        };
        let (Some(from_ms), Some(to_ms)) = (finding.from_ms, finding.to_ms) else { continue };
        let due_ms = (from_ms + i64::from(allowed_s) * 1000).min(to_ms);
        match why {
            Some(Why::NotHeard { since_ms }) => {
                ring.unheard.push(Span { from_ms: since_ms.clamp(from_ms, to_ms), to_ms });
            }
            _ => ring.unclear.push(Span { from_ms: due_ms, to_ms }),
        }
    }
    ring
}

fn held(state: &State, end_ms: i64) -> Vec<Span> {
    let stopped = state.emergencies.iter().filter_map(|emergency| emergency.rounds_stopped);
    stopped.map(|(from_ms, to_ms)| Span { from_ms, to_ms: to_ms.unwrap_or(end_ms) }).collect()
}

fn emergencies(state: &State, span: DialSpan) -> Vec<i64> {
    let first = state.emergencies.iter().filter_map(|emergency| emergency.stamps.first());
    let times = first.map(|stamp| stamp.written.when.at_ms);
    times.filter(|at| (span.from_ms..=span.until_ms).contains(at)).collect()
}

fn tails(state: &State, end_ms: i64) -> Vec<Span> {
    let tail = |work: &watch::HotWork| {
        let from_ms = work.last_spark.as_ref()?.when.at_ms;
        let until_ms = work.watch_until_ms.max(work.looks_until_ms)?;
        let closed_ms = work.closed.as_ref().map_or(end_ms, |closed| closed.when.at_ms);
        Some(Span { from_ms, to_ms: until_ms.min(closed_ms.max(from_ms)) })
    };
    state.hot_work.iter().filter_map(tail).filter(|span| span.to_ms > span.from_ms).collect()
}

/// Stretches whose looks were received late or not yet, joined where they follow each other.
fn sealed_late(state: &State, span: DialSpan) -> Vec<Span> {
    let mut looks: Vec<(i64, bool)> = state
        .zones
        .iter()
        .flat_map(|zone| &zone.looks)
        .map(|look| {
            let when = &look.written.when;
            (when.at_ms, when.sealed_after_ms().is_none_or(|after| after > SEALED_SOON_MS))
        })
        .filter(|(at, _)| (span.from_ms..=span.until_ms).contains(at))
        .collect();
    looks.sort_unstable();
    let mut spans: Vec<Span> = Vec::new();
    let mut open = false;
    for (at_ms, late) in looks {
        match (late, open, spans.last_mut()) {
            (true, true, Some(last)) => last.to_ms = at_ms,
            (true, _, _) => spans.push(Span { from_ms: at_ms, to_ms: at_ms + 60_000 }),
            (false, _, _) => {}
        }
        open = late;
    }
    spans
}
