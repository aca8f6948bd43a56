//! What is out and since when, and the hot work with its tail.

use super::Seen;
use crate::page::{Reader, codes, time};
use maud::{Markup, html};
use record::{ImpairmentStep, RestorationStep};
use rules::say::Say;
use rules::terms::clock::{Outages, Stretch};
use words::{desk_open, desk_write, duration_words, lasting};

/// The window over which an outage adds up, ms: any 24 hours (NFPA 101 9.6.1.6 and 9.11.3.2).
const WINDOW_MS: i64 = 24 * 3_600_000;

/// Systems that are or were out, each with its clock and the steps that are done.
pub(super) fn out(reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let clock = |at_ms| time::when(at_ms, &seen.tz(), reader.now_ms, lang);
    let all: Vec<_> =
        seen.state.impairments.iter().filter(|i| i.system != record::System::None).collect();
    html! {
        @if !all.is_empty() {
            h2 { (desk_open::systems(lang)) }
            ul.kept {
                @for impairment in &all {
                    li {
                        strong .over[impairment.until_ms.is_none()] { (impairment.system.say(lang)) }
                        div {
                            @match impairment.until_ms {
                                None if impairment.from_ms > reader.now_ms => {
                                    (desk_open::out_from(lang, clock(impairment.from_ms)))
                                }
                                None => {
                                    (desk_open::out_since(lang, clock(impairment.from_ms),
                                        lasting((reader.now_ms - impairment.from_ms).max(0) / 1000)))
                                    " "
                                    (desk_open::out_within(lang,
                                        duration_words(within(&all, impairment.system, reader.now_ms) / 1000)))
                                    " "
                                    @if let Some(at_ms) = impairment.expected_ms {
                                        (desk_open::expected(lang, clock(at_ms))) " "
                                    }
                                    @let steps = seen.state.steps_of(impairment);
                                    (missing(lang, &ImpairmentStep::ALL, |step| steps.contains(step)))
                                }
                                Some(at_ms) => {
                                    (desk_open::works_since(lang, clock(at_ms))) " "
                                    (missing(lang, &RestorationStep::ALL,
                                        |step| impairment.restoration.contains(step)))
                                }
                            }
                            @if reader.may("/watch/{watch}/restored") {
                                br; a href={ "/watch/" (seen.id) "/restored?system=" (codes::value(impairment.system)) } {
                                    (desk_write::restored(lang))
                                }
                                span.soft { " · " } a href={ "/watch/" (seen.id) "/notified?system=" (codes::value(impairment.system)) } {
                                    (desk_write::notified(lang))
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// How long a system was out within the last 24 hours, ms.
fn within(all: &[&watch::Impairment], system: record::System, now_ms: i64) -> i64 {
    let stretches = all
        .iter()
        .filter(|i| i.system == system && i.from_ms < now_ms)
        .map(|i| Stretch { from: i.from_ms, to: i.until_ms.unwrap_or(now_ms).min(now_ms) })
        .collect();
    Outages::new(stretches).out_within(WINDOW_MS, now_ms)
}

/// The steps of the trade that nobody has stated yet.
fn missing<S: Say + Copy>(lang: words::Lang, all: &[S], done: impl Fn(&S) -> bool) -> Markup {
    let missing: Vec<&str> = all.iter().filter(|s| !done(s)).map(|step| step.say(lang)).collect();
    html! {
        @if !missing.is_empty() {
            span.soft { (desk_open::not_yet_stated(lang, missing.join("; "))) }
        }
    }
}

/// Hot work that is not signed off, with the end of its tail.
pub(super) fn hot_work(reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let clock = |at_ms| time::when(at_ms, &seen.tz(), reader.now_ms, lang);
    let open: Vec<_> = seen.state.hot_work.iter().filter(|work| work.closed.is_none()).collect();
    let link = |slug: &str, work: &watch::HotWork| {
        format!("/watch/{}/{slug}?work={}", seen.id, work.began.line)
    };
    html! {
        @if !open.is_empty() {
            h2 { (desk_write::group_hot_work(lang)) }
            ul.kept {
                @for work in open {
                    li {
                        strong {
                            @match &work.zone {
                                Some(zone) => (seen.live.documents.zone(zone)),
                                None => (desk_write::no_zone(lang)),
                            }
                        }
                        div {
                            (desk_open::work_began(lang, clock(work.began.when.at_ms))) " "
                            @match &work.last_spark {
                                None => (desk_open::no_spark_yet(lang)),
                                Some(spark) => {
                                    (desk_open::spark_at(lang, clock(spark.when.at_ms))) " "
                                    @match work.watch_until_ms {
                                        Some(until_ms) if until_ms > reader.now_ms => {
                                            strong { (desk_open::watched_until(lang, clock(until_ms))) }
                                        }
                                        Some(until_ms) => (desk_open::tail_over(lang, clock(until_ms))),
                                        None => (desk_open::tail_unknown(lang)),
                                    }
                                    @if let Some(until_ms) = work.looks_until_ms {
                                        " " (desk_open::looks_until(lang, clock(until_ms)))
                                    }
                                }
                            }
                            @if let Some(number) = work.permit.as_ref().and_then(|permit| permit.number.as_ref()) {
                                " " span.soft { (desk_write::permit_number(lang)) " " (number) "." }
                            }
                            @if reader.may("/watch/{watch}/spark") {
                                br; a href=(link("spark", work)) { (desk_write::spark(lang)) }
                                span.soft { " · " } a href=(link("lookback", work)) { (desk_write::look_back(lang)) }
                                span.soft { " · " } a href=(link("closed", work)) { (desk_write::close_work(lang)) }
                            }
                        }
                    }
                }
            }
        }
    }
}
