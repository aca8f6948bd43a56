//! What is said before a watch opens: what to send, when the first round is due, what to tell the
//! client, and every term with its source.

use super::order::Prepared;
use super::walkable::Walk;
use crate::page::{Reader, time};
use jiff::tz::TimeZone;
use maud::{Markup, html};
use record::ZoneId;
use rules::say::Say;
use words::{Lang, desk, desk_opening, minutes};

/// Stretches of a recurring watch that are listed.
const STRETCHES_MAX: usize = 16;

/// Draws it.
pub(super) fn says(reader: &Reader, prepared: &Prepared, walk: &Walk, least_s: u32) -> Markup {
    let lang = reader.lang;
    let tz = TimeZone::get(&prepared.site.tz).unwrap_or(TimeZone::UTC);
    let when = |at_ms| time::when(at_ms, &tz, reader.now_ms, lang);
    let termed = &prepared.termed;
    let people = u32::from(termed.set.people_at_least).max(walk.guards);
    let from_ms = prepared.stretches.first().map_or(reader.now_ms, |(from_ms, _)| *from_ms);
    let first_s = termed.set.first_round_s.unwrap_or(least_s);
    let ends = &termed.sheet.owed.release_by;
    let ends: Vec<&str> = ends.iter().map(|by| by.say(lang)).collect();
    html! {
        section.said aria-label=(desk_opening::look_first(lang)) {
            h2 { (desk_opening::comes_to(lang)) }
            ol.three {
                li {
                    strong { (desk_opening::send(lang, i64::from(people))) } " "
                    span.soft {
                        (if walk.measured { desk_opening::walk_measured(lang) } else { desk::walk_assumes(lang) })
                    }
                }
                li { strong { (desk_opening::first_round(lang, when(from_ms + i64::from(first_s) * 1000))) } }
                li {
                    strong { (promise(lang, prepared, least_s)) } " "
                    @match ends.is_empty() {
                        true => (desk_opening::ends_ask(lang)),
                        false => (desk_opening::ends_by(lang, ends.join(", "))),
                    }
                }
            }
            @if let Some(required) = &termed.required { p.lead { (required) } }
            @if prepared.stretches.len() > 1 {
                h3 { (desk_opening::stretches(lang, prepared.stretches.len() as i64)) }
                ul {
                    @for (from_ms, until_ms) in prepared.stretches.iter().take(STRETCHES_MAX) {
                        li {
                            (match until_ms {
                                Some(until_ms) => reader.stretch(*from_ms, *until_ms, &tz),
                                None => desk::since(lang, when(*from_ms)),
                            })
                        }
                    }
                }
            }
            h3 { (desk_opening::terms(lang)) }
            dl.facts {
                @for demand in &termed.sheet.demands {
                    dt { (demand.from.say(lang)) }
                    dd { (demand.text) " " span.soft { (demand.source) } }
                }
            }
        }
    }
}

/// What the client may be told: the gap that holds everywhere, and the zones that are owed a shorter one.
fn promise(lang: Lang, prepared: &Prepared, least_s: u32) -> String {
    let gaps_s = &prepared.termed.set.gaps_s;
    let widest_s = gaps_s.values().max().copied().unwrap_or(least_s);
    let min = |gap_s: u32| minutes(i64::from(gap_s) / 60);
    let mut says = vec![desk_opening::tell(lang, min(widest_s))];
    for zone in &prepared.plan.zones {
        let gap_s = ZoneId::new(zone.id.as_str()).ok().and_then(|id| gaps_s.get(&id).copied());
        if let Some(gap_s) = gap_s.filter(|gap_s| *gap_s < widest_s) {
            says.push(desk::demand_zone_gap(lang, min(gap_s), &zone.name));
        }
    }
    says.join(" ")
}
