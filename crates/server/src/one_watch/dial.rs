//! The large dial of a watch and the table beside it, worst zone first: the same as on the report.

use super::Seen;
use crate::page::{Reader, time};
use crate::tonight::small_dial::{tz_min, window};
use maud::{Markup, PreEscaped, html};
use picture::watch_dial::ZoneFacts;
use picture::{DialSpan, MiddleLine, watch_dial};
use rules::findings::{Finding, Judging, judge};
use words::{desk, minutes, unseen_for};

/// Draws dial and table.
pub(super) fn draw(reader: &Reader, seen: &Seen, findings: &[Finding]) -> Markup {
    let (standing, now_ms) = (&seen.live.standing, reader.now_ms);
    let (from_ms, until_ms) = window(standing, now_ms);
    let runs = standing.released_ms.is_none() && now_ms < until_ms;
    let span = DialSpan {
        from_ms,
        until_ms: standing.released_ms.unwrap_or(until_ms).max(from_ms + 1),
        now_ms: runs.then_some(now_ms),
        tz_min: tz_min(&standing.tz, now_ms),
    };
    let mut dial = watch_dial(&seen.state, findings, span);
    dial.input.middle = middle(reader, seen, &dial.zones);
    dial.input.says = says(reader, seen, &dial.zones);
    html! {
        div { (PreEscaped(picture::dial::dial(&dial.input))) }
        (table(reader, seen, &dial.zones))
    }
}

/// What the rules say of the watch.
pub(super) fn findings(seen: &Seen) -> Vec<Finding> {
    let terms = seen.live.documents.terms.as_ref();
    judge(&Judging { watch: &seen.fold, state: &seen.state, terms })
}

fn middle(reader: &Reader, seen: &Seen, zones: &[ZoneFacts]) -> Vec<MiddleLine> {
    let lang = reader.lang;
    let standing = &seen.live.standing;
    let clock = |at_ms| time::clock(at_ms, &seen.tz());
    let window = match standing.until_ms {
        Some(until_ms) => desk::from_to(lang, clock(standing.from_ms), clock(until_ms)),
        None => desk::since(lang, clock(standing.from_ms)),
    };
    let title = MiddleLine::Title(seen.live.documents.name().to_owned());
    let mut lines = vec![title, MiddleLine::Plain(window)];
    if let Some(zone) = zones.first().filter(|zone| zone.over_ms > 0) {
        lines.push(MiddleLine::Over(desk::unseen(lang, unseen_for(in_minutes(zone)))));
        let allowed = i64::from(zone.allowed_s.unwrap_or_default()) / 60;
        lines.push(MiddleLine::OverSmall(desk::allowed(lang, minutes(allowed))));
    }
    lines
}

/// The longest gap in whole minutes, as on the report: what is over is never shown as just allowed.
fn in_minutes(zone: &ZoneFacts) -> i64 {
    let up_ms = if zone.over_ms > 0 { 59_999 } else { 0 };
    (zone.longest_ms + up_ms) / 60_000
}

fn says(reader: &Reader, seen: &Seen, zones: &[ZoneFacts]) -> String {
    let lang = reader.lang;
    let worst: Vec<String> = zones
        .iter()
        .take(3)
        .map(|zone| {
            let name = seen.live.documents.zone(&zone.id);
            desk::dial_zone(lang, unseen_for(in_minutes(zone)), name)
        })
        .collect();
    desk::dial_says(lang, seen.live.documents.name(), worst.join(" "))
}

fn table(reader: &Reader, seen: &Seen, zones: &[ZoneFacts]) -> Markup {
    let lang = reader.lang;
    let last = |zone: &ZoneFacts| {
        let look = seen.state.zone(&zone.id)?.last_look()?;
        Some(time::clock(look.written.when.at_ms, &seen.tz()))
    };
    html! {
        div.scroll tabindex="0" role="region" aria-label=(desk::zones_outside_in(lang)) {
            table {
                caption { (desk::zones_outside_in(lang)) }
                thead {
                    tr {
                        th scope="col" { (desk::zone(lang)) }
                        th.num scope="col" { (desk::zone_longest(lang)) }
                        th.num scope="col" { (desk::zone_allowed(lang)) }
                        td {}
                        th.num scope="col" { (desk::zone_last(lang)) }
                    }
                }
                tbody {
                    @for zone in zones {
                        @let is_over = zone.over_ms > 0;
                        tr {
                            th scope="row" { (seen.live.documents.zone(&zone.id)) }
                            td .num .over[is_over] {
                                (unseen_for(in_minutes(zone)))
                                @if zone.unclear { " ?" }
                            }
                            td.num {
                                @if let Some(gap_s) = zone.allowed_s { (minutes(i64::from(gap_s) / 60)) }
                            }
                            td.over { @if is_over { (desk::over(lang)) } }
                            td.num { (last(zone).unwrap_or_else(|| desk::zone_not_yet(lang).to_owned())) }
                        }
                    }
                }
            }
        }
    }
}

impl Seen {
    /// The site's time zone.
    pub(crate) fn tz(&self) -> jiff::tz::TimeZone {
        jiff::tz::TimeZone::get(&self.live.standing.tz).unwrap_or(jiff::tz::TimeZone::UTC)
    }
}
