//! What can be asked: the rounds of so many guards, and how the night goes on.

use super::Places;
use super::change::{GONE, at_field};
use super::tonight::Tonight;
use crate::one_watch::{Seen, called};
use crate::page::Reader;
use crate::page::form::{Field, checks};
use crate::server::App;
use maud::{Markup, html};
use words::rounds;

/// More guards than anybody sends to one watch.
pub(super) const GUARDS_MAX: i64 = 30;

/// How many guards; `typed` and `fault` are those of a form that came back.
pub(super) fn ask(reader: &Reader, seen: &Seen, typed: &str, fault: Option<&str>) -> Markup {
    let lang = reader.lang;
    html! {
        h2 { (rounds::work_out(lang)) }
        form method="post" action={ "/watch/" (seen.id) "/rounds" } {
            (Field::new("guards", rounds::guards(lang), rounds::guards_why(lang))
                .fault(fault).number(typed, 1, GUARDS_MAX))
            div.submit { button { (rounds::work_out_do(lang)) } }
        }
    }
}

/// What has changed: asked only while somebody walks.
pub(super) fn changed(app: &App, reader: &Reader, seen: &Seen, places: &Places) -> Markup {
    let lang = reader.lang;
    let tonight = Tonight::of(seen, places, reader.now_ms);
    let book = app.book();
    let stops = || places.list.iter().map(|place| (place.stop.to_string(), place.name.as_str()));
    let nowhere = (String::new(), rounds::nowhere(lang));
    html! {
        h2 { (rounds::changed(lang)) }
        @if tonight.guards.is_empty() {
            p { (rounds::nobody_on_duty(lang)) }
        } @else {
            p { (rounds::changed_lead(lang)) }
            form method="post" action={ "/watch/" (seen.id) "/rounds/change" } {
                @for (i, guard) in tonight.guards.iter().enumerate() {
                    @let label = rounds::place_of(lang, called(&book, &guard.who, lang));
                    @let last = guard.last.map_or("", |stop| places.list[stop].stop.as_str());
                    @let unknown = guard.last.is_none().then(|| (String::new(), rounds::nowhere_yet(lang)));
                    (Field::new(&at_field(i), &label, rounds::place_of_why(lang))
                        .choice(unknown.into_iter().chain(stops()).chain([(GONE.to_owned(), rounds::gone(lang))]), last))
                }
                (checks("closed", rounds::closed(lang), rounds::closed_why(lang),
                    places.zones().into_iter().map(|(id, name)| (id.to_string(), name.to_owned())), |_| false))
                (Field::new("stand", rounds::stand(lang), rounds::stand_why(lang))
                    .choice(std::iter::once(nowhere).chain(stops()), ""))
                div.submit { button { (rounds::change_do(lang)) } }
            }
        }
    }
}
