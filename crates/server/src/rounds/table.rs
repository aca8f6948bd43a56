//! A round as a table: each place with the walk to it, the look, and how often it is owed.

use super::Places;
use super::places::is_no_way;
use crate::page::Reader;
use maud::{Markup, html};
use planner::share::round_length;
use rules::say::rounds::time_up;
use words::{minutes, rounds, seconds};

/// The places of a round in walking order.
pub(super) fn table(reader: &Reader, places: &Places, round: &[usize]) -> Markup {
    let lang = reader.lang;
    let demands = &places.demands;
    let legs_ms = places.legs_ms(round);
    let walk = |ms: i64| match is_no_way(ms) {
        true => rounds::no_way(lang).to_owned(),
        false => seconds((ms + 999) / 1000),
    };
    html! {
        @if round.is_empty() {
            p { (rounds::nothing_to_walk(lang)) }
        } @else {
            @if !legs_ms.iter().any(|ms| is_no_way(*ms)) {
                @let whole_ms = round_length(&demands.walks, &demands.stay_ms, round);
                p { (rounds::length(lang, round.len() as i64, time_up(whole_ms))) }
            }
            div.scroll tabindex="0" role="region" aria-label=(rounds::order(lang)) {
                table {
                    thead {
                        tr {
                            th.num scope="col" { (rounds::nth(lang)) }
                            th scope="col" { (rounds::place(lang)) }
                            th.num scope="col" { (rounds::walk(lang)) }
                            th.num scope="col" { (rounds::look(lang)) }
                            th.num scope="col" { (rounds::gap(lang)) }
                        }
                    }
                    tbody {
                        @for (i, (&stop, &leg_ms)) in round.iter().zip(&legs_ms).enumerate() {
                            tr {
                                td.num { (i + 1) }
                                th scope="row" { (places.list[stop].name) }
                                td.num .over[is_no_way(leg_ms)] { (walk(leg_ms)) }
                                td.num { (seconds(demands.stay_ms[stop] / 1000)) }
                                td.num { (minutes(demands.gap_ms[stop] / 60_000)) }
                            }
                        }
                    }
                }
            }
        }
    }
}
